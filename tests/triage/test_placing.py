"""Moving work: where it stands then, what stays visible of the rule, and taking it back."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from survey.access.models import AuditEntry
from survey.triage import holding, placing, queries
from survey.triage.history import history_of, moved_in_words
from survey.triage.work import Piece, Placement
from tests.factories import ObservationFactory, TermFactory
from tests.triage.conftest import order, row_of

pytestmark = pytest.mark.django_db


def test_moved_work_stands_at_its_place_and_the_rules_place_stays_beside_it(four, head):
    placing.move(four[3].pk, person=head, place=2, reason="Wanted for the opening")
    assert order() == ["A", "D", "B", "C"]
    placed = queries.board().place_of(four[3].pk)
    assert (placed.place, placed.rule_place, placed.of) == (2, 4, 4)
    placement = placed.row.placement
    assert moved_in_words(placement) == "Moved from place 4 to 2"
    assert (placement.by, placement.reason) == (head, "Wanted for the opening")


def test_a_move_holds_while_the_rule_moves_the_others(four, work, head):
    placing.move(four[3].pk, person=head, place=1, reason="First of all")
    work("E", "unstable", significance="exceptional")
    assert order() == ["D", "E", "A", "B", "C"]


def test_a_move_is_taken_back_and_both_stay_in_the_history(four, head):
    placing.move(four[3].pk, person=head, place=1, reason="Wanted")
    placing.take_back(four[3].pk, person=head)
    assert order() == ["A", "B", "C", "D"]
    said = [event.sentence for event in history_of(row_of(four[3]))]
    assert said == [
        "Moved from place 4 to 1, where the rule had it at place 4: Wanted",
        "Move ended",
    ]
    with pytest.raises(ValidationError, match="was not moved, or the move was taken back"):
        placing.take_back(four[3].pk, person=head)


def test_a_second_move_replaces_the_first_and_only_one_holds(four, head):
    placing.move(four[3].pk, person=head, place=1, reason="First")
    placing.move(four[3].pk, person=head, place=3, reason="Not so soon")
    assert order() == ["A", "B", "D", "C"]
    assert Placement.objects.filter(ended_at=None).count() == 1
    assert Placement.objects.count() == 2


def test_work_goes_into_another_queue_where_the_rule_puts_it(four, work, head):
    other = work("Z", "good", "stabilise")
    placing.move(four[0].pk, person=head, kind_of_work="stabilise", reason="Stop the loss first")
    assert order() == ["B", "C", "D"]
    assert order(("paper", "stabilise")) == ["A", "Z"]
    placing.move(
        four[1].pk, person=head, studio="objects", kind_of_work="treat", place=1, reason="A box"
    )
    assert order(("objects", "treat")) == ["B"]
    assert row_of(other).placement is None


def test_work_moved_elsewhere_keeps_its_examination_and_recommendation_as_they_were(four, head):
    before = {name: getattr(four[0], name) for name in ("kind_of_work", "hours", "note")}
    placing.move(four[0].pk, person=head, kind_of_work="stabilise", reason="Stop the loss first")
    four[0].refresh_from_db()
    assert {name: getattr(four[0], name) for name in before} == before
    assert four[0].revision == 0


def test_a_move_within_the_queue_follows_the_catalogue_to_another_studio(four, head):
    placing.move(four[3].pk, person=head, place=1, reason="Wanted")
    item = four[3].examination.object
    item.studio = "objects"
    item.save()
    assert order() == ["A", "B", "C"]
    assert order(("objects", "treat")) == ["D"]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"place": 0}, "places 1 to 4"),
        ({"place": 5}, "places 1 to 4"),
        ({"place": 4}, "stands at place 4 already"),
        ({}, "Say which place, or which other queue"),
        ({"place": 1, "reason": "  "}, "Say in a few words why"),
        ({"place": 1, "reason": "x" * 301}, "at most 300 characters"),
        ({"studio": "ceramics"}, "no such studio"),
        ({"kind_of_work": "polish"}, "no such kind of work"),
        ({"studio": "objects", "place": 2}, "places 1 to 1"),
    ],
)
def test_a_move_that_cannot_be_is_refused_with_a_sentence(four, head, told, words):
    with pytest.raises(ValidationError, match=words):
        placing.move(four[3].pk, **{"person": head, "reason": "Wanted", **told})
    assert order() == ["A", "B", "C", "D"]
    assert not Piece.objects.exists()


def test_what_cannot_wait_has_no_place_to_be_moved_from(four, head):
    ObservationFactory(examination=four[3].examination, term=TermFactory(hazards=["wet"]))
    with pytest.raises(ValidationError, match="cannot wait and stands in act now"):
        placing.move(four[3].pk, person=head, place=1, reason="Wanted")


def test_a_move_never_keeps_a_hazard_back(four, head):
    placing.move(four[0].pk, person=head, place=4, reason="It can wait")
    ObservationFactory(examination=four[0].examination, term=TermFactory(hazards=["wet"]))
    board = queries.board()
    assert [entry.standing.object.accession_number for entry in board.act_now] == ["A"]
    assert order() == ["B", "C", "D"]


def test_held_work_is_not_moved(four, head):
    until = timezone.localdate().replace(year=timezone.localdate().year + 1)
    holding.hold(four[0].pk, person=head, reason="No room", until=until)
    with pytest.raises(ValidationError, match="Take the hold away, then move it"):
        placing.move(four[0].pk, person=head, place=2, reason="Wanted")


def test_work_that_is_done_meanwhile_is_told_plainly(four, head):
    four[0].deleted_at = timezone.now()
    four[0].save()
    with pytest.raises(ValidationError, match="no longer open"):
        placing.move(four[0].pk, person=head, place=2, reason="Wanted")


def test_couriers_move_nothing_and_moves_are_audited(four, courier, conservator):
    with pytest.raises(PermissionDenied):
        placing.move(four[3].pk, person=courier, place=1, reason="Mine")
    placing.move(four[3].pk, person=conservator, place=1, reason="Wanted")
    placing.take_back(four[3].pk, person=conservator)
    assert list(AuditEntry.objects.values_list("action", "subject", "person")) == [
        ("move taken back", "D, treat", conservator.pk),
        ("work moved", "D, treat", conservator.pk),
    ]
    detail = AuditEntry.objects.get(action="work moved").detail
    assert detail["from"] == ["paper", "treat", 4] and detail["to"] == ["paper", "treat", 1]
