"""The record of a treatment: steps as they were done, photographs, the outcome."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from survey.access.models import AuditEntry, Person
from survey.treatment import queries, recording
from survey.treatment.models import TreatmentProposal, TreatmentRecord
from survey.treatment.trouble import NotNow
from tests.factories import (
    PersonFactory,
    PhotographFactory,
    ProposalStepFactory,
    RecordStepFactory,
    TreatmentRecordFactory,
    examined,
)

pytestmark = pytest.mark.django_db

STEP = {
    "proposed": None,
    "kind": "wash",
    "what": "Washed floating, one bath.",
    "material": "Deionised water",
    "concentration": "",
    "hours": 2.0,
    "seen": "The water turned yellow.",
}


def today() -> date:
    return timezone.localdate()


@pytest.fixture
def record() -> TreatmentRecord:
    return TreatmentRecordFactory()


def closed(record: TreatmentRecord, **values: object) -> TreatmentRecord:
    given = {
        "outcome": "The tear is mended.",
        "look_again_on": today() + timedelta(days=365),
        **values,
    }
    return recording.close(record, person=record.begun_by, **given)  # type: ignore[arg-type]


def test_a_step_is_noted_with_who_did_it_and_put_right(record: TreatmentRecord):
    wren, other = PersonFactory(), PersonFactory()
    step = recording.note_step(record, None, person=wren, done_on=today(), **STEP)
    recording.note_step(record, step, person=other, done_on=today(), **(STEP | {"hours": 2.5}))
    step.refresh_from_db()
    assert (step.hours, step.done_by) == (2.5, wren)
    entry = AuditEntry.objects.get(action="treatment step put right")
    assert (entry.person, entry.detail["before"]["hours"]) == (other, 2.0)
    recording.take_out_step(step, person=wren)
    assert not record.steps.exists()
    assert AuditEntry.objects.get(action="treatment step taken out").detail["seen"]


@pytest.mark.parametrize(("days", "said"), [(1, "lies ahead"), (-15, "The treatment was begun on")])
def test_a_step_is_done_between_the_beginning_and_today(record: TreatmentRecord, days, said):
    with pytest.raises(ValidationError, match=said):
        recording.note_step(
            record, None, person=record.begun_by, done_on=today() + timedelta(days=days), **STEP
        )


def test_a_step_of_another_proposal_is_refused(record: TreatmentRecord):
    with pytest.raises(ValidationError, match="for another treatment"):
        recording.note_step(
            record,
            None,
            person=record.begun_by,
            done_on=today(),
            **(STEP | {"proposed": ProposalStepFactory()}),
        )


def test_photographs_of_the_object_are_chosen_each_for_one_moment(record: TreatmentRecord):
    item, person = record.proposal.object, record.begun_by
    one, two = (PhotographFactory(examination=examined(object=item)) for _ in range(2))
    assert recording.choose(record, [one, two], person=person, moment="before") == 2
    assert recording.choose(record, [one, two], person=person, moment="before") == 0
    assert recording.choose(record, [two], person=person, moment="after") == 1
    assert dict(record.chosen.values_list("photograph_id", "moment")) == {
        one.pk: "before",
        two.pk: "after",
    }
    recording.put_back(record.chosen.get(photograph=one), person=person)
    assert record.chosen.get().photograph == two


def test_photographs_of_another_object_are_refused(record: TreatmentRecord):
    with pytest.raises(ValidationError, match="of another object"):
        recording.choose(record, [PhotographFactory()], person=record.begun_by, moment="after")
    with pytest.raises(ValidationError, match="Tick the photographs"):
        recording.choose(record, [], person=record.begun_by, moment="after")


def test_closed_it_has_an_outcome_a_day_to_look_again_and_is_fixed(record: TreatmentRecord):
    step = RecordStepFactory(record=record)
    closed(record)
    assert TreatmentProposal.objects.get().state == TreatmentProposal.State.DONE
    assert record.is_closed and record.closed_by == record.begun_by
    for refused in (
        lambda: recording.note_step(record, step, person=record.begun_by, done_on=today(), **STEP),
        lambda: recording.take_out_step(step, person=record.begun_by),
        lambda: recording.choose(
            record, [PhotographFactory()], person=record.begun_by, moment="after"
        ),
        lambda: closed(record),
    ):
        with pytest.raises(NotNow, match="done and its record closed"):
            refused()


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"outcome": " "}, "what the treatment reached"),
        ({"look_again_on": date(2020, 2, 29)}, "29 February 2020 is not ahead"),
        ({"look_again_on": date(2999, 1, 1)}, "more than 30 years ahead"),
    ],
)
def test_what_is_wanting_at_the_end_is_said(record: TreatmentRecord, values, said):
    RecordStepFactory(record=record)
    with pytest.raises(ValidationError, match=said):
        closed(record, **values)
    record.refresh_from_db()
    assert not record.is_closed


def test_without_a_step_it_is_not_closed(record: TreatmentRecord):
    with pytest.raises(ValidationError, match="at least one step"):
        closed(record)


def test_couriers_record_nothing(record: TreatmentRecord):
    courier = PersonFactory(role=Person.Role.COURIER)
    with pytest.raises(PermissionDenied):
        recording.note_step(record, None, person=courier, done_on=today(), **STEP)


def test_what_is_to_be_looked_at_again_comes_by_day_and_knows_who_looked_since():
    soon, late = TreatmentRecordFactory(), TreatmentRecordFactory()
    for record, days in ((late, 400), (soon, 30)):
        RecordStepFactory(record=record)
        closed(record, look_again_on=today() + timedelta(days=days))
    assert [one.record for one in queries.look_again()] == [soon, late]
    assert [one.is_seen_since for one in queries.look_again()] == [False, False]
    TreatmentRecord.objects.filter(pk=soon.pk).update(look_again_on=today() - timedelta(days=2))
    examined(1, object=soon.proposal.object)
    [one] = queries.look_again([soon.proposal.object.pk])
    assert one.is_seen_since


def test_of_two_treatments_the_last_says_when_to_look_again():
    first = TreatmentRecordFactory()
    second = TreatmentRecordFactory(
        proposal__examination=first.proposal.examination,
    )
    for record, days in ((first, 30), (second, 400)):
        RecordStepFactory(record=record)
        closed(record, look_again_on=today() + timedelta(days=days))
    [one] = queries.look_again()
    assert one.record == second
