"""The record of a watermark in words, and how the desk writes in it."""

from typing import Any

from django.db import transaction

from survey.access.models import Person
from survey.desk.amending import sign_amendment
from survey.examination.models import Examination, Watermark
from survey.reports.words import field_name
from survey.sync.services import record_change

# Millimetres that share the record's one uncertainty.
MEASURED = (
    "width_mm",
    "height_mm",
    "to_left_chain_mm",
    "to_right_chain_mm",
    "chain_interval_mm",
)
DESCRIBED = ("kind", "motif", "letters", "side", "seen_from", "chains_within")
REPERTORY = (
    "match",
    "repertory",
    "repertory_number",
    "repertory_place",
    "repertory_from_year",
    "repertory_to_year",
)


def facts_of(mark: Watermark) -> list[tuple[str, str]]:
    """What the record says, field by field: a name and its value in words."""
    facts = []
    for name in (*DESCRIBED, *MEASURED):
        value = getattr(mark, name)
        if value in ("", None):
            continue
        if name in MEASURED:
            said = f"{value:g} mm ± {mark.uncertainty_mm:g} mm"
        else:
            said = str(getattr(mark, f"get_{name}_display", lambda value=value: value)())
        facts.append((field_name(name).removesuffix(", mm"), said))
    return facts


def match_in_words(mark: Watermark) -> str:
    """``A variant of Tidewrack, no. 1204 (Brackwater, 1762 to 1770)``; "" when none is told."""
    if not mark.repertory and not mark.match:
        return ""
    how = {
        Watermark.Match.IDENTICAL: "Identical with",
        Watermark.Match.VARIANT: "A variant of",
        Watermark.Match.TYPE: "Of the same type only as",
    }.get(Watermark.Match(mark.match), "Compared with")
    number = f", no. {mark.repertory_number}" if mark.repertory_number else ""
    first, last = mark.repertory_from_year, mark.repertory_to_year
    years = (
        f"{first} to {last}"
        if first is not None and last is not None and first != last
        else str(first if first is not None else last if last is not None else "")
    )
    where = ", ".join(part for part in (mark.repertory_place, years) if part)
    return f"{how} {mark.repertory or 'a mark not named'}{number}{f' ({where})' if where else ''}"


def write(
    examination: Examination, mark: Watermark | None, changed: dict[str, Any], person: Person
) -> None:
    """Make or change the record of an examination that is not signed yet. Raises Refused."""
    fields = changed if mark is not None else {"examination": examination, **changed}
    record_change("watermark", mark, fields, person)


def amend(mark: Watermark, changed: dict[str, Any], reason: str, person: Person) -> None:
    """Say otherwise of a signed record: one amendment for each field, all or none.

    Raises Refused.
    """
    with transaction.atomic():
        for field, after in changed.items():
            sign_amendment(
                mark.examination,
                reason,
                person,
                subject=f"watermark:{mark.pk}",
                field=field,
                before=getattr(mark, field),
                after=after,
            )


def add_to_signed(examination: Examination, words: str, person: Person) -> None:
    """A watermark that was seen after signing, in words. Raises Refused."""
    sign_amendment(examination, words, person)
