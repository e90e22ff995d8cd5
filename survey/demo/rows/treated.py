"""Treatments of examined sheets: proposals, decisions, records, and what was chosen into them."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from survey.access.models import Person
from survey.demo.museum.rounds import HEAD, Case
from survey.demo.museum.treated import TREATMENTS, Meant, Treatment
from survey.demo.rows.examinations import Examined, Record
from survey.examination.models import Examination, Photograph
from survey.treatment.models import (
    ChosenPhotograph,
    Decision,
    ProposalStep,
    RecordStep,
    TreatmentProposal,
    TreatmentRecord,
)
from survey.triage.models import Readiness

State = TreatmentProposal.State


def treatments(
    examined: Sequence[Examined],
    records: Sequence[Record],
    people: dict[str, Person],
    now: datetime,
) -> None:
    """Of those cases that the museum has."""
    by_case: dict[Case, Record] = {
        one.case: record for one, record in zip(examined, records, strict=True)
    }
    for treatment in TREATMENTS:
        if treatment.case in by_case:
            _treatment(treatment, by_case[treatment.case], people, now)


def _treatment(told: Treatment, record: Record, people: dict[str, Person], now: datetime) -> None:
    examination = record.examination
    proposal = TreatmentProposal.objects.create(
        object=examination.object,
        examination=examination,
        recommendation=next(iter(record.recommendations), None),
        state=_state(told),
        aim=told.aim,
        risks=told.risks,
        alternatives=told.alternatives,
        proposed_by=people[told.person],
        made_at=_ago(now, told.made_days_ago),
        put_forward_at=_ago(now, told.forward_days_ago),
        revision=1,
    )
    steps = [
        ProposalStep(proposal=proposal, order=order, **_words(meant))
        for order, meant in enumerate(told.steps, 1)
    ]
    ProposalStep.objects.bulk_create(steps)
    if told.approved_days_ago is not None:
        Decision.objects.create(
            proposal=proposal,
            word=Decision.Word.APPROVED,
            reason=told.approved_with,
            person=people[HEAD],
            at=_ago(now, told.approved_days_ago),
        )
    if told.begun_days_ago is not None:
        _record(told, proposal, steps, people[told.person], now)


def _record(
    told: Treatment,
    proposal: TreatmentProposal,
    steps: Sequence[ProposalStep],
    person: Person,
    now: datetime,
) -> None:
    begun = _ago(now, told.begun_days_ago or 0)
    record = TreatmentRecord.objects.create(proposal=proposal, begun_by=person, begun_at=begun)
    for order, carried in enumerate(told.done, 1):
        proposed = None if carried.proposed is None else steps[carried.proposed]
        meant = carried.step or told.steps[carried.proposed or 0]
        RecordStep.objects.create(
            record=record,
            proposed=proposed,
            order=order,
            done_on=(begun + timedelta(days=carried.after_days)).date(),
            done_by=person,
            seen=carried.seen,
            **(_words(meant) | {"hours": carried.hours}),
        )
    _choose(record, proposal.examination, ChosenPhotograph.Moment.BEFORE)
    if told.closed_days_ago is None:
        return
    after = (
        Examination.objects.filter(object=proposal.object, started_at__gt=begun)
        .order_by("-started_at")
        .first()
    )
    if after is not None:
        _choose(record, after, ChosenPhotograph.Moment.AFTER)
    record.outcome = told.outcome
    record.closed_by, record.closed_at = person, _ago(now, told.closed_days_ago)
    record.look_again_on = (now + timedelta(days=told.look_again_in_days)).date()
    record.save()
    if proposal.recommendation is not None:
        Readiness.objects.update_or_create(
            recommendation=proposal.recommendation, defaults={"done_at": record.closed_at}
        )


def _choose(record: TreatmentRecord, examination: Examination, moment: str) -> None:
    photographs = Photograph.objects.filter(examination=examination).order_by("taken_at", "id")
    ChosenPhotograph.objects.bulk_create(
        ChosenPhotograph(record=record, photograph=one, moment=moment) for one in photographs
    )


def _state(told: Treatment) -> State:
    if told.closed_days_ago is not None:
        return State.DONE
    if told.begun_days_ago is not None:
        return State.UNDER_WAY
    return State.FORWARD if told.approved_days_ago is None else State.APPROVED


def _words(meant: Meant) -> dict[str, object]:
    return {
        "kind": meant.kind,
        "what": meant.what,
        "material": meant.material,
        "concentration": meant.concentration,
        "hours": meant.hours,
    }


def _ago(now: datetime, days: int) -> datetime:
    return (now - timedelta(days=days)).replace(hour=11, minute=20, second=0, microsecond=0)
