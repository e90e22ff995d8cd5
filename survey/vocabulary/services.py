"""What changes the vocabulary: loading our terms, and a department's own."""

from collections.abc import Mapping, Sequence

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone
from django.utils.text import slugify

from survey.vocabulary import queries
from survey.vocabulary.models import Term

NO_SOURCE = "Common practice, no source"
SEVERITIES = {"slight", "moderate", "severe"}
# After the terms of the file in its group, and by name among themselves.
DEPARTMENTAL_ORDER = 10_000


def load_terms() -> None:
    """Bring the table up to terms.json. Doing it twice changes nothing the second time.

    A department's own term stays as it is, even when the file has come to use its code,
    and a term that was retired stays retired.
    """
    departmental = set(Term.objects.filter(is_departmental=True).values_list("code", flat=True))
    Term.objects.bulk_create(
        [
            Term(order=order, **entry)
            for order, entry in enumerate(queries.read_data("terms"), start=1)
            if entry["code"] not in departmental
        ],
        update_conflicts=True,
        unique_fields=["code"],
        update_fields=[
            "group",
            "name",
            "definition",
            "lights",
            "may_be_feature",
            "hazards",
            "caution",
            "anchors",
            "source",
            "order",
        ],
    )


def add_term(
    *,
    group: str,
    name: str,
    definition: str,
    lights: Sequence[str],
    may_be_feature: bool = False,
    hazards: Sequence[str] = (),
    caution: str = "",
    anchors: Mapping[str, str] | None = None,
    source: str = "",
) -> Term:
    """Add a term of the department's own; its code is made from its name.

    ``lights`` are light codes, most telling first; ``anchors`` says in a sentence each what
    slight, moderate and severe look like, and is left out for a feature that is never damage.
    Raises ValidationError with a sentence for each field that needs mending.
    """
    term = Term(
        code=slugify(name)[:64].strip("-"),
        group=group,
        name=name.strip(),
        definition=definition.strip(),
        lights=list(lights),
        may_be_feature=may_be_feature,
        hazards=list(hazards),
        caution=caution,
        anchors={severity: words.strip() for severity, words in (anchors or {}).items()},
        source=source.strip() or NO_SOURCE,
        order=DEPARTMENTAL_ORDER,
        is_departmental=True,
    )
    if wrong := _what_is_wrong(term):
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
    """A sentence by field; empty when the term can be added."""
    sentences = {
        "name": _wrong_name(term),
        "group": ""
        if term.group in Term.Group.values
        else f"Choose one of these groups: {', '.join(Term.Group.values)}.",
        "definition": ""
        if term.definition
        else "Say in a sentence or two what it is, and how it differs from its neighbours.",
        "lights": _wrong_codes("light", term.lights, queries.lights())
        or ("" if term.lights else "Choose at least one light that shows it."),
        "hazards": _wrong_codes("hazard", term.hazards, queries.hazards()),
        "caution": _wrong_codes(
            "caution", [term.caution] if term.caution else [], queries.cautions()
        ),
        "anchors": _wrong_anchors(term),
        "source": "" if len(term.source) <= 300 else "Shorten the source to 300 characters.",
    }
    return {field: sentence for field, sentence in sentences.items() if sentence}


def _wrong_name(term: Term) -> str:
    if not term.code:
        return "Give the term a name with letters or numbers in it."
    if len(term.name) > 80:
        return "Shorten the name to 80 characters."
    # By code too, so that a name which differs only in case or stops counts as the same.
    namesake = Term.objects.filter(Q(code=term.code) | Q(name__iexact=term.name)).first()
    if namesake is None:
        return ""
    if namesake.retired_at is None:
        return f"There is a term “{namesake.name}” already. Use it, or choose another name."
    return f"“{namesake.name}” was retired. Offer it again, or choose another name."


def _wrong_codes(what: str, given: Sequence[str], known: list[queries.Entry]) -> str:
    strange = sorted(set(given) - {entry["code"] for entry in known})
    return f"There is no {what} called {', '.join(strange)}." if strange else ""


def _wrong_anchors(term: Term) -> str:
    if not term.anchors and term.may_be_feature:
        return ""
    if set(term.anchors) == SEVERITIES and all(term.anchors.values()):
        return ""
    return "Say what slight, moderate and severe each look like."
