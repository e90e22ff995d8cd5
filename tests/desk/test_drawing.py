"""Sheet millimetres on pictures, the plot of intervals, and lamp time in words."""

import pytest

from survey.desk.intervals import plot_of
from survey.desk.lamp import duration_in_words
from survey.reports.drawing import flat_ground, inverse, placed_ground

TILTED = [0.1, 0.01, -20.0, -0.005, 0.11, -15.0, 1e-5, 2e-5, 1.0]


def test_the_inverse_leads_back():
    forth, back = TILTED, inverse(TILTED)
    product = [
        sum(forth[3 * row + k] * back[3 * k + column] for k in range(3))
        for row in range(3)
        for column in range(3)
    ]
    assert product == pytest.approx([1, 0, 0, 0, 1, 0, 0, 0, 1], abs=1e-9)


def test_a_place_on_the_sheet_is_drawn_where_the_photograph_shows_it():
    ground = placed_ground(TILTED, (4000, 3000), "", "")
    x, y = ground.place((100.0, 80.0))
    a, b, c, d, e, f, g, h, i = TILTED
    scale = g * x + h * y + i
    assert ((a * x + b * y + c) / scale, (d * x + e * y + f) / scale) == pytest.approx((100, 80))


def test_a_flat_picture_is_drawn_on_at_its_scale():
    ground = flat_ground("", "", 310, 225, 4)
    assert (ground.width, ground.height) == (1240, 900)
    assert ground.points([(10, 20.5)]) == "40,82"


def test_a_longer_interval_stands_higher_and_its_uncertainty_reaches_around_it():
    plot = plot_of([(25.0, 0.2), (26.5, 0.2), (24.0, 0.5)], 25.17)
    first, second, third = plot.dots
    assert second.y < first.y < third.y
    assert first.top < first.y < first.bottom
    assert third.bottom - third.top > second.bottom - second.top
    assert plot.mean is not None and second.y < plot.mean.y < third.y
    assert all(0 <= rule.y <= plot.foot for rule in plot.rules) and len(plot.rules) >= 2


def test_no_intervals_make_no_plot():
    assert plot_of([], None) is None


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (45, "45 s"), (60, "1 min"), (150, "2 min 30 s"), (3900, "1 h 5 min")],
)
def test_lamp_time_is_said_in_words(seconds, words):
    assert duration_in_words(seconds) == words
