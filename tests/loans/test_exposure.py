"""The arithmetic of light, against published limits and examples worked by hand."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.loans.exposure import (
    Balance,
    Exposure,
    Spell,
    State,
    by_year,
    days_of_year,
    days_that_last,
    exposure_of,
    part_of,
    until,
)
from survey.loans.queries import blue_wool, categories, data

DAYS = st.dates(date(1990, 1, 1), date(2040, 12, 31))


@st.composite
def spells(draw: st.DrawFn) -> Spell:
    first = draw(DAYS)
    days = draw(st.integers(1, 2000))
    last = first + timedelta(days=days - 1)
    lux = draw(st.floats(0, 2000))
    percent = draw(st.floats(0.1, 100))
    if draw(st.booleans()):
        in_all = draw(st.floats(0.1, 24.0 * days))
        return Spell(first, last, lux, hours_in_all=in_all, uncertainty_percent=percent)
    return Spell(
        first,
        last,
        lux,
        draw(st.floats(0.1, 24)),
        draw(st.floats(0.5, 7)),
        uncertainty_percent=percent,
    )


def test_an_exhibition_of_twelve_weeks_worked_by_hand():
    # 12 weeks = 84 days, open 6 days of 7: 72 open days × 8 h = 576 h; × 50 lx = 28 800 lx·h,
    # ± 10 % = 2 880 lx·h.
    spell = Spell(date(2025, 3, 3), date(2025, 5, 25), 50, 8, 6, uncertainty_percent=10)
    assert spell.days == 84
    assert spell.hours == pytest.approx(576)
    assert exposure_of(spell).lux_hours == pytest.approx(28_800)
    assert exposure_of(spell).uncertainty == pytest.approx(2_880)


def test_hours_in_all_are_taken_as_they_are():
    # A logger told 19 h over an open day of three days at 150 lx: 2 850 lx·h.
    spell = Spell(date(2025, 6, 8), date(2025, 6, 10), 150, hours_in_all=19)
    assert exposure_of(spell).lux_hours == pytest.approx(2_850)


@pytest.mark.parametrize(
    ("code", "lux", "hours"), [("low", 200, 3000), ("medium", 50, 3000), ("high", 50, 300)]
)
def test_the_limiting_exposure_is_the_limiting_illuminance_for_so_many_hours(code, lux, hours):
    # 200 lx × 3 000 h = 600 000; 50 lx × 3 000 h = 150 000; 50 lx × 300 h = 15 000 lx·h.
    [entry] = [one for one in categories() if one["code"] == code]
    assert (entry["lux"], entry["lux_hours_a_year"]) == (lux, lux * hours)


def test_the_published_limits_are_used_up_by_a_display_of_just_so_many_hours():
    spell = Spell(date(2025, 1, 1), date(2025, 12, 31), 50, hours_in_all=3000)
    balance = Balance(by_year([spell])[2025], 150_000)
    assert balance.state is State.USED_UP
    assert balance.percent == pytest.approx(100)


def test_a_display_across_new_year_is_shared_by_its_days():
    # 1 December to 31 January: 31 days + 31 days, so half of 62 d × 8 h × 50 lx = 24 800 lx·h.
    spell = Spell(date(2024, 12, 1), date(2025, 1, 31), 50, 8)
    years = by_year([spell])
    assert {year: one.lux_hours for year, one in years.items()} == pytest.approx(
        {2024: 12_400, 2025: 12_400}
    )


def test_the_last_day_of_a_year_and_the_first_of_the_next_lie_apart():
    last = Spell(date(2024, 12, 31), date(2024, 12, 31), 100, 10)
    first = Spell(date(2025, 1, 1), date(2025, 1, 1), 100, 10)
    assert by_year([last, first]) == {2024: Exposure(1000, 0), 2025: Exposure(1000, 0)}


def test_a_leap_year_has_its_day():
    # 366 days × 8 h × 50 lx = 146 400 lx·h.
    spell = Spell(date(2024, 1, 1), date(2024, 12, 31), 50, 8)
    assert by_year([spell])[2024].lux_hours == pytest.approx(146_400)


def test_what_is_planned_does_not_count_until_today():
    spell = Spell(date(2025, 1, 1), date(2025, 1, 10), 50, 8)
    assert until([spell], date(2025, 1, 4)).lux_hours == pytest.approx(4 * 8 * 50)
    assert until([spell], date(2024, 12, 31)) == Exposure(0, 0)


def test_what_is_left_and_how_long_it_lasts_worked_by_hand():
    # 150 000 − 126 000 = 24 000 lx·h left. At 50 lx, 8 h, 6 of 7 days: 342.86 lx·h a day: 70 days.
    balance = Balance(Exposure(126_000, 3_000), 150_000)
    assert balance.left == Exposure(24_000, 3_000)
    assert balance.percent == pytest.approx(84)
    assert balance.state is State.WITHIN
    pace = Spell(date(2025, 1, 1), date(2025, 3, 31), 50, 8, 6)
    assert days_that_last(24_000, pace) == 70
    assert days_that_last(-1, pace) == 0
    assert days_that_last(24_000, Spell(date(2025, 1, 1), date(2025, 1, 2), 0, 8)) is None


@pytest.mark.parametrize(
    ("used", "uncertainty", "state"),
    [
        (10_000, 1_000, State.WITHIN),
        (13_000, 1_001, State.PERHAPS_OVER),
        (15_000, 0, State.USED_UP),
        (15_001, 500, State.OVER),
    ],
)
def test_the_state_tells_when_the_uncertainty_reaches_past_the_limit(used, uncertainty, state):
    assert Balance(Exposure(used, uncertainty), 15_000).state is state


def test_without_a_limit_nothing_is_left_or_used_up():
    balance = Balance(Exposure(1e6, 0), None)
    assert (balance.left, balance.percent, balance.state) == (None, None, State.NO_LIMIT)


def test_days_of_a_year_are_counted_at_both_ends():
    assert days_of_year(date(2024, 12, 30), date(2025, 1, 3), 2024) == 2
    assert days_of_year(date(2024, 12, 30), date(2025, 1, 3), 2025) == 3
    assert days_of_year(date(2024, 12, 30), date(2025, 1, 3), 2026) == 0


@given(spells(), st.data())
def test_a_display_split_in_two_tells_the_same(spell: Spell, chance: st.DataObject):
    # The first part may be all of it, and the second then nothing.
    middle = spell.first + timedelta(days=chance.draw(st.integers(0, spell.days - 1)))
    parts = [
        part_of(spell, spell.first, middle),
        part_of(spell, middle + timedelta(days=1), spell.last),
    ]
    whole = exposure_of(spell)
    assert (parts[0] + parts[1]).lux_hours == pytest.approx(whole.lux_hours)
    assert (parts[0] + parts[1]).uncertainty == pytest.approx(whole.uncertainty)


@given(DAYS, st.integers(2, 900), st.integers(1, 899), st.floats(0, 500), st.floats(0.1, 24))
def test_two_rows_for_one_display_tell_the_same_years(first, days, cut, lux, hours):
    last = first + timedelta(days=days - 1)
    middle = first + timedelta(days=min(cut, days - 1) - 1)
    whole = by_year([Spell(first, last, lux, hours, 6, uncertainty_percent=15)])
    split = by_year(
        [
            Spell(first, middle, lux, hours, 6, uncertainty_percent=15),
            Spell(middle + timedelta(days=1), last, lux, hours, 6, uncertainty_percent=15),
        ]
    )
    assert list(split) == list(whole)
    for year, one in whole.items():
        assert split[year].lux_hours == pytest.approx(one.lux_hours, abs=1e-6)
        assert split[year].uncertainty == pytest.approx(one.uncertainty, abs=1e-6)


@given(st.lists(spells(), max_size=4))
def test_the_years_add_up_to_the_whole(several):
    years = by_year(several)
    whole = sum((exposure_of(one) for one in several), Exposure())
    assert sum(one.lux_hours for one in years.values()) == pytest.approx(whole.lux_hours)
    assert sum(one.uncertainty for one in years.values()) == pytest.approx(whole.uncertainty)
    assert list(years) == sorted(years)


def test_every_figure_names_its_source():
    for entry in categories():
        for part in ("limits", "materials", "on_paper"):
            assert entry[f"{part}_source"]
    for part in ("categories", "blue_wool", "ultraviolet"):
        assert data()[f"{part}_source"]


def test_the_blue_wool_scale_rises_and_ultraviolet_always_hastens_it():
    scale = blue_wool()
    assert [one["number"] for one in scale] == list(range(1, 9))
    assert [one["category"] for one in scale] == ["High"] * 3 + ["Medium"] * 3 + ["Low"] * 2
    for before, after in pairwise(scale):
        assert before["with_ultraviolet"] < after["with_ultraviolet"]
        assert before["without_ultraviolet"] < after["without_ultraviolet"]
    assert all(one["with_ultraviolet"] < one["without_ultraviolet"] for one in scale)
