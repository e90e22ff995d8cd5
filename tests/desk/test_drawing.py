"""Sheet millimetres on pictures, the plot of intervals, and lamp time in words."""

import pytest

from survey.desk.drawing import flat_ground, inverse, line_across, placed_ground
from survey.desk.intervals import plot_of
from survey.desk.lamp import duration_in_words

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


@pytest.mark.parametrize(
    ("offset", "angle", "ends"),
    [
        (25, 0, ((25, 0), (25, 200))),
        (25, 90, ((300, 25), (0, 25))),
        (301, 0, None),
        (-1, 0, None),
    ],
)
def test_a_chain_line_runs_from_edge_to_edge_or_misses_the_sheet(offset, angle, ends):
    found = line_across(offset, angle, 300, 200)
    if ends is None:
        assert found is None
    else:
        assert [tuple(end) for end in found] == [pytest.approx(end, abs=1e-9) for end in ends]


def test_a_slanting_line_ends_on_the_edges():
    (x1, y1), (x2, y2) = line_across(50, 2, 300, 200)
    assert (y1, y2) == pytest.approx((0, 200))
    assert x1 > 50 > x2


def test_a_longer_interval_stands_higher_and_its_uncertainty_reaches_around_it():
    plot = plot_of([25.0, 26.5, 24.0], [0.2, 0.2, 0.5])
    first, second, third = plot.dots
    assert second.y < first.y < third.y
    assert first.top < first.y < first.bottom
    assert third.bottom - third.top > second.bottom - second.top
    assert plot.mean.value == pytest.approx(25.1666, abs=1e-3)
    assert all(0 <= rule.y <= plot.foot for rule in plot.rules) and len(plot.rules) >= 2


def test_no_intervals_make_no_plot():
    assert plot_of([], []) is None


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (45, "45 s"), (60, "1 min"), (150, "2 min 30 s"), (3900, "1 h 5 min")],
)
def test_lamp_time_is_said_in_words(seconds, words):
    assert duration_in_words(seconds) == words
