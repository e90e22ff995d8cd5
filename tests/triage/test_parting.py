"""Work split into parts, and several recommendations done as one piece."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.utils import timezone

from survey.access.models import AuditEntry
from survey.triage import finishing, holding, parting, placing, queries
from survey.triage.history import history_of
from survey.triage.models import Readiness
from survey.triage.parting import Share
from survey.triage.work import Piece
from tests.factories import LocationFactory, ObservationFactory, RecommendationFactory, TermFactory
from tests.triage.conftest import order, row_of

pytestmark = pytest.mark.django_db

TWO = [Share("Remove the tape", 2.5), Share("Mend the tear", 1.5, "stabilise")]


def test_parts_stand_in_their_queues_with_their_own_words_and_hours(four, head):
    parts = parting.split(four[1].pk, person=head, shares=TWO)
    assert order() == ["A", "B", "C", "D"]
    assert order(("paper", "stabilise")) == ["B"]
    rows = [row_of(part) for part in parts]
    assert [(row.words, row.hours, row.parts) for row in rows] == [
        ("Remove the tape", 2.5, 2),
        ("Mend the tear", 1.5, 2),
    ]
    assert [row.name for row in rows] == ["B, treat, part 1", "B, stabilise, part 2"]


def test_the_signed_recommendation_stays_as_it_was(four, head):
    parting.split(four[1].pk, person=head, shares=TWO)
    four[1].refresh_from_db()
    assert (four[1].hours, four[1].kind_of_work, four[1].revision) == (4.0, "treat", 0)


def test_parts_of_one_recommendation_stand_in_their_order(four, head):
    parting.split(four[1].pk, person=head, shares=[Share("First"), Share("Second"), Share("Third")])
    rows = [placed.row for placed in queries.board().queues["paper", "treat"]]
    assert [row.words for row in rows if row.is_part] == ["First", "Second", "Third"]


def test_the_recommendation_is_done_with_its_last_part_and_not_before(four, head):
    first, second = parting.split(four[1].pk, person=head, shares=TWO)
    finishing.finish(first.pk, person=head)
    assert not Readiness.objects.filter(recommendation=four[1]).exists()
    assert row_of(second).parts == 2
    finishing.finish(second.pk, person=head)
    assert Readiness.objects.get(recommendation=four[1]).done_at is not None
    assert order() == ["A", "C", "D"]
    finishing.unfinish(second.pk, person=head)
    assert order(("paper", "stabilise")) == ["B"]
    with pytest.raises(ValidationError, match="not marked done"):
        finishing.unfinish(second.pk, person=head)


def test_a_recommendation_said_to_be_not_done_after_all_stands_whole_again(four, head):
    for part in parting.split(four[1].pk, person=head, shares=TWO):
        finishing.finish(part.pk, person=head)
    Readiness.objects.update(done_at=None)
    assert order() == ["A", "B", "C", "D"]


def test_parts_are_put_together_again(four, head):
    first, _ = parting.split(four[1].pk, person=head, shares=TWO)
    parting.put_together(first.pk, person=head)
    assert order() == ["A", "B", "C", "D"]
    assert not row_of(four[1]).is_part
    said = [event.sentence for event in history_of(row_of(four[1]))]
    assert said == [
        "Part 1 made: Remove the tape, 2.5 h",
        "Part 2 made: Mend the tear, 1.5 h",
        "Part 1 ended",
        "Part 2 ended",
    ]


def test_a_part_can_be_split_further(four, head):
    first, _ = parting.split(four[1].pk, person=head, shares=TWO)
    parting.split(first.pk, person=head, shares=[Share("Test"), Share("Remove")])
    rows = [row for row in queries.board().by_key.values() if row.is_part]
    assert sorted(row.words for row in rows) == ["Mend the tear", "Remove", "Test"]
    assert {row.parts for row in rows} == {3}


def test_moving_work_that_is_split_ends_the_move(four, head):
    placing.move(four[3].pk, person=head, place=1, reason="Wanted")
    first, _ = parting.split(four[3].pk, person=head, shares=TWO)
    parting.put_together(first.pk, person=head)
    assert order() == ["A", "B", "C", "D"]


@pytest.mark.parametrize(
    ("shares", "words"),
    [
        ([Share("One", 1)], "fill in at least two lines"),
        ([Share("One", 1), Share("  ", 1)], "Part 2: say in a few words what is to be done"),
        ([Share("One", 1), Share("Two", 0)], "Part 2: hours are a number above 0"),
        ([Share("One", 1), Share("Two", float("nan"))], "Part 2: hours are a number above 0"),
        ([Share("One", 1), Share("Two", 1, "polish")], "no such kind of work"),
        ([Share(str(n)) for n in range(13)], "Split it into 2 to 12 parts"),
    ],
)
def test_a_split_that_says_nothing_is_refused_with_a_sentence(four, head, shares, words):
    with pytest.raises(ValidationError, match=words):
        parting.split(four[1].pk, person=head, shares=shares)
    assert not Piece.objects.exists()


def test_held_work_is_neither_split_nor_done_as_one(four, head):
    until = timezone.localdate() + timezone.timedelta(days=9)
    holding.hold(four[1].pk, person=head, reason="No room", until=until)
    with pytest.raises(ValidationError, match=r"is held\. Take the hold away, then split it"):
        parting.split(four[1].pk, person=head, shares=TWO)


def one_more(work, kind: str, hours: float | None, note: str = ""):
    """Further work that the same examination recommends."""
    return RecommendationFactory(
        examination=work.examination, kind_of_work=kind, hours=hours, note=note
    )


def test_work_on_one_object_is_done_as_one_piece(four, head):
    other = one_more(four[1], "rehouse", 1.5, "New folder.")
    bundle = parting.merge([four[1].pk, other.pk], person=head, words="Treat and rehouse")
    assert order(("paper", "rehouse")) == []
    row = row_of(bundle)
    assert (row.words, row.hours, row.queue) == ("Treat and rehouse", 5.5, ("paper", "treat"))
    assert {work.pk for _, work in row.members} == {four[1].pk, other.pk}
    finishing.finish(bundle.pk, person=head)
    assert Readiness.objects.exclude(done_at=None).count() == 2


def test_the_same_work_on_objects_of_one_box_stands_where_the_most_pressing_does(work, head):
    box = LocationFactory()
    good, poor = (work(n, g, location=box) for n, g in (("A", "good"), ("B", "unstable")))
    work("C", "fair")
    bundle = parting.merge([good.pk, poor.pk], person=head)
    row = row_of(bundle)
    assert row.object.accession_number == "B"
    assert [item.accession_number for item in row.others] == ["A"]
    assert order() == ["B", "C"]


def test_worse_condition_of_any_object_never_lowers_the_bundles_place(work, head):
    box = LocationFactory()
    good, fair = (work(n, g, location=box) for n, g in (("A", "good"), ("B", "fair")))
    work("C", "poor")
    parting.merge([good.pk, fair.pk], person=head)
    assert order() == ["C", "B"]
    good.examination.grade = "unstable"
    good.examination.save()
    assert order() == ["A", "C"]


def test_a_hazard_on_one_object_takes_the_whole_bundle_to_act_now(work, head):
    box = LocationFactory()
    one, other = (work(n, location=box) for n in "AB")
    bundle = parting.merge([one.pk, other.pk], person=head)
    ObservationFactory(examination=one.examination, term=TermFactory(hazards=["wet"]))
    board = queries.board()
    (urgent,) = board.act_now
    assert [row.key for row in urgent.rows] == [bundle.pk]
    assert board.queues == {}


def test_work_in_different_boxes_or_of_different_kinds_is_not_done_as_one(work, head):
    box = LocationFactory()
    one, elsewhere = work("A", location=box), work("B")
    other_kind = work("C", kind="rehouse", location=box)
    for other in (elsewhere, other_kind):
        with pytest.raises(ValidationError, match="These cannot be done as one"):
            parting.merge([one.pk, other.pk], person=head)
    with pytest.raises(ValidationError, match="at least two"):
        parting.merge([one.pk, one.pk], person=head)


def test_missing_hours_are_not_taken_for_none(work, head):
    one = work("A", hours=None)
    other = one_more(one, "rehouse", 2.0)
    assert parting.merge([one.pk, other.pk], person=head).hours is None


def test_a_bundle_takes_up_more_and_is_taken_apart(four, head):
    more = [one_more(four[1], "rehouse", 1.0), one_more(four[1], "monitor", 0.5)]
    first = parting.merge([four[1].pk, more[0].pk], person=head)
    second = parting.merge([first.pk, more[1].pk], person=head)
    assert first.pk not in queries.board().by_key
    assert len(row_of(second).members) == 3
    parting.take_apart(second.pk, person=head)
    assert order() == ["A", "B", "C", "D"]
    assert order(("paper", "rehouse")) == order(("paper", "monitor")) == ["B"]


def test_a_bundle_is_taken_apart_before_it_is_split_and_parts_are_no_bundle(four, head):
    other = one_more(four[1], "rehouse", 1.0)
    bundle = parting.merge([four[1].pk, other.pk], person=head)
    with pytest.raises(ValidationError, match="Take it apart, then split"):
        parting.split(bundle.pk, person=head, shares=TWO)
    parting.take_apart(bundle.pk, person=head)
    with pytest.raises(ValidationError, match="nothing to part"):
        parting.take_apart(other.pk, person=head)
    first, _ = parting.split(four[1].pk, person=head, shares=TWO)
    with pytest.raises(ValidationError, match=r"is a part\. Put its parts together"):
        parting.merge([first.pk, other.pk], person=head)


def test_what_can_be_done_as_one_is_offered(work, head):
    box = LocationFactory()
    one, near = work("A", location=box), work("B", location=box)
    own = one_more(one, "rehouse", 1.0)
    work("C")
    board = queries.board()
    offered = parting.can_be_one_with(row_of(one, board), board)
    assert {row.key for row in offered} == {near.pk, own.pk}


def test_readiness_of_a_bundle_is_that_of_all_it_does(four, head):
    other = one_more(four[1], "rehouse", 1.0)
    Readiness.objects.create(recommendation=other, space=True)
    bundle = parting.merge([four[1].pk, other.pk], person=head)
    assert not row_of(bundle).facts.space
    finishing.set_ready(bundle.pk, person=head, space=True, materials=False)
    assert row_of(bundle).facts.space


def test_couriers_part_nothing_and_it_is_audited(four, courier, head):
    with pytest.raises(PermissionDenied):
        parting.split(four[1].pk, person=courier, shares=TWO)
    parting.split(four[1].pk, person=head, shares=TWO)
    entry = AuditEntry.objects.get(action="work split")
    assert [part["words"] for part in entry.detail["parts"]] == ["Remove the tape", "Mend the tear"]
