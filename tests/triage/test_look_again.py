"""A look at an object after its treatment: work of the kind “monitor” until somebody looked."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from survey.access.models import Person
from survey.treatment.models import TreatmentRecord
from survey.triage import finishing, handing, holding, parting, placing, queries
from survey.triage.history import history_of
from survey.triage.work import Piece
from tests.factories import (
    ObjectFactory,
    ObservationFactory,
    RecommendationFactory,
    TermFactory,
    TreatmentRecordFactory,
    examined,
)

pytestmark = pytest.mark.django_db

MONITOR = ("paper", "monitor")


@pytest.fixture
def treated(conservator: Person) -> TreatmentRecord:
    """Closed a year ago on A, which was to be looked at again yesterday."""
    now = timezone.now()
    item = ObjectFactory(accession_number="A")
    return TreatmentRecordFactory(
        proposal__examination=examined(400, object=item),
        proposal__object=item,
        proposal__state="done",
        outcome="The tear holds.",
        look_again_on=timezone.localdate() - timedelta(days=1),
        closed_by=conservator,
        closed_at=now - timedelta(days=365),
    )


def due() -> list[str]:
    rows = queries.board().queues.get(MONITOR, ())
    return [placed.row.name for placed in rows]


def test_a_look_that_is_due_stands_in_the_queue_and_names_its_treatment(treated):
    assert due() == ["A, monitor"]
    (placed,) = queries.board().queues[MONITOR]
    assert placed.row.again.record == treated
    assert placed.row.key == treated.pk
    assert "by Wren Halloway asks" in placed.row.words


def test_one_that_is_not_due_yet_does_not(treated):
    tomorrow = timezone.localdate() + timedelta(days=1)
    TreatmentRecord.objects.update(look_again_on=tomorrow)
    assert due() == []
    assert [placed.row.name for placed in queries.board(tomorrow).placed()] == ["A, monitor"]


def test_a_signed_examination_takes_it_away_and_an_unsigned_or_older_one_does_not(treated):
    item = treated.proposal.object
    examined(3, object=item)
    examined(0, object=item, signed_at=None)
    assert due() == ["A, monitor"]
    examined(0, object=item)
    assert due() == []


def test_of_two_treatments_the_last_one_counts(treated):
    TreatmentRecordFactory(
        proposal__examination=treated.proposal.examination,
        proposal__object=treated.proposal.object,
        proposal__state="done",
        look_again_on=timezone.localdate() + timedelta(days=90),
        closed_at=timezone.now(),
    )
    assert due() == []


def test_it_is_moved_held_and_handed_over_like_other_work(treated, head, work):
    work("B", "unstable", kind="monitor")
    key = treated.pk
    assert due() == ["B, monitor", "A, monitor"]
    placing.move(key, person=head, place=1, reason="Wanted")
    assert due() == ["A, monitor", "B, monitor"]
    handing.hand_over(key, person=head, to_person=head, reason="Mine")
    until = timezone.localdate() + timedelta(days=5)
    holding.hold(key, person=head, reason="On loan", until=until)
    (row,) = queries.board().held
    assert row.hand_over.reason == "Mine" and row.hold.reason == "On loan"
    assert history_of(row)[0].sentence.startswith("Moved from place 2 to 1")
    piece = Piece.objects.get()
    assert (piece.form, piece.recommendations.count()) == (Piece.Form.AGAIN, 0)
    holding.release(key, person=head)
    assert due() == ["A, monitor", "B, monitor"]


def test_only_an_examination_ends_it_and_it_is_neither_split_nor_put_together(treated, head):
    other = RecommendationFactory(
        examination=treated.proposal.examination, kind_of_work="monitor", hours=1.0
    )
    shares = [parting.Share("One", 1), parting.Share("Two", 1)]
    for attempt in (
        lambda: finishing.finish(treated.pk, person=head),
        lambda: finishing.set_ready(treated.pk, person=head, space=True, materials=True),
        lambda: parting.split(treated.pk, person=head, shares=shares),
        lambda: parting.merge([other.pk, treated.pk], person=head),
    ):
        with pytest.raises(ValidationError, match="Examine the object; once that examination is"):
            attempt()
    board = queries.board()
    assert parting.can_be_one_with(board.by_key[treated.pk], board) == []
    assert parting.can_be_one_with(board.by_key[other.pk], board) == []


def test_where_the_object_cannot_wait_it_stands_in_act_now(treated):
    examination = treated.proposal.examination
    ObservationFactory(examination=examination, term=TermFactory(hazards=["wet"]))
    board = queries.board()
    assert due() == [] and list(board.urgent_rows) == [treated.pk]


def test_the_desk_leads_from_the_queue_to_the_treatment(treated, client, head):
    client.force_login(head)
    treatment = reverse("desk:treatment", args=[treated.proposal_id])
    for address in (
        reverse("desk:queue"),
        reverse("desk:work", args=[treated.pk]),
        reverse("desk:object", args=[treated.proposal.object.pk]),
    ):
        content = client.get(address).content.decode()
        assert treatment in content and "The treatment that asks for it" in content, address
        assert "Mark done" not in content and "Space found" not in content
    assert client.get(reverse("desk:queue-table")).status_code == 200
    assert client.get(reverse("desk:queue-print")).status_code == 200


def test_many_cost_no_more_queries_than_one(treated, django_assert_max_num_queries):
    for number in range(5):
        TreatmentRecordFactory(
            proposal__examination=examined(400, object=ObjectFactory()),
            proposal__state="done",
            look_again_on=timezone.localdate() - timedelta(days=number),
            closed_at=timezone.now(),
        )
    with django_assert_max_num_queries(12):
        board = queries.board()
        assert len(board.queues[MONITOR]) == 6
        assert all(placed.row.words for placed in board.queues[MONITOR])
