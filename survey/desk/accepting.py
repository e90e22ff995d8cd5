"""Accepts what changed on a sheet after its examination was signed: as an amendment.

What was signed stays as it was. The amendment says in words what a person found, and holds the
same as fields of an observation, so that it is known where on the sheet it lies.
"""

from typing import Any, TypedDict

from django.db import transaction

from survey.access.models import Person
from survey.desk.amending import sign_amendment
from survey.desk.growth_words import difference_in_words, growth_in_words
from survey.desk.readings import Shown
from survey.desk.suggestions import Suggestion, amendment_at, light_of
from survey.examination.amended import ADDED
from survey.examination.models import Amendment, Examination, Observation, Photograph
from survey.reports.words import extent_in_words, light_name, moment_in_words
from survey.sync.services import Refused
from survey.vocabulary.models import Term
from survey.vocabulary.phrases import lower_first


class Said(TypedDict):
    """What a person says of a change. ``nature``, ``severity``: codes of an observation's."""

    term: Term
    nature: str
    severity: str
    sentence: str


def accept(
    examination: Examination, read: Shown, one: Suggestion, said: Said, person: Person
) -> Amendment:
    """Add a suggested change to a signed examination, signed by the person and now.

    read  the comparison that suggests it

    Raises Refused with a sentence: the examination is not signed, or somebody was first.
    """
    photographs = _compared(read)
    # How bad a feature of making is has no answer.
    severity = "" if said["nature"] == Observation.Nature.FEATURE else said["severity"]
    added = {
        "term": said["term"].pk,
        "nature": said["nature"],
        "severity": severity,
        "side": read.side,
        "lights": [light_of(read)],
        "region": one.region,
        "photographs": [str(taken.pk) for taken in photographs],
    }
    with transaction.atomic():
        # Held, so that of two people who accept it in one moment the second is told.
        held = Examination.objects.select_for_update().get(pk=examination.pk)
        before = amendment_at(read.side, one.region, held.amendments.filter(deleted_at=None))
        if before is not None:
            raise Refused({"": f"{before.signed_name} accepted this as an amendment before."})
        lines = [
            said["sentence"].strip(),
            _named(said["term"], said["nature"], severity, read.side, one),
            _measured(one.told),
            _seen_on(photographs, read),
        ]
        words = "\n".join(line for line in lines if line)
        return sign_amendment(held, words, person, after={ADDED: added})


def _named(term: Term, nature: str, severity: str, side: str, one: Suggestion) -> str:
    labels = [Observation.Nature(nature).label]
    if severity:
        labels.append(Observation.Severity(severity).label)
    named = ", ".join([term.name, *(label.lower() for label in labels)])
    return f"{named}; {side}, {extent_in_words(one.region['points'])}."


def _measured(told: dict[str, Any]) -> str:
    growth = told.get("growth") or {}
    differs = difference_in_words(told)
    if "change" in growth:
        words = growth_in_words(growth)
    elif differs:
        words = (
            f"What differs between the photographs is {differs}; the mark itself was not measured."
        )
    else:
        return ""
    return f"{words} ± is one standard uncertainty."


def _seen_on(photographs: list[Photograph], read: Shown) -> str:
    earlier, later = (moment_in_words(one.taken_at) for one in photographs)
    light = light_name(light_of(read))
    return (
        f"Seen on two photographs, {lower_first(light)}, {read.side}: of {earlier}, and of {later}."
    )


def _compared(read: Shown) -> list[Photograph]:
    """The earlier photograph and the later one. Raises Refused where one was deleted."""
    result = read.result or {}
    keys = [str(result.get(name)) for name in ("earlier", "later")]
    found = {str(one.pk): one for one in Photograph.objects.filter(pk__in=keys, deleted_at=None)}
    if len(found) < len(keys):
        raise Refused({"": "A photograph of this comparison is not here any more. Compare again."})
    return [found[key] for key in keys]
