"""Bar charts of the desk: few inks, labelled directly, read without colour.

What is solid, hatched or open is told by a label beside it. Each comes with a sentence for
those who do not see it, and the page shows its figures in a table as well.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.safestring import SafeString

from survey.desk.drawn import INK, STRONG_LINE, drawn

TEXT_PT = 10.0
BAR = 0.62
THIN = 0.3
HATCH = "////"


@dataclass(frozen=True)
class Bar:
    """One bar: ``solid`` first, ``hatched`` on top of it; ``mark`` is a line across, if any."""

    name: str
    solid: float
    hatched: float
    said: str
    mark: float | None = None


@dataclass(frozen=True)
class Chart:
    """A drawing, and what it says. ``drawing`` is SVG to be put into a page."""

    drawing: SafeString
    alternative: str


def upright(bars: Sequence[Bar], *, width_pt: float, height_pt: float, told: str) -> Chart:
    """Bars beside each other, each with its value above it; ``told`` says what is drawn."""

    def draw(figure: Any) -> None:
        axes = _bare(figure)
        places = range(len(bars))
        _filled(axes.bar, places, bars, "bottom", BAR)
        high = max([bar.solid + bar.hatched for bar in bars] + [1.0])
        axes.set_ylim(0, 1.18 * high)
        for place, bar in zip(places, bars, strict=True):
            foot = bar.solid + bar.hatched + 0.03 * high
            axes.text(place, foot, bar.said, ha="center", va="bottom", fontsize=TEXT_PT)
        axes.set_xticks(list(places), [bar.name for bar in bars], fontsize=TEXT_PT)
        axes.set_yticks([])
        axes.spines["bottom"].set_visible(True)
        axes.spines["bottom"].set_color(STRONG_LINE)
        axes.axhline(0, color=STRONG_LINE, linewidth=1)

    return Chart(drawn(draw, width=width_pt, height=height_pt, name="upright", label=told), told)


def lying(bars: Sequence[Bar], *, width_pt: float, row_pt: float, told: str) -> Chart:
    """Bars below each other, each under its name and value, which may be long."""

    def draw(figure: Any) -> None:
        axes = _bare(figure)
        places = [-place for place in range(len(bars))]
        _filled(axes.barh, places, bars, "left", THIN)
        far = max([*(max(bar.solid + bar.hatched, bar.mark or 0.0) for bar in bars), 1.0])
        axes.set_xlim(-0.005 * far, 1.02 * far)
        axes.set_ylim(-len(bars) + 0.5, 0.9)
        for place, bar in zip(places, bars, strict=True):
            axes.plot([0, 0], [place - THIN / 2, place + THIN / 2], color=INK, linewidth=1)
            if bar.mark is not None:
                reach = [place - 0.25, place + 0.25]
                axes.plot([bar.mark, bar.mark], reach, color=INK, linewidth=2.5)
            axes.text(0, place + 0.27, bar.name, ha="left", va="bottom", fontsize=TEXT_PT)
            axes.text(far, place + 0.27, bar.said, ha="right", va="bottom", fontsize=TEXT_PT)
        axes.set_yticks([])
        axes.set_xticks([])

    height_pt = row_pt * len(bars) + 4
    return Chart(drawn(draw, width=width_pt, height=height_pt, name="lying", label=told), told)


def week_name(monday: date) -> str:
    """``4 May``."""
    return f"{monday.day} {monday:%b}"


def _filled(draw: Any, places: Sequence[int], bars: Sequence[Bar], base: str, thick: float) -> None:
    solid = [bar.solid for bar in bars]
    across = "height" if base == "left" else "width"
    draw(places, solid, **{across: thick}, color=INK, edgecolor=INK, linewidth=1)
    draw(
        places,
        [bar.hatched for bar in bars],
        **{base: solid, across: thick},
        facecolor="none",
        edgecolor=INK,
        hatch=HATCH,
        linewidth=1,
    )


def _bare(figure: Any) -> Any:
    figure.set_layout_engine("constrained")
    axes = figure.subplots()
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.tick_params(length=0)
    return axes
