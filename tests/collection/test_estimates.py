"""Shares and totals against statsmodels, published examples, and stores that are fully known."""

import math
import random
from statistics import mean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import hypergeom
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import DescrStatsW

from survey.collection.design import allocate, draw
from survey.collection.estimates import (
    Counted,
    Estimate,
    Measured,
    Sureness,
    boxes_for,
    fewest_for,
    share_of,
    total_of,
    wilson,
)

ENDLESS = 10**9


@st.composite
def counted(draw_one: st.DrawFn) -> Counted:
    size = draw_one(st.integers(1, 300))
    seen = draw_one(st.integers(0, size))
    return Counted(size, seen, draw_one(st.integers(0, seen)))


@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
@pytest.mark.parametrize(("having", "seen"), [(0, 20), (1, 29), (15, 148), (81, 263), (20, 20)])
def test_one_stratum_of_an_endless_store_is_statsmodels_wilson(
    having: int, seen: int, confidence: float
) -> None:
    expected = proportion_confint(having, seen, alpha=1 - confidence, method="wilson")
    assert wilson(having / seen, seen, confidence) == pytest.approx(expected, abs=1e-12)
    found = share_of([Counted(ENDLESS, seen, having)], confidence)
    assert (found.low, found.high) == pytest.approx(expected, abs=1e-6)


def test_newcombes_example() -> None:
    # R. G. Newcombe, Two-sided confidence intervals for the single proportion, Statistics in
    # Medicine 17, 1998, 857–872, table I, method 3 (score): 81 of 263. From memory.
    assert wilson(81 / 263, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)


@given(counted())
def test_in_one_stratum_the_effective_number_is_that_seen_over_the_part_not_seen(
    one: Counted,
) -> None:
    found = share_of([one])
    if found.sureness not in (Sureness.ESTIMATED, Sureness.ROUGH):
        return
    effective = one.seen / (1 - one.seen / one.size)
    low, high = wilson(one.having / one.seen, effective)
    assert found.low == pytest.approx(max(low, one.having / one.size))
    assert found.high == pytest.approx(min(high, 1 - (one.seen - one.having) / one.size))


def test_seeing_more_of_the_store_narrows_the_interval_to_a_point() -> None:
    widths = []
    for size in (ENDLESS, 1000, 200, 110, 101, 100):
        found = share_of([Counted(size, 100, 30)])
        assert found.low is not None and found.high is not None
        widths.append(found.high - found.low)
    assert widths == sorted(widths, reverse=True)
    assert share_of([Counted(100, 100, 30)]) == Estimate(Sureness.KNOWN, 0.3, 0.3, 0.3)


@given(st.lists(counted(), min_size=1, max_size=8))
def test_an_interval_holds_its_estimate_and_all_that_was_seen(strata: list[Counted]) -> None:
    found = share_of(strata)
    if not found.has_interval:
        assert sum(one.seen for one in strata) < 5
        return
    assert found.value is not None and found.low is not None and found.high is not None
    assert 0 <= found.low <= found.value + 1e-12
    assert found.value - 1e-12 <= found.high <= 1
    of_seen = [one for one in strata if one.seen]
    size = sum(one.size for one in of_seen)
    assert found.low * size >= sum(one.having for one in of_seen) - 1e-9
    assert (1 - found.high) * size >= sum(one.seen - one.having for one in of_seen) - 1e-9


@given(st.lists(counted(), min_size=1, max_size=8))
def test_what_has_a_thing_and_what_has_it_not_mirror_each_other(strata: list[Counted]) -> None:
    found = share_of(strata)
    other = share_of([Counted(one.size, one.seen, one.seen - one.having) for one in strata])
    assert other.sureness == found.sureness
    if found.has_interval:
        assert found.low is not None and found.high is not None and found.value is not None
        assert (other.low, other.value, other.high) == pytest.approx(
            (1 - found.high, 1 - found.value, 1 - found.low)
        )


def test_strata_in_proportion_that_are_alike_come_near_one_plain_sample() -> None:
    strata = share_of([Counted(1000, 100, 30), Counted(2000, 200, 60)])
    plain = share_of([Counted(3000, 300, 90)])
    assert strata.value == plain.value == 0.3
    assert strata.low == pytest.approx(plain.low, abs=0.001)
    assert strata.high == pytest.approx(plain.high, abs=0.001)


def test_no_gain_is_credited_where_strata_differ_but_a_loss_by_uneven_weights_is() -> None:
    apart = share_of([Counted(1000, 100, 100), Counted(1000, 100, 0)])
    plain = share_of([Counted(2000, 200, 100)])
    assert (apart.low, apart.high) == pytest.approx((plain.low, plain.high))
    uneven = share_of([Counted(1900, 20, 10), Counted(100, 80, 40)])
    even = share_of([Counted(1900, 95, 48), Counted(100, 5, 2)])
    assert uneven.low is not None and uneven.high is not None
    assert even.low is not None and even.high is not None
    assert uneven.high - uneven.low > 1.5 * (even.high - even.low)


def test_none_seen_with_a_thing_is_not_none_in_the_store() -> None:
    found = share_of([Counted(500, 20, 0), Counted(500, 20, 0)])
    assert found.value == found.low == 0
    assert found.high == pytest.approx(wilson(0, 40 / (1 - 0.04))[1])


def test_the_published_example_of_a_stratified_total() -> None:
    # Penn State STAT 506, lesson 6.1, example 6-1, after Scheaffer, Mendenhall and Ott: hours of
    # television in 155, 62 and 93 households, of which 20, 8 and 12 were asked (looked up). Means
    # 33.9, 25.125 and 19.0 and standard deviations 5.95, 15.25 and 9.36 give a mean of 27.7 with
    # variance 1.97, and 21.09 degrees of freedom (from memory).
    strata = [
        Measured(155, sample_of(20, 33.9, 5.95)),
        Measured(62, sample_of(8, 25.125, 15.25)),
        Measured(93, sample_of(12, 19.0, 9.36)),
    ]
    found = total_of(strata)
    assert found.value is not None and found.low is not None and found.high is not None
    assert found.value / 310 == pytest.approx(27.7, abs=0.05)
    t = 2.0791  # Student's, 97.5 %, 21.09 degrees of freedom.
    assert (found.high - found.low) / 2 / 310 == pytest.approx(t * math.sqrt(1.97), abs=0.005)


def test_one_stratum_of_an_endless_store_has_students_interval() -> None:
    values = (0.0, 0.5, 4.0, 2.0, 0.0, 1.0, 9.0, 3.0)
    found = total_of([Measured(ENDLESS, values)])
    low, high = DescrStatsW(values).tconfint_mean(0.05)
    assert found.high == pytest.approx(high * ENDLESS, rel=1e-6)
    assert found.low == pytest.approx(max(low * ENDLESS, sum(values)), rel=1e-6)


def sample_of(number: int, middle: float, spread: float) -> tuple[float, ...]:
    """So many values with exactly this mean and standard deviation."""
    plain = [float(place) for place in range(number)]
    return tuple(middle + (one - mean(plain)) / stdev(plain) * spread for one in plain)


def test_a_total_is_no_less_than_what_was_recorded() -> None:
    found = total_of([Measured(12, (0.0,) * 9 + (10.0,))])
    assert found.value == 12
    assert found.low == 10
    assert found.sureness is Sureness.ROUGH


def test_all_seen_is_known_and_a_stratum_of_one_is_a_case_of_it() -> None:
    assert total_of([Measured(3, (1.0, 2.0, 3.0))]) == Estimate(Sureness.KNOWN, 6, 6, 6)
    assert share_of([Counted(1, 1, 1)]) == Estimate(Sureness.KNOWN, 1, 1, 1)


def test_too_few_are_not_made_an_estimate() -> None:
    assert share_of([Counted(50, 4, 2)]) == Estimate(Sureness.TOO_FEW)
    assert total_of([Measured(50, (1.0, 0.0, 2.0, 4.0))]) == Estimate(Sureness.TOO_FEW)
    assert share_of([Counted(50, 5, 2)]).sureness is Sureness.ROUGH
    assert share_of([Counted(50, 0, 0)]) == share_of([]) == Estimate(Sureness.NONE_SEEN)
    assert total_of([Measured(50, ())]) == total_of([]) == Estimate(Sureness.NONE_SEEN)
    # Five strata of which one object each was seen: nothing tells how they spread.
    assert total_of([Measured(9, (1.0,))] * 5) == Estimate(Sureness.TOO_FEW)


def test_a_stratum_of_which_one_was_seen_borrows_the_others_spread() -> None:
    others = [Measured(100, (1.0, 2.0, 3.0, 4.0))] * 2
    without = total_of(others)
    found = total_of([*others, Measured(40, (2.0,))])
    assert found.value == without.value + 80  # type: ignore[operator]
    assert found.high - found.value > without.high - without.value  # type: ignore[operator]


def test_a_stratum_not_seen_is_left_out() -> None:
    strata = [Counted(100, 20, 5)]
    assert share_of([*strata, Counted(70, 0, 0)]) == share_of(strata)


def test_a_sample_that_is_all_alike_does_not_tell_how_far_a_total_is_out() -> None:
    found = total_of([Measured(90, (0.0,) * 12)])
    assert found == Estimate(Sureness.NO_SPREAD, 0)
    assert not found.has_interval


def test_lopsided_hours_need_a_larger_sample() -> None:
    assert fewest_for([1.0, 2.0, 3.0]) == 28
    assert fewest_for([2.0, 2.0]) == 28
    assert fewest_for([0.0] * 40 + [30.0]) > 900


def test_boxes_are_whole_and_one_that_is_begun_counts() -> None:
    objects = Estimate(Sureness.ESTIMATED, 40.0, 20.1, 60.0)
    assert boxes_for(objects, 20) == Estimate(Sureness.ESTIMATED, 2, 2, 3)
    assert boxes_for(Estimate(Sureness.TOO_FEW), 20) == Estimate(Sureness.TOO_FEW)
    assert boxes_for(share_of([Counted(10, 10, 5)]).times(10), 5).value == 1


def test_more_cannot_be_seen_than_stands_there() -> None:
    with pytest.raises(ValueError, match="no more"):
        Counted(3, 4, 1)
    with pytest.raises(ValueError, match="no more"):
        Counted(3, 2, 3)
    with pytest.raises(ValueError, match="no more"):
        Measured(1, (1.0, 2.0))


@pytest.mark.parametrize(("size", "seen"), [(60, 25), (60, 40), (130, 13), (300, 30)])
def test_of_one_stratum_the_interval_holds_the_truth_on_the_average(size: int, seen: int) -> None:
    found = [share_of([Counted(size, seen, having)]) for having in range(seen + 1)]
    covered = []
    for truth in range(size + 1):
        chances = hypergeom(size, truth, seen).pmf(range(seen + 1))
        covered.append(
            sum(
                chance
                for chance, one in zip(chances, found, strict=True)
                if one.low - 1e-12 <= truth / size <= one.high + 1e-12  # type: ignore[operator]
            )
        )
    assert mean(covered) > 0.945
    # Of one share it may hold less often, as Wilson's does; see the module.
    assert min(covered) > 0.88


ROUNDS = 500
# Strata of a store, and the share in each that has a thing; what neighbours are like is chance.
STORES = [
    ((800, 400, 300, 60), (0.30, 0.45, 0.10, 0.50)),
    ((500, 500, 500), (0.05, 0.02, 0.08)),
    ((1500, 40, 40, 20), (0.5, 0.9, 0.1, 1.0)),
]


@pytest.mark.parametrize(("sizes", "shares"), STORES)
def test_intervals_hold_the_truth_about_as_often_as_they_say(
    sizes: tuple[int, ...], shares: tuple[float, ...]
) -> None:
    chance = random.Random(20)
    wanted = allocate(sizes, 120)
    covered = 0
    for seed in range(ROUNDS):
        store = [
            chance.sample([1] * round(size * share) + [0] * (size - round(size * share)), size)
            for size, share in zip(sizes, shares, strict=True)
        ]
        truth = sum(map(sum, store)) / sum(sizes)
        drawn = draw(sizes, wanted, seed)
        found = share_of(
            [
                Counted(len(stratum), len(places), sum(stratum[place] for place in places))
                for stratum, places in zip(store, drawn, strict=True)
            ]
        )
        assert found.low is not None and found.high is not None
        covered += found.low - 1e-12 <= truth <= found.high + 1e-12
    assert covered / ROUNDS >= 0.93


def test_totals_hold_the_truth_nearly_as_often_though_hours_are_lopsided() -> None:
    chance = random.Random(30)
    sizes = (800, 400, 300)
    wanted = allocate(sizes, 200)
    covered = 0
    for seed in range(ROUNDS):
        # Most need nothing; a few need days.
        store = [[chance.choice((0, 0, 0, 0.5, 1.5, 4, 9)) for _ in range(n)] for n in sizes]
        truth = sum(map(sum, store))
        found = total_of(
            [
                Measured(len(stratum), tuple(stratum[place] for place in places))
                for stratum, places in zip(store, draw(sizes, wanted, seed), strict=True)
            ]
        )
        assert found.low is not None and found.high is not None
        covered += found.low <= truth <= found.high
    assert covered / ROUNDS >= 0.93
