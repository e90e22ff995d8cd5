"""What changes the record of light: displays, the category of an object, and the limits."""

from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.catalogue.models import Object
from survey.loans.models import Display, ExposureLimit, Responsivity

# What a person says of a display, and the audit trail keeps.
KEPT = (
    "place",
    "first_day",
    "last_day",
    "lux",
    "hours_a_day",
    "days_a_week",
    "hours_in_all",
    "ultraviolet_uw_lm",
    "basis",
    "uncertainty_percent",
    "remark",
)
WHY = "Say in a few words why, for those who read it later."


def check_may_note(person: Person) -> None:
    """Raises PermissionDenied for couriers."""
    if person.is_courier:
        raise PermissionDenied(
            "Conservators and the head of department keep the record of light; couriers read it."
        )


def check_may_set_limits(person: Person) -> None:
    """Raises PermissionDenied unless the person is head of department."""
    if not person.is_head:
        raise PermissionDenied("Only the head of department sets the limits.")


def note_display(item: Object, *, person: Person, **fields: Any) -> Display:
    """Add a display to an object's history.

    ``fields`` are those of KEPT. Raises PermissionDenied for couriers, and ValidationError with a
    sentence by field.
    """
    check_may_note(person)
    display = Display(object=item, noted_by=person, **fields)
    with transaction.atomic():
        _alone_with(item)
        display.full_clean()
        display.save()
        note(person, "display noted", item.accession_number, _told(display))
    return display


def correct_display(display: Display, *, person: Person, **fields: Any) -> Display:
    """Put a display right; the audit trail keeps what it said before.

    Raises as note_display does, and ValidationError when somebody took the display out meanwhile.
    """
    check_may_note(person)
    with transaction.atomic():
        _alone_with(display.object)
        if not Display.objects.filter(pk=display.pk).exists():
            raise ValidationError(
                "Somebody took this display out in the meantime. If it did hang, note it anew."
            )
        display.refresh_from_db()
        before = _told(display)
        for name, value in fields.items():
            setattr(display, name, value)
        after = _told(display)
        if after == before:
            return display
        display.corrected_by, display.corrected_at = person, timezone.now()
        display.full_clean()
        display.save()
        note(
            person,
            "display corrected",
            display.object.accession_number,
            {"before": before, "after": after},
        )
    return display


def remove_display(display: Display, *, person: Person) -> None:
    """Take a display that never was out of the history. The audit trail keeps what it said."""
    check_may_note(person)
    with transaction.atomic():
        note(person, "display removed", display.object.accession_number, _told(display))
        display.delete()


def set_responsivity(item: Object, *, person: Person, category: str, reason: str) -> Responsivity:
    """Say how strongly an object answers to light. The earlier category is kept.

    Raises PermissionDenied for couriers, and ValidationError with a sentence by field.
    """
    check_may_note(person)
    said = Responsivity(object=item, category=category, reason=reason.strip(), set_by=person)
    _check_reason(said.reason)
    said.full_clean()
    with transaction.atomic():
        said.save()
        note(
            person,
            "responsivity set",
            item.accession_number,
            {"category": category, "reason": said.reason},
        )
    return said


def set_limit(
    category: str,
    *,
    person: Person,
    lux: float | None,
    lux_hours_a_year: float | None,
    reason: str,
) -> ExposureLimit:
    """Set the department's own limits for a category; the earlier ones stay.

    lux               limiting illuminance, lx
    lux_hours_a_year  limiting exposure, lx·h in a calendar year

    Raises PermissionDenied unless the person is head of department, and ValidationError with a
    sentence by field.
    """
    check_may_set_limits(person)
    limit = ExposureLimit(
        category=category,
        lux=lux,
        lux_hours_a_year=lux_hours_a_year,
        reason=reason.strip(),
        set_by=person,
    )
    _check_reason(limit.reason)
    limit.full_clean()
    with transaction.atomic():
        limit.save()
        note(
            person,
            "exposure limit set",
            limit.get_category_display(),
            {"lux": lux, "lux_hours_a_year": lux_hours_a_year, "reason": limit.reason},
        )
    return limit


def _check_reason(reason: str) -> None:
    if not reason:
        raise ValidationError({"reason": WHY})


def _alone_with(item: Object) -> None:
    """Let one display of an object be written at a time, or two might overlap unseen."""
    Object.objects.select_for_update().get(pk=item.pk)


def _told(display: Display) -> dict[str, Any]:
    return {name: _plain(getattr(display, name)) for name in KEPT}


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value
