"""The invented museum makes sense before any of it is written down."""

from collections import Counter

import numpy as np
import pytest

from survey.demo.museum.keys import key
from survey.demo.museum.makers import makers
from survey.demo.museum.people import STAFF
from survey.demo.museum.places import places
from survey.demo.museum.rounds import ALL_LIGHTS, CASES, ROUNDS
from survey.demo.museum.sheets import chosen_works, in_words, length_mm, sheet_of
from survey.demo.museum.works import KINDS, Work, works
from survey.demo.services import OBJECTS, SEED
from survey.demo.sheet.geometry import rectangle
from survey.demo.sheet.recipe import Mark
from survey.demo.sheet.truth import region_of
from survey.vocabulary.queries import vocabulary


@pytest.fixture(scope="module")
def collection() -> tuple[Work, ...]:
    return works(SEED, OBJECTS)


def test_two_thousand_objects_have_numbers_of_their_own(collection: tuple[Work, ...]) -> None:
    assert len(collection) == 2_000
    assert len({work.accession_number for work in collection}) == 2_000


def test_nothing_is_older_than_its_way_of_working_or_newer_than_its_gift(
    collection: tuple[Work, ...],
) -> None:
    began = {kind.media: kind.years[0] for kind in reversed(KINDS)}
    for work in collection:
        given = int(work.accession_number.split(".")[0])
        assert work.earliest_year <= work.latest_year < given
        assert 1480 <= work.latest_year <= 1985
        # A date told as a half century may begin before the way of working did.
        assert work.latest_year >= began[work.media]


def test_paper_agrees_with_its_date(collection: tuple[Work, ...]) -> None:
    for work in collection:
        if work.latest_year < 1750:
            assert "ove" not in work.support
        if work.latest_year < 1800:
            assert "wood" not in work.support
            assert "Machine" not in work.support


def test_most_objects_are_the_paper_studios_and_all_have_a_place(
    collection: tuple[Work, ...],
) -> None:
    known = {place.path for place in places()}
    studios = Counter(work.studio for work in collection)
    assert studios["paper"] > 0.8 * len(collection)
    assert len(studios) > 3
    for work in collection:
        assert (work.place in known) != bool(work.off_site_place)


def test_sizes_are_those_of_sheets(collection: tuple[Work, ...]) -> None:
    for work in collection:
        assert 50 < work.width_mm < 1000
        assert 50 < work.height_mm < 1000


def test_a_longer_collection_begins_with_the_shorter_one() -> None:
    assert works(SEED, 40) == works(SEED, 60)[:40]


def test_makers_have_names_of_invented_parts_and_no_two_the_same() -> None:
    everybody = makers(SEED)
    for maker in everybody:
        tongue = maker.tongue
        invented = {start + end for start in tongue.family_starts for end in tongue.family_ends}
        assert maker.name.split()[-1] in invented
    assert len({maker.name for maker in everybody}) == len(everybody)


def test_makers_were_grown_up_when_they_worked(collection: tuple[Work, ...]) -> None:
    by_words = {maker.in_words: maker for maker in makers(SEED)}
    named = [work for work in collection if work.maker in by_words]
    assert len(named) > 1_000
    for work in named:
        maker = by_words[work.maker]
        assert maker.born + 20 <= work.latest_year
        assert work.earliest_year <= maker.died


def test_places_form_one_tree() -> None:
    seen = {""}
    for place in places():
        assert place.above in seen
        assert place.path not in seen
        seen.add(place.path)
    kinds = {place.kind for place in places()}
    assert kinds == {"site", "building", "room", "unit", "shelf", "wall"}


def test_keys_are_version_7_and_sort_by_number() -> None:
    keys = [key("object", number) for number in range(50)]
    assert {one.version for one in keys} == {7}
    assert keys == sorted(keys)
    assert key("object", 3) != key("move", 3)


def test_forty_examinations_are_told_in_words_the_vocabulary_knows(db: None) -> None:
    words = vocabulary()
    codes = {
        part: {one["code"] for one in words[part]}
        for part in ("terms", "kinds_of_work", "grades", "lights", "hazards")
    }
    assert len(CASES) == 40
    for case in CASES:
        assert {told.lstrip("+?!").split()[0] for told in case.seen} <= codes["terms"]
        assert {work.kind for work in case.work} <= codes["kinds_of_work"]
        assert {hazard for work in case.work for hazard in work.hazards} <= codes["hazards"]
        assert set(case.lights.split()) <= codes["lights"]
        assert case.grade in codes["grades"] or not case.signed
    assert {outing.person for outing in ROUNDS} <= {one.username for one in STAFF}


def test_the_rounds_hold_every_kind_of_case() -> None:
    assert len(ROUNDS) == 10
    assert {case.round for case in CASES} == set(range(10))
    assert sum(set(ALL_LIGHTS.split()) <= set(case.lights.split()) for case in CASES) >= 12
    assert sum(not case.seen for case in CASES) >= 3
    assert sum(not case.signed for case in CASES) >= 3
    told = [told for case in CASES for told in case.seen]
    assert any("active-mould" in one for one in told)
    assert any("flaking" in one for one in told)


def test_every_sheet_bears_what_was_seen_on_it(collection: tuple[Work, ...]) -> None:
    for case, work in zip(CASES, chosen_works(SEED, collection, CASES), strict=True):
        recipe, sightings = sheet_of(SEED, work, case)
        assert (work.subject, work.medium) == (case.subject, case.medium)
        assert (recipe.width_mm, recipe.height_mm) == (work.width_mm, work.height_mm)
        assert bool(sightings) == bool(case.seen)
        for sighting in sightings:
            if sighting.mark is None:
                continue
            outline = region_of(sighting.mark, work.width_mm, work.height_mm)
            assert len(set(outline)) >= 3
            assert all(0 <= x <= work.width_mm for x, _ in outline)
            assert all(0 <= y <= work.height_mm for _, y in outline)


def test_a_collection_too_small_for_the_cases_is_refused() -> None:
    with pytest.raises(LookupError, match="left in the collection"):
        chosen_works(SEED, works(SEED, 10), CASES)


@pytest.mark.parametrize(
    ("mark", "words"),
    [
        (Mark("hinge", rectangle(20, 2, 50, 14)), "Upper left, 30 × 12 mm."),
        (Mark("local-stain", rectangle(90, 90, 110, 104)), "Centre, 20 × 14 mm."),
        (Mark("tear", ((200, 150), (200, 110))), "Lower right, 40 mm long."),
        (Mark("surface-dirt", rectangle(0, 0, 200, 200)), "Over the whole sheet."),
        (Mark("mat-burn", rectangle(10, 10, 190, 190)), "An opening of 180 × 180 mm."),
    ],
)
def test_places_are_told_in_words(mark: Mark, words: str) -> None:
    assert in_words(mark, (200.0, 200.0)) == words


def test_a_line_is_as_long_as_its_steps() -> None:
    assert length_mm(Mark("tear", ((0, 0), (3, 4), (3, 10)))) == 11


def test_two_sheets_of_one_mould_show_parts_of_the_same_chain_lines(
    collection: tuple[Work, ...],
) -> None:
    works_of = chosen_works(SEED, list(collection), CASES)
    sheets = [
        sheet_of(SEED, work, case)[0]
        for case, work in zip(CASES, works_of, strict=True)
        if case.mould
    ]
    assert len(sheets) == 2
    first, second = (np.diff(sheet.chain_offsets_mm()) for sheet in sheets)
    shared = [
        (a, b)
        for a in range(len(first) - 4)
        for b in range(len(second) - 4)
        if np.allclose(first[a : a + 5], second[b : b + 5])
    ]
    assert shared
    assert sheets[0].watermark is not None and sheets[1].watermark is not None
    assert sheets[0].watermark.motif == sheets[1].watermark.motif
    assert sheets[0].mould != sheets[1].mould, "cut from other parts of it"
    years = [work for case, work in zip(CASES, works_of, strict=True) if case.mould]
    assert abs(years[0].earliest_year - years[1].earliest_year) < 30
