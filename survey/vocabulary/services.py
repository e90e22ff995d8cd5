"""What changes the vocabulary: loading our terms, and a department's own."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.text import slugify

from survey.vocabulary import queries
from survey.vocabulary.models import Term

SEVERITIES = ("slight", "moderate", "severe")
FROM_FILE = (
    "group",
    "name",
    "definition",
    "lights",
    "may_be_feature",
    "hazards",
    "anchors",
    "source",
    "order",
)
# After every term of the file in its group, and by name among themselves.
DEPARTMENTAL_ORDER = 10_000


def load_terms() -> None:
    """Bring the table up to terms.json. Doing it twice changes nothing the second time.

    A department's own term stays as it is, even when the file has come to use its code,
    and a term that was retired stays retired.
    """
    departmental = set(Term.objects.filter(is_departmental=True).values_list("code", flat=True))
    Term.objects.bulk_create(
        [
            Term(order=order, **term)
            for order, term in enumerate(queries.read_data("terms"), start=1)
            if term["code"] not in departmental
        ],
        update_conflicts=True,
        unique_fields=["code"],
        update_fields=FROM_FILE,
    )


def add_term(
    *,
    group: str,
    name: str,
    definition: str,
    lights: Sequence[str],
    may_be_feature: bool = False,
    hazards: Sequence[str] = (),
    anchors: dict[str, str] | None = None,
    source: str = "Common practice, no source",
) -> Term:
    """Add a term of the department's own; its code is made from its name.

    ``lights`` are light codes, most telling first; ``anchors`` holds a sentence for each
    of slight, moderate and severe, or is left out for a feature that is never damage.
    Raises ValidationError, a sentence or more for each field that needs mending.
    """
    name = name.strip()
    term = Term(
        code=slugify(name)[:64].strip("-"),
        group=group,
        name=name,
        definition=definition.strip(),
        lights=list(lights),
        may_be_feature=may_be_feature,
        hazards=list(hazards),
        anchors=anchors or {},
        source=source.strip() or "Common practice, no source",
        order=DEPARTMENTAL_ORDER,
        is_departmental=True,
    )
    wrong = _what_is_wrong(term)
    if wrong:
        raise ValidationError(wrong)
    term.save(force_insert=True)
    return term


def retire_term(code: str) -> Term:
    """Offer a term no longer. Records that use it keep it and read as before.

    Retiring it again keeps the first date. Raises Term.DoesNotExist.
    """
    term = Term.objects.get(code=code)
    if term.retired_at is None:
        term.retired_at = timezone.now()
        term.save(update_fields=["retired_at"])
    return term


def offer_term_again(code: str) -> Term:
    """Undo a retirement. Raises Term.DoesNotExist."""
    term = Term.objects.get(code=code)
    term.retired_at = None
    term.save(update_fields=["retired_at"])
    return term


def _what_is_wrong(term: Term) -> dict[str, str]:
    wrong: dict[str, str] = {}
    namesake = Term.objects.filter(name__iexact=term.name).first()
    if not term.code:
        wrong["name"] = "Give the term a name that has letters or numbers in it."
    elif len(term.name) > 80:
        wrong["name"] = "Shorten the name to 80 characters or fewer."
    else:
        namesake = namesake or Term.objects.filter(code=term.code).first()
        if namesake and namesake.retired_at:
            wrong["name"] = (
                f"“{namesake.name}” is a retired term. Offer it again, or choose another name."
            )
        elif namesake:
            wrong["name"] = (
                f"There is already a term “{namesake.name}”. Use it, or choose another name."
            )
    if term.group not in Term.Group.values:
        wrong["group"] = f"Choose one of these groups: {', '.join(Term.Group.values)}."
    if not term.definition:
        wrong["definition"] = "Say in a sentence how this term differs from its neighbours."
    if not term.lights:
        wrong["lights"] = "Choose at least one light that shows it."
    elif strange := set(term.lights) - queries.codes(queries.lights()):
        wrong["lights"] = f"There is no light called {', '.join(sorted(strange))}."
    if strange := set(term.hazards) - queries.codes(queries.hazards()):
        wrong["hazards"] = f"There is no hazard called {', '.join(sorted(strange))}."
    anchored = all(str(term.anchors.get(severity, "")).strip() for severity in SEVERITIES)
    if not anchored and (term.anchors or not term.may_be_feature):
        wrong["anchors"] = "Say what slight, moderate and severe each look like."
    elif set(term.anchors) - set(SEVERITIES):
        wrong["anchors"] = "Give anchors for slight, moderate and severe only."
    if len(term.source) > 300:
        wrong["source"] = "Shorten the source to 300 characters or fewer."
    return wrong
