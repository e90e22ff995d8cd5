"""Observations of several examinations are matched by term, side and place, or by a person."""

from survey.examination.states import Sighting, places_through_time

SQUARE = [(10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0)]
FAR = [(x + 100, y) for x, y in SQUARE]


def seen(key, state, points=SQUARE, term="tear", side="recto"):
    return Sighting(key, state, term, term.capitalize(), side, points)


def keys_of(places):
    return [[one.key for one in place.sightings] for place in places]


def test_the_same_term_and_side_that_overlap_are_one_place_and_it_says_why():
    grown = [(10.0, 10.0), (30.0, 10.0), (30.0, 40.0), (10.0, 40.0)]
    [place] = places_through_time([seen("a", 0), seen("b", 1, grown)])
    assert keys_of([place]) == [["a", "b"]]
    assert place.links[0].sentence == (
        "Both are “Tear” on the recto, and 100 % of the smaller outline lies in the larger."
    )
    assert place.of_state(1).key == "b" and place.of_state(2) is None


def test_another_term_side_or_a_far_place_is_another_place():
    for other in (
        seen("b", 1, term="crease"),
        seen("b", 1, side="verso"),
        seen("b", 1, FAR),
    ):
        assert keys_of(places_through_time([seen("a", 0), other])) == [["a"], ["b"]]


def test_near_places_are_one_and_the_distance_is_told():
    beside = [(x + 24, y) for x, y in SQUARE]
    [place] = places_through_time([seen("a", 0), seen("b", 1, beside)])
    assert "they lie 4 mm apart" in place.links[0].sentence


def test_the_nearest_of_two_is_taken_and_no_two_of_one_examination_are_joined():
    beside = [(x + 4, y) for x, y in SQUARE]
    places = places_through_time([seen("a", 0), seen("b", 1, beside), seen("c", 1)])
    assert sorted(keys_of(places)) == [["a", "c"], ["b"]]


def test_a_place_is_found_again_after_an_examination_that_did_not_note_it():
    assert keys_of(places_through_time([seen("a", 0), seen("z", 1, FAR), seen("c", 2)])) == [
        ["a", "c"],
        ["z"],
    ]


def test_without_an_outline_only_the_only_one_of_its_term_is_taken():
    [place] = places_through_time([seen("a", 0, ()), seen("b", 1)])
    assert "the only one there; not both say where" in place.links[0].sentence
    several = places_through_time([seen("a", 0, ()), seen("b", 1), seen("c", 1, FAR)])
    assert keys_of(several) == [["a"], ["b"], ["c"]]


def test_a_person_parts_what_was_matched_and_joins_what_was_not():
    pair = frozenset(("a", "b"))
    both = [seen("a", 0), seen("b", 1)]
    assert keys_of(places_through_time(both, {pair: False})) == [["a"], ["b"]]
    apart = [seen("a", 0), seen("b", 1, FAR, term="crease")]
    [place] = places_through_time(apart, {pair: True})
    assert place.links[0].is_said and keys_of([place]) == [["a", "b"]]


def test_a_persons_word_counts_before_the_nearest():
    said = {frozenset(("a", "b")): True}
    places = places_through_time([seen("a", 0), seen("b", 1, FAR), seen("c", 1)], said)
    assert keys_of(places) == [["a", "b"], ["c"]]


def test_what_was_parted_from_an_earlier_one_of_a_place_does_not_join_it_later():
    said = {frozenset(("a", "c")): False}
    places = places_through_time([seen("a", 0), seen("b", 1), seen("c", 2)], said)
    assert keys_of(places) == [["a", "b"], ["c"]]


def test_a_mark_within_an_outline_is_the_same_place():
    [place] = places_through_time([seen("a", 0), seen("b", 1, [(20.0, 20.0)])])
    assert "marked within the other" in place.links[0].sentence
