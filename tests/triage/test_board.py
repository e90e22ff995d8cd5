"""Places when people moved work: the rule's order around what was moved, held by properties."""

from dataclasses import replace
from datetime import timedelta
from uuid import UUID

from django.utils import timezone
from hypothesis import assume, given
from hypothesis import strategies as st

from survey.triage import rule
from survey.triage.board import Placed, Row, placed
from survey.triage.rule import Weights
from survey.triage.work import Placement
from tests.triage.test_rule import (
    SAID_EXTENTS,
    SAID_SEVERITIES,
    TODAY,
    facts_of_any_kind,
    seen_things,
    weights_of_any_kind,
)

NOW = timezone.now()
# What places are made of; how facts become scores is held in test_rule.
simple_facts = st.builds(
    rule.Facts,
    today=st.just(TODAY),
    accession_number=st.sampled_from(["1990.1", "1990.2", "2001.17"]),
    grade=st.sampled_from(sorted(rule.GRADE)),
    significance=st.sampled_from(sorted(rule.SIGNIFICANCE)),
)


def row_of(number: int, facts: rule.Facts, place: int | None = None, weights=None) -> Row:
    """A row that was moved ``number`` minutes after the first, if it was moved."""
    placement = None
    if place is not None:
        placement = Placement(place=place, at=NOW + timedelta(minutes=number))
    scored = rule.score(facts, weights or Weights())
    return Row(UUID(int=number), (), facts, scored, placement=placement)


def moved_or_not(least: int = 1):
    """Facts of the rows of a queue, each with the place it was moved to or None."""
    one = st.tuples(simple_facts, st.none() | st.integers(1, 9))
    return st.lists(one, min_size=least, max_size=7)


def rows_of(drawn) -> list[Row]:
    return [row_of(number, facts, place) for number, (facts, place) in enumerate(drawn)]


def place_of(found: tuple[Placed, ...], number: int) -> int:
    return next(one.place for one in found if one.row.key == UUID(int=number))


@given(moved_or_not())
def test_every_place_is_taken_once_and_the_rules_places_too(drawn):
    found = placed(rows_of(drawn))
    assert [one.place for one in found] == list(range(1, len(drawn) + 1))
    assert sorted(one.rule_place for one in found) == list(range(1, len(drawn) + 1))
    assert {one.of for one in found} == {len(drawn)}


@given(moved_or_not(), st.randoms())
def test_the_order_in_which_rows_come_changes_no_place(drawn, random):
    rows = rows_of(drawn)
    shuffled = list(rows)
    random.shuffle(shuffled)
    assert placed(shuffled) == placed(rows)


@given(moved_or_not())
def test_rows_that_were_not_moved_stay_in_the_rules_order(drawn):
    found = placed(rows_of(drawn))
    unmoved = [one for one in found if one.row.placement is None]
    assert [one.rule_place for one in unmoved] == sorted(one.rule_place for one in unmoved)


@given(moved_or_not())
def test_moved_to_places_of_their_own_rows_stand_at_these_places(drawn):
    given_places = [place for _, place in drawn if place is not None]
    assume(len(given_places) == len(set(given_places)))
    assume(all(place <= len(drawn) for place in given_places))
    for one in placed(rows_of(drawn)):
        if one.row.placement is not None:
            assert one.place == one.row.placement.place


@given(moved_or_not(), st.integers(1, 9))
def test_whoever_moved_last_has_the_place(drawn, place):
    rows = rows_of(drawn)
    last = row_of(100, rule.Facts(rows[0].facts.today), place)
    found = placed([*rows, last])
    ahead = [
        row
        for row in rows
        if row.placement and row.placement.place is not None and row.placement.place > place
    ]
    # Only rows that were put behind it come into the way, where the queue is too short for them.
    if not ahead:
        assert place_of(found, 100) == min(place, len(rows) + 1)
    assert place_of(found, 100) <= place


@given(moved_or_not(), st.data())
def test_taking_all_moves_back_gives_the_rules_order_again(drawn, data):
    rows = rows_of(drawn)
    untouched = [replace(row, placement=None) for row in rows]
    for one in placed(untouched):
        assert one.place == one.rule_place
    by_rule = {one.row.key: one.rule_place for one in placed(rows)}
    assert by_rule == {one.row.key: one.place for one in placed(untouched)}


@given(moved_or_not(), facts_of_any_kind, seen_things, weights_of_any_kind, st.data())
def test_a_worse_condition_never_lowers_a_place_whatever_was_moved(
    drawn, facts, seen, weights, data
):
    low, high = sorted(data.draw(st.tuples(st.integers(0, 2), st.integers(0, 2))))
    narrow, wide = sorted(data.draw(st.tuples(st.integers(0, 4), st.integers(0, 4))))
    others = [row_of(number, other, place, weights) for number, (other, place) in enumerate(drawn)]

    def place_with(severity: str, extent: str) -> int:
        noted = replace(seen, severity=severity, extent=extent)
        worse = replace(facts, seen=(*facts.seen, noted))
        return place_of(placed([*others, row_of(100, worse, None, weights)]), 100)

    before = place_with(SAID_SEVERITIES[low], SAID_EXTENTS[narrow])
    assert place_with(SAID_SEVERITIES[high], SAID_EXTENTS[wide]) <= before


@given(moved_or_not(), facts_of_any_kind, seen_things)
def test_one_more_observation_never_lowers_a_place_whatever_was_moved(drawn, facts, seen):
    others = rows_of(drawn)
    before = place_of(placed([*others, row_of(100, facts)]), 100)
    more = replace(facts, seen=(*facts.seen, seen))
    assert place_of(placed([*others, row_of(100, more)]), 100) <= before


def test_a_move_beyond_a_queue_that_became_shorter_stands_last():
    facts = [rule.Facts(NOW.date(), accession_number=str(number)) for number in range(3)]
    found = placed([row_of(0, facts[0], 9), row_of(1, facts[1]), row_of(2, facts[2])])
    assert [one.row.key.int for one in found] == [1, 2, 0]


def test_an_empty_queue_has_no_places():
    assert placed([]) == ()
