"""What changes a treatment's record while the work is under way, and closes it."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Max
from django.utils import timezone

from survey.access.models import Person
from survey.access.services import note
from survey.examination.models import Photograph
from survey.treatment.models import ChosenPhotograph, RecordStep, TreatmentProposal, TreatmentRecord
from survey.treatment.services import changing, check_may_treat, finish_as, told

State = TreatmentProposal.State

MOST_YEARS_AHEAD = 30


def note_step(
    record: TreatmentRecord, step: RecordStep | None, *, person: Person, **fields: Any
) -> RecordStep:
    """Note a step that was done, or put one right.

    fields  those of services.STEP, with proposed, done_on and seen

    Raises PermissionDenied for couriers, NotNow unless the treatment is under way, and
    ValidationError with a sentence by field.
    """
    check_may_treat(person)
    with changing(record.proposal, State.UNDER_WAY) as proposal:
        last = record.steps.aggregate(last=Max("order"))["last"] or 0
        saved = step or RecordStep(record=record, done_by=person, order=last + 1)
        before = _told(saved) if step else None
        for name, value in fields.items():
            setattr(saved, name, value)
        if saved.proposed is not None and saved.proposed.proposal_id != proposal.pk:
            raise ValidationError({"proposed": "This step was proposed for another treatment."})
        saved.full_clean(exclude=["record", "done_by"])
        saved.save()
        action = "treatment step put right" if step else "treatment step done"
        detail = _key(record) | {"before": before, "after": _told(saved)}
        note(person, action, proposal.object.accession_number, detail)
    return saved


def take_out_step(step: RecordStep, *, person: Person) -> None:
    """A step that was noted and never done. The audit trail keeps what it said."""
    check_may_treat(person)
    with changing(step.record.proposal, State.UNDER_WAY) as proposal:
        detail = _key(step.record) | _told(step)
        note(person, "treatment step taken out", proposal.object.accession_number, detail)
        step.delete()


def choose(
    record: TreatmentRecord,
    photographs: Iterable[Photograph],
    *,
    person: Person,
    moment: str,
) -> int:
    """Take photographs of the object's examinations into the record. Returns how many are new
    there, or told to be of another moment than before."""
    check_may_treat(person)
    with changing(record.proposal, State.UNDER_WAY) as proposal:
        chosen = list(photographs)
        if not chosen:
            raise ValidationError("Tick the photographs to take into the record.")
        if any(one.examination.object_id != proposal.object_id for one in chosen):
            raise ValidationError("This photograph is of another object.")
        known = dict(record.chosen.values_list("photograph_id", "moment"))
        new = [one for one in chosen if known.get(one.pk) != moment]
        for one in new:
            ChosenPhotograph.objects.update_or_create(
                record=record, photograph=one, defaults={"moment": moment}
            )
        if new:
            detail = _key(record) | {"photographs": [str(one.pk) for one in new], "moment": moment}
            note(person, "photographs chosen", proposal.object.accession_number, detail)
    return len(new)


def put_back(chosen: ChosenPhotograph, *, person: Person) -> None:
    """Take a photograph out of the record; it stays with its examination."""
    check_may_treat(person)
    with changing(chosen.record.proposal, State.UNDER_WAY) as proposal:
        detail = _key(chosen.record) | {"photograph": str(chosen.photograph_id)}
        note(person, "photograph put back", proposal.object.accession_number, detail)
        chosen.delete()


def close(
    record: TreatmentRecord, *, person: Person, outcome: str, look_again_on: date
) -> TreatmentRecord:
    """The treatment is done, with this outcome; the object is looked at again on that day.

    Raises as note_step does.
    """
    check_may_treat(person)
    with changing(record.proposal, State.UNDER_WAY) as proposal:
        wrong = _wrong(outcome, look_again_on)
        if wrong:
            raise ValidationError(wrong)
        if not record.steps.exists():
            raise ValidationError("Note at least one step before the record is closed.")
        record.outcome = outcome.strip()
        record.look_again_on = look_again_on
        record.closed_by, record.closed_at = person, timezone.now()
        record.save()
        finish_as(proposal, State.DONE)
        detail = _key(record) | {"look_again_on": look_again_on.isoformat()}
        note(person, "treatment done", proposal.object.accession_number, detail)
    return record


def _wrong(outcome: str, look_again_on: date) -> dict[str, str]:
    wrong = {}
    today = timezone.localdate()
    if not outcome.strip():
        wrong["outcome"] = "Say what the treatment reached, and what it did not."
    if look_again_on <= today:
        wrong["look_again_on"] = (
            f"{look_again_on:%-d %B %Y} is not ahead: give a day on which it is to be looked at "
            "again."
        )
    elif look_again_on.year > today.year + MOST_YEARS_AHEAD:
        wrong["look_again_on"] = (
            f"Check the year: {look_again_on.year} is more than {MOST_YEARS_AHEAD} years ahead."
        )
    return wrong


def _told(step: RecordStep) -> dict[str, Any]:
    done_on = step.done_on.isoformat() if step.done_on else None
    return told(step) | {"done_on": done_on, "seen": step.seen}


def _key(record: TreatmentRecord) -> dict[str, Any]:
    return {"proposal": str(record.proposal_id)}
