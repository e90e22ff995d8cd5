"""What the Monday page is made of: who is full, what is stuck and on whom, what came in."""

from datetime import timedelta

import pytest
from django.utils import timezone

from survey.sync.models import Change
from survey.treatment.models import TreatmentProposal
from survey.triage import finishing, handing, holding, load, parting, queries
from survey.triage.arrived import arrived
from survey.triage.load import loads
from survey.triage.pieces import desk_work
from survey.triage.stuck import stuck
from survey.triage.work import HandOver, Hold
from tests.factories import (
    ExaminationFactory,
    LoanCheckFactory,
    ObservationFactory,
    PointCheckFactory,
    TermFactory,
    examined,
)

pytestmark = pytest.mark.django_db


def found_stuck():
    return stuck(queries.board(), desk_work(), timezone.now())


def load_of(person):
    return next(
        one for one in loads(queries.board(), timezone.localdate(), 6) if one.person == person
    )


def test_hours_are_somebodys_once_accepted_and_offered_before(four, head, conservator):
    for work in four[:2]:
        handing.hand_over(work.pk, person=head, to_person=conservator, reason="You")
    handing.accept(four[0].pk, person=conservator)
    one = load_of(conservator)
    assert (one.hours, one.hours_offered, one.without_hours) == (4.0, 4.0, 0)
    finishing.finish(four[0].pk, person=conservator)
    assert load_of(conservator).hours == 0


def test_work_without_hours_is_counted_apart(four, head, conservator):
    four[0].hours = None
    four[0].save()
    handing.hand_over(four[0].pk, person=conservator, to_person=conservator, reason="Mine")
    assert (load_of(conservator).hours, load_of(conservator).without_hours) == (0, 1)


def test_nobody_is_said_to_be_full_while_no_working_hours_are_set(four, conservator):
    handing.hand_over(four[0].pk, person=conservator, to_person=conservator, reason="Mine")
    assert (load_of(conservator).working, load_of(conservator).is_full) == (None, False)


def test_full_and_over_are_told_against_working_hours(four, conservator, monkeypatch):
    monkeypatch.setattr(load, "working_hours", lambda people, day, weeks: {conservator.pk: 3.0})
    handing.hand_over(four[0].pk, person=conservator, to_person=conservator, reason="Mine")
    one = load_of(conservator)
    assert (one.is_full, one.over) == (True, 1.0)


def test_couriers_are_not_among_those_who_take_on_work(four, head, conservator, courier):
    people = [one.person for one in loads(queries.board(), timezone.localdate(), 6)]
    assert courier not in people and {head, conservator} <= set(people)


def test_an_offer_waits_on_whoever_it_was_made_to(four, head, conservator):
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="You")
    HandOver.objects.update(at=timezone.now() - timedelta(days=4))
    (one,) = found_stuck()
    assert one.whom == "Wren Halloway"
    assert one.sentence == "A, treat, offered by Ottilie Crane, waits to be accepted"
    assert one.since == timezone.localdate() - timedelta(days=4)
    handing.accept(four[0].pk, person=conservator)
    assert found_stuck() == []


def test_what_was_sent_back_waits_on_whoever_gave_it(four, head, conservator):
    handing.hand_over(four[0].pk, person=head, to_person=conservator, reason="You")
    handing.send_back(four[0].pk, person=conservator, answer="Away until June")
    (one,) = found_stuck()
    assert one.whom == "Ottilie Crane"
    assert one.sentence == "A, treat, sent back by Wren Halloway: Away until June"


def test_a_hold_past_its_day_waits_on_whoever_has_the_other_work(four, head, conservator):
    later = timezone.localdate() + timedelta(days=3)
    holding.hold(four[0].pk, person=head, reason="After B", until=later, after=four[1].pk)
    assert found_stuck() == []
    Hold.objects.update(until=timezone.localdate() - timedelta(days=2))
    (one,) = found_stuck()
    assert one.whom == "nobody yet"
    handing.hand_over(four[1].pk, person=conservator, to_person=conservator, reason="Mine")
    (one,) = found_stuck()
    assert one.whom == "Wren Halloway"
    assert one.sentence.startswith("A, treat, waits for B, treat, which was expected by ")


def test_all_that_is_awaited_is_named(four, head):
    later = timezone.localdate() + timedelta(days=3)
    holding.hold(four[0].pk, person=head, reason="After B", until=later, after=four[1].pk)
    parting.split(four[1].pk, person=head, shares=[parting.Share("One"), parting.Share("Two")])
    Hold.objects.update(until=timezone.localdate())
    (one,) = found_stuck()
    assert "waits for B, treat, part 1 and B, treat, part 2, which" in one.sentence


def test_an_examination_that_nobody_signed_for_a_week_waits_on_its_examiner(db):
    examined(3, signed=False)
    late = examined(9, signed=False, object__accession_number="A", visit__person__first_name="Ines")
    (one,) = found_stuck()
    assert one.examination == late
    assert one.sentence == "Examination of A is not yet signed"
    assert one.whom.startswith("Ines")


def test_a_proposed_treatment_waits_on_the_head_and_one_sent_back_on_its_proposer(
    head, conservator
):
    proposal = TreatmentProposal.objects.create(
        object=(examination := examined(object__accession_number="A")).object,
        examination=examination,
        aim="Reduce the tideline",
        proposed_by=conservator,
        state="forward",
        put_forward_at=timezone.now() - timedelta(days=2),
    )
    (one,) = found_stuck()
    assert (one.whom, one.treatment) == ("Ottilie Crane", proposal)
    assert one.sentence == "The treatment proposed for A waits to be approved"
    proposal.state = "sent-back"
    proposal.save()
    (one,) = found_stuck()
    assert one.whom == "Wren Halloway"
    proposal.state = "approved"
    proposal.save()
    assert found_stuck() == []


def came_in(row, entity: str = "examination", days_ago: int = 0, **fields):
    Change.objects.create(
        number=Change.objects.count() + 1,
        entity=entity,
        entity_id=str(row.pk),
        fields=fields,
        at="1",
        outcome="applied",
        received_at=timezone.now() - timedelta(days=days_ago),
    )


def since():
    return timezone.now() - timedelta(days=7)


def test_signed_examinations_with_damage_came_in_by_when_they_arrived():
    damaged, whole, unsigned, long_ago = (
        examined(60), examined(60), examined(1, signed=False), examined(1),
    )  # fmt: skip
    for examination in (damaged, unsigned, long_ago):
        ObservationFactory(examination=examination)
    ObservationFactory(examination=whole, nature="feature")
    for examination in (damaged, whole):
        came_in(examination, signed_at="2026-01-01")
    came_in(unsigned, grade="fair")
    came_in(long_ago, days_ago=9, signed_at="2026-01-01")
    told = arrived(queries.board(), since())
    assert [(one, one.damages) for one in told.signed] == [(damaged, 1)]
    assert told.undamaged == 1


def test_new_hazards_are_told_signed_or_not(db):
    wet = TermFactory(hazards=["wet"])
    new, old = examined(1, signed=False), examined(40)
    for examination in (new, old):
        ObservationFactory(examination=examination, term=wet)
    came_in(new, grade="fair")
    (urgent,) = arrived(queries.board(), since()).urgent
    assert urgent.standing.object == new.object


def test_checks_on_loans_are_told_with_what_changed(db):
    check = LoanCheckFactory(examination=ExaminationFactory(signed=True))
    PointCheckFactory(loan_check=check, answer="changed", reason="Longer")
    PointCheckFactory(loan_check=check, answer="same")
    came_in(check, entity="loan_check")
    LoanCheckFactory()
    (one,) = arrived(queries.board(), since()).checks
    assert (one, one.changed) == (check, 1)
