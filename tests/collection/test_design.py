"""The size of a sample, its shares, and the draw along the shelves."""

import math
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import samplesize_confint_proportion

from survey.collection.design import (
    CannotSample,
    allocate,
    along_the_shelves,
    draw,
    fewest,
    margin_of,
    size_for,
)

ENDLESS = 10**12
sizes_of_strata = st.lists(st.integers(1, 400), min_size=1, max_size=20)


@pytest.mark.parametrize("share", [0.5, 0.3, 0.1])
@pytest.mark.parametrize("margin", [0.1, 0.05, 0.02])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_an_endless_store_needs_what_statsmodels_says(
    share: float, margin: float, confidence: float
) -> None:
    expected = samplesize_confint_proportion(share, margin, alpha=1 - confidence)
    assert size_for(ENDLESS, margin, share, confidence) == math.ceil(expected)


def test_the_published_example_of_a_town() -> None:
    # A textbook example of Cochran's formula that is found in many courses: 95 %, ± 5 points,
    # share 1/2 give 385, and of 1,000 households 385 / (1 + 384 / 1000) = 278.
    # Looked up at scribd.com/document/503667341.
    assert size_for(ENDLESS, 0.05) == 385
    assert size_for(1000, 0.05) == 278


def test_cochrans_own_example_of_an_island() -> None:
    # Cochran 1977, sections 4.1 and 4.4: 3,200 islanders, ± 5 points, p = 1/2, t = 2:
    # 400, and with the correction 400 / (1 + 399 / 3200) = 356. From memory.
    t_is_2 = math.erf(2 / math.sqrt(2))
    assert size_for(ENDLESS, 0.05, 0.5, t_is_2) == 400
    assert size_for(3200, 0.05, 0.5, t_is_2) == 356


@given(st.integers(1, 5000), st.floats(0.005, 0.4), st.floats(0.02, 0.98))
def test_the_sample_is_never_larger_than_the_store_and_keeps_the_margin(
    population: int, margin: float, share: float
) -> None:
    sample = size_for(population, margin, share)
    assert 1 <= sample <= population
    assert margin_of(population, sample, share) <= margin + 1e-9
    if sample > 1:
        assert margin_of(population, sample - 1, share) > margin - 1e-9


@given(sizes_of_strata, st.floats(0, 1))
def test_shares_add_up_and_no_stratum_is_left_out(sizes: list[int], part: float) -> None:
    least = fewest(sizes)
    wanted = least + round(part * (sum(sizes) - least))
    shares = allocate(sizes, wanted)
    assert sum(shares) == wanted
    for size, share in zip(sizes, shares, strict=True):
        assert min(size, 2) <= share <= size


def test_shares_are_in_proportion_where_no_stratum_is_small() -> None:
    assert allocate([600, 300, 100], 50) == [30, 15, 5]
    assert allocate([333, 333, 334], 100) == [33, 33, 34]
    # The small one gets its two, and the others share the rest.
    assert allocate([500, 500, 5], 22) == [10, 10, 2]
    assert allocate([500, 1], 11) == [10, 1]


@given(st.integers(1, 60).flatmap(lambda n: st.tuples(st.just(n), st.integers(1, n))))
def test_every_object_lies_in_as_many_of_the_draws(size_and_wanted: tuple[int, int]) -> None:
    size, wanted = size_and_wanted
    chosen: Counter[int] = Counter()
    for start in range(size):
        places = along_the_shelves(size, wanted, start)
        assert len(set(places)) == wanted
        assert places == sorted(places)
        chosen.update(places)
    assert chosen == dict.fromkeys(range(size), wanted)


@given(sizes_of_strata, st.integers(0, 10**6))
def test_the_same_seed_draws_the_same_sample_again(sizes: list[int], seed: int) -> None:
    wanted = allocate(sizes, fewest(sizes))
    first = draw(sizes, wanted, seed)
    assert first == draw(sizes, wanted, seed)
    assert [len(places) for places in first] == wanted
    for places, size in zip(first, sizes, strict=True):
        assert all(0 <= place < size for place in places)


def test_even_steps_leave_no_long_stretch_of_shelf_unseen() -> None:
    places = along_the_shelves(1000, 30, 17)
    steps = {b - a for a, b in pairwise(places)}
    assert steps == {33, 34}


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        (413, "A sample of 413 is larger than the store, which holds 412 objects"),
        (4, "A sample of 4 is too small for 3 strata: each needs two objects, or its only one"),
    ],
)
def test_what_cannot_be_drawn_is_said_in_a_sentence(wanted: int, says: str) -> None:
    with pytest.raises(CannotSample, match=says):
        allocate([400, 11, 1], wanted)


@pytest.mark.parametrize(
    ("population", "margin", "share", "confidence"),
    [(0, 0.05, 0.5, 0.95), (9, 0, 0.5, 0.95), (9, 0.5, 0.5, 0.95), (9, 0.1, 1, 0.95),
     (9, 0.1, 0, 0.95), (9, 0.1, 0.5, 1), (9, math.nan, 0.5, 0.95)],
)  # fmt: skip
def test_figures_that_mean_nothing_are_refused(
    population: int, margin: float, share: float, confidence: float
) -> None:
    with pytest.raises(CannotSample):
        size_for(population, margin, share, confidence)


def test_no_strata_at_all_are_refused() -> None:
    with pytest.raises(CannotSample, match="choose another part"):
        allocate([], 3)
