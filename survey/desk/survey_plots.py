"""The plots of a survey: points with their intervals, the whole store first, then its strata."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.utils.safestring import SafeString

from survey.collection.estimates import Sureness
from survey.collection.results import Cell, Line, Results
from survey.desk import survey_words as words
from survey.desk.drawn import GROUND, INK, LINE, drawn
from survey.desk.exposure_words import grouped

WIDTH = 860
# Room for the names of rows; longer ones are cut, and stand in full in the table.
NAMES = 175
LONGEST_NAME = 24
ROW = 34
HEAD = 34
FOOT = 52
# More rows would not be read: they stand in the table.
MOST_ROWS = 24
# Beside a single panel stand the figures themselves.
FIGURES = 225
BETWEEN = 22
# A plot takes a good part of a second to draw, and is often looked at again.
KEPT = 64


@dataclass(frozen=True)
class Panel:
    """One quantity: a cell for each row of the plot, and its figures in words."""

    title: str
    cells: tuple[Cell, ...]
    in_words: Callable[[Cell], str]


@dataclass(frozen=True)
class Frame:
    """What the panels of a plot share.

    axis       the quantity along the foot, with its unit
    label      what the plot shows, in words
    factor     from the estimates to the axis
    most       where the axis ends; None is as far as the intervals reach
    has_whole  whether the first row is the whole store, and the others its parts
    """

    rows: tuple[str, ...]
    axis: str
    label: str
    factor: float = 1
    most: float | None = None
    has_whole: bool = True


@dataclass(frozen=True)
class Plot:
    """``left_out`` rows stand in the table only."""

    svg: SafeString
    left_out: int


def plot_of_grades(found: Results) -> Plot:
    """The share in each grade: a panel for each grade, a row for each stratum."""
    panels = [Panel(line.name, _cells(line), words.share_value) for line in found.grades]
    label = _told("Share of objects in each grade", found.grades, words.share_in_words)
    return _plot(
        "grades", Frame(_rows(found), "Share of objects, %", label, 100, 100), tuple(panels)
    )


def plot_of_damage(found: Results) -> Plot | None:
    """The share of objects of the whole store that have each damage; None without any."""
    lines = found.damage
    if not lines:
        return None
    panel = Panel("", tuple(line.overall for line in lines), words.share_in_words)
    rows = tuple(line.name for line in lines)
    label = _told("Share of objects with each damage", lines[:MOST_ROWS], words.share_in_words)
    frame = Frame(rows, "Share of objects, %", label, 100, has_whole=False)
    return _plot("damage", frame, (panel,))


def plot_of_hours(found: Results) -> Plot:
    panel = Panel("", _cells(found.hours), words.hours_in_words)
    label = _told("Hours of recommended work", [found.hours], words.hours_in_words)
    return _plot("hours", Frame(_rows(found), "Hours of recommended work, h", label), (panel,))


def plot_of_boxes(found: Results) -> Plot:
    panel = Panel("", _cells(found.boxes), words.boxes_in_words)
    label = _told("New boxes", [found.boxes], words.boxes_in_words)
    return _plot("boxes", Frame(_rows(found), "New boxes, number", label), (panel,))


def _told(what: str, lines: Sequence[Line], in_words: Callable[[Cell], str]) -> str:
    figures = "; ".join(f"{line.name} {in_words(line.overall)}" for line in lines)
    return f"{what}, with intervals. {words.WHOLE}: {figures}. The table has all numbers."


def _rows(found: Results) -> tuple[str, ...]:
    return (words.WHOLE, *(one.stratum.name for one in found.parts))


def _cells(line: Line) -> tuple[Cell, ...]:
    return (line.overall, *line.parts)


@lru_cache(maxsize=KEPT)
def _plot(name: str, frame: Frame, panels: tuple[Panel, ...]) -> Plot:
    shown = min(len(frame.rows), MOST_ROWS)
    height = HEAD + ROW * shown + FOOT
    figures = FIGURES if len(panels) == 1 else 0
    room = (WIDTH - NAMES - figures) / len(panels)

    def draw(figure: Any) -> None:
        for place, panel in enumerate(panels):
            left, wide, high = NAMES + place * room, room - BETWEEN, ROW * shown
            axes = figure.add_axes([left / WIDTH, FOOT / height, wide / WIDTH, high / height])
            _draw_panel(axes, panel, frame, shown, is_alone=bool(figures))
            _name_rows(axes, frame, shown if place == 0 else 0)
        middle = NAMES + (WIDTH - NAMES - figures - BETWEEN) / 2
        figure.text(middle / WIDTH, 8 / height, frame.axis, ha="center")

    return Plot(
        drawn(draw, width=WIDTH, height=height, name=name, label=frame.label),
        len(frame.rows) - shown,
    )


def _draw_panel(axes: Any, panel: Panel, frame: Frame, shown: int, *, is_alone: bool) -> None:
    cells = panel.cells[:shown]
    most = frame.most or _reach(cells, frame.factor)
    axes.set_xlim(0, most)
    axes.set_ylim(shown, 0)
    axes.set_title(panel.title, fontsize=13, fontweight="bold", loc="left", pad=10)
    axes.spines[["top", "right"]].set_visible(False)
    axes.locator_params(axis="x", nbins=6 if is_alone else 2)
    axes.xaxis.set_major_formatter(lambda value, _: grouped(value))
    axes.grid(axis="x", color=LINE, linewidth=0.8)
    axes.set_axisbelow(True)
    if frame.has_whole and shown > 1:
        axes.axhline(1, color=INK, linewidth=0.8)
    for place, cell in enumerate(cells):
        middle = place + (0.5 if is_alone else 0.62)
        is_whole = frame.has_whole and place == 0
        _draw_estimate(axes, cell, middle, frame.factor, size=9 if is_whole else 6.5)
        said = panel.in_words(cell)
        weight = "bold" if is_whole else "normal"
        if is_alone:
            axes.text(most * 1.03, middle, said, va="center", fontsize=13, fontweight=weight)
        else:
            _label(axes, (cell.estimate.value or 0) * frame.factor, middle, most, said, weight)


def _draw_estimate(axes: Any, cell: Cell, middle: float, factor: float, *, size: float) -> None:
    """Filled is an estimate, hollow a rough one, a square is known."""
    estimate = cell.estimate
    if estimate.value is None:
        return
    if estimate.low is not None and estimate.high is not None and estimate.high > estimate.low:
        ends = [estimate.low * factor, estimate.high * factor]
        axes.plot(
            ends, [middle, middle], color=INK, linewidth=1.6, marker="|", markersize=8,
            clip_on=False,
        )  # fmt: skip
    is_sure = estimate.sureness in (Sureness.ESTIMATED, Sureness.KNOWN)
    axes.plot(
        [estimate.value * factor],
        [middle],
        marker="s" if estimate.sureness is Sureness.KNOWN else "o",
        markersize=size,
        markeredgewidth=1.6,
        markeredgecolor=INK,
        markerfacecolor=INK if is_sure else GROUND,
        clip_on=False,
    )


def _label(axes: Any, value: float, middle: float, most: float, said: str, weight: str) -> None:
    """The figure above its point, kept within the panel."""
    share = value / most
    side = "left" if share < 0.15 else "right" if share > 0.85 else "center"
    x = 0.03 * most if side == "left" else 0.97 * most if side == "right" else value
    axes.text(x, middle - 0.24, said, ha=side, va="bottom", fontsize=12, fontweight=weight)


def _name_rows(axes: Any, frame: Frame, named: int) -> None:
    offset = 0.5
    axes.set_yticks([place + offset for place in range(named)])
    axes.set_yticklabels([_cut(name) for name in frame.rows[:named]])
    axes.tick_params(axis="y", length=0, pad=10)
    if named and frame.has_whole:
        axes.get_yticklabels()[0].set_fontweight("bold")


def _reach(cells: Sequence[Cell], factor: float) -> float:
    estimates = [cell.estimate for cell in cells]
    reached = [(one.high if one.high is not None else one.value or 0) for one in estimates]
    return max([*reached, 1 / factor]) * factor * 1.05


def _cut(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1].rstrip()}…"
