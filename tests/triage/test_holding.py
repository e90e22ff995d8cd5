"""Holding work: out of its queue and back by itself; waiting for other work, never in a circle."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from survey.access.models import AuditEntry
from survey.triage import finishing, holding, parting, queries, staffing
from survey.triage.board import Row
from survey.triage.history import held_in_words, history_of
from survey.triage.pieces import desk_work
from survey.triage.stuck import stuck
from survey.triage.waiting import circles, in_a_circle, waits_of
from survey.triage.work import Hold, Piece
from tests.factories import ObservationFactory, RecommendationFactory, TermFactory, examined
from tests.triage.conftest import order, row_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def later() -> date:
    return timezone.localdate() + timedelta(days=20)


def held() -> list[str]:
    return [row.object.accession_number for row in queries.board().held]


def found_circles() -> list[list[Row]]:
    board = queries.board()
    return circles(board, waits_of(board, desk_work()))


def test_held_work_leaves_its_queue_and_the_others_move_up(four, head, later):
    holding.hold(four[1].pk, person=head, reason="The press is lent out", until=later)
    assert (order(), held()) == (["A", "C", "D"], ["B"])
    row = row_of(four[1])
    assert (row.hold.reason, row.hold.by) == ("The press is lent out", head)


def test_it_comes_back_by_itself_on_its_day(four, head, later):
    holding.hold(four[1].pk, person=head, reason="The press is lent out", until=later)
    on_the_day = queries.board(later)
    assert [placed.row.object.accession_number for placed in on_the_day.placed()] == list("ABCD")
    assert len(list(queries.board(later - timedelta(days=1)).placed())) == 3


def test_a_hold_is_taken_away_and_both_stay_in_the_history(four, head, later):
    holding.hold(four[1].pk, person=head, reason="The press is lent out", until=later)
    holding.release(four[1].pk, person=head)
    assert order() == list("ABCD")
    said = [event.sentence for event in history_of(row_of(four[1]))]
    assert said[0].startswith("Held until ") and said[0].endswith(": The press is lent out")
    assert said[1] == "Hold ended"
    with pytest.raises(ValidationError, match="is not held"):
        holding.release(four[1].pk, person=head)


def test_a_new_hold_replaces_the_old(four, head, later):
    holding.hold(four[1].pk, person=head, reason="One", until=later)
    holding.hold(four[1].pk, person=head, reason="Two", until=later + timedelta(days=1))
    assert Hold.objects.filter(ended_at=None).get().reason == "Two"
    assert Hold.objects.count() == 2


def test_it_waits_for_other_work_and_comes_back_once_that_is_done(four, head, later):
    holding.hold(four[0].pk, person=head, reason="After D", until=later, after=four[3].pk)
    assert order() == ["B", "C", "D"]
    row = row_of(four[0])
    awaited = queries.board().waits_for(row.hold, desk_work())
    assert held_in_words(row.hold, awaited).startswith("Held until D, treat, is done; expected by")
    finishing.finish(four[3].pk, person=head)
    assert order() == ["A", "B", "C"]


def test_while_the_other_work_is_not_done_the_day_alone_brings_nothing_back(four, head, later):
    holding.hold(four[0].pk, person=head, reason="After D", until=later, after=four[3].pk)
    board = queries.board(later + timedelta(days=9))
    assert [row.object.accession_number for row in board.held] == ["A"]
    assert board.held[0].hold.is_past(later + timedelta(days=9))


def test_it_comes_back_when_a_later_examination_took_the_other_work_away(four, head, later):
    holding.hold(four[0].pk, person=head, reason="After D", until=later, after=four[3].pk)
    examined(0, object=four[3].examination.object)
    assert order() == ["A", "B", "C"]


def test_what_it_waits_for_may_be_split_and_then_all_its_parts_are_awaited(four, head, later):
    holding.hold(four[0].pk, person=head, reason="After D", until=later, after=four[3].pk)
    shares = [parting.Share("Test", 1), parting.Share("Treat", 3)]
    first, second = parting.split(four[3].pk, person=head, shares=shares)
    assert held() == ["A"]
    finishing.finish(first.pk, person=head)
    assert held() == ["A"]
    finishing.finish(second.pk, person=head)
    assert held() == []


def test_it_may_wait_for_one_part_alone(four, head, later):
    shares = [parting.Share("Test", 1), parting.Share("Treat", 3)]
    first, _ = parting.split(four[3].pk, person=head, shares=shares)
    holding.hold(four[0].pk, person=head, reason="After the test", until=later, after=first.pk)
    assert held() == ["A"]
    finishing.finish(first.pk, person=head)
    assert held() == []


def test_a_circle_is_refused_and_the_chain_is_named(four, head, later):
    for one, other in ((0, 1), (1, 2)):
        holding.hold(four[one].pk, person=head, reason="Waits", until=later, after=four[other].pk)
    with pytest.raises(ValidationError) as refusal:
        holding.hold(four[2].pk, person=head, reason="Waits", until=later, after=four[0].pk)
    assert refusal.value.messages == [
        "These would wait for each other in a circle: C, treat, waits for A, treat, waits for "
        "B, treat, waits for C, treat. Let one of them wait no longer (take its hold away, or "
        "change what its estimate waits for), or choose other work."
    ]
    assert held() == ["A", "B"]


def waits_in_the_plan(head, one, other):
    staffing.set_estimate(one.pk, person=head, low=1, likely=1, high=1, after=other.pk)


def test_a_hold_closes_no_circle_with_what_waits_in_the_week_plan(four, head, later):
    """Also where work in the circle was split since."""
    a, b, c, _ = four
    waits_in_the_plan(head, a, b)
    holding.hold(b.pk, person=head, reason="Waits", until=later, after=c.pk)
    with pytest.raises(ValidationError) as refusal:
        holding.hold(c.pk, person=head, reason="Waits", until=later, after=a.pk)
    assert refusal.value.messages == [
        "These would wait for each other in a circle: C, treat, waits for A, treat, waits for "
        "B, treat, waits for C, treat. Let one of them wait no longer (take its hold away, or "
        "change what its estimate waits for), or choose other work."
    ]
    first, _ = parting.split(
        c.pk, person=head, shares=[parting.Share("Test", 1), parting.Share("Treat", 3)]
    )
    with pytest.raises(ValidationError, match="C, treat, part 1, waits for A, treat, waits for B"):
        holding.hold(first.pk, person=head, reason="Waits", until=later, after=a.pk)
    assert held() == ["B"]


def test_an_estimate_closes_no_circle_with_what_is_held(four, head, later):
    a, b, c, d = four
    holding.hold(a.pk, person=head, reason="Waits", until=later, after=b.pk)
    waits_in_the_plan(head, b, c)
    with pytest.raises(ValidationError) as refusal:
        waits_in_the_plan(head, c, a)
    assert refusal.value.messages[0].startswith(
        "These would wait for each other in a circle: C, treat, waits for A, treat, waits for "
        "B, treat, waits for C, treat."
    )
    with pytest.raises(ValidationError, match="C, treat, cannot wait for itself"):
        waits_in_the_plan(head, c, c)
    waits_in_the_plan(head, c, d)
    holding.release(a.pk, person=head)
    waits_in_the_plan(head, d, a)
    assert found_circles() == []


def test_a_circle_across_a_hold_and_an_estimate_is_found_and_told_as_stuck(four, head, later):
    """As two people may close it at one moment."""
    a, b, *_ = four
    waits_in_the_plan(head, a, b)
    held_piece, after = Piece.objects.get(pk=b.pk), Piece.objects.get(pk=a.pk)
    Hold.objects.create(piece=held_piece, after=after, until=later, by=head, reason="Waits")
    (circle,) = found_circles()
    assert {row.object.accession_number for row in circle} == {"A", "B"}
    (told,) = stuck(queries.board(), desk_work(), timezone.now())
    assert told.sentence.startswith("These wait for each other in a circle: ")
    assert told.whom == "Ottilie Crane"


def test_work_cannot_wait_for_itself(four, head, later):
    with pytest.raises(ValidationError, match="A, treat, cannot wait for itself"):
        holding.hold(four[0].pk, person=head, reason="Waits", until=later, after=four[0].pk)


def test_a_circle_that_two_people_closed_at_one_moment_is_found_and_named(four, head, later):
    holding.hold(four[0].pk, person=head, reason="Waits", until=later, after=four[1].pk)
    assert found_circles() == []
    first, second = (Piece.objects.get(pk=four[one].pk) for one in (0, 1))
    Hold.objects.create(piece=second, after=first, until=later, by=head, reason="Waits")
    (circle,) = found_circles()
    assert in_a_circle(circle) in (
        "A, treat, waits for B, treat, waits for A, treat",
        "B, treat, waits for A, treat, waits for B, treat",
    )
    assert held() == ["A", "B"]


def test_work_waits_for_a_bundle_that_took_up_what_it_waited_for(four, head, later):
    same = RecommendationFactory(examination=four[3].examination, kind_of_work="rehouse")
    holding.hold(four[0].pk, person=head, reason="After D", until=later, after=same.pk)
    bundle = parting.merge([four[3].pk, same.pk], person=head)
    assert held() == ["A"]
    with pytest.raises(ValidationError, match="in a circle"):
        holding.hold(bundle.pk, person=head, reason="Waits", until=later, after=four[0].pk)
    finishing.finish(bundle.pk, person=head)
    assert held() == []


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"until": date(2020, 3, 1)}, "1 March 2020 is not after today"),
        ({"until": date(2120, 3, 1)}, "more than ten years away"),
        ({"reason": ""}, "Say in a few words why"),
    ],
)
def test_a_hold_that_says_nothing_is_refused_with_a_sentence(four, head, later, told, words):
    with pytest.raises(ValidationError, match=words):
        holding.hold(four[0].pk, **{"person": head, "reason": "Wait", "until": later, **told})
    assert held() == []


def test_no_hold_keeps_a_hazard_back(four, head, later):
    holding.hold(four[0].pk, person=head, reason="No room", until=later)
    ObservationFactory(examination=four[0].examination, term=TermFactory(hazards=["wet"]))
    board = queries.board()
    (urgent,) = board.act_now
    assert urgent.rows[0].hold.reason == "No room"
    assert board.held == ()
    with pytest.raises(ValidationError, match="a hazard stands before every hold"):
        holding.hold(four[0].pk, person=head, reason="Again", until=later)


def test_couriers_hold_nothing_and_holds_are_audited(four, courier, head, later):
    with pytest.raises(PermissionDenied):
        holding.hold(four[0].pk, person=courier, reason="Mine", until=later)
    holding.hold(four[0].pk, person=head, reason="No room", until=later)
    entry = AuditEntry.objects.get(action="work held")
    assert (entry.subject, entry.person) == ("A, treat", head)
    assert entry.detail["until"] == later.isoformat()
