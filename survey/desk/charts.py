"""Charts of the desk, drawn by Matplotlib: few inks, labelled directly, read without colour.

A chart is SVG whose words stay words, in the page's own ink: so it is right in the dim look and on
paper. What is solid, hatched or open is told by a label beside it. Each comes with a sentence for
those who do not see it, and the page shows its figures in a table as well.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from html import escape
from io import StringIO
from typing import Any

from django.utils.safestring import SafeString, mark_safe

# Put into the page as its own colours.
INK, SOFT = "#161616", "#6e6e6e"
INKS = {INK: "currentColor", SOFT: "var(--line-strong)"}
POINTS_PER_INCH = 72
TEXT_PT = 10.0
BAR = 0.62
THIN = 0.3
HATCH = "////"
# Metadata, a style that would be all the page's, and names that every chart has.
NOT_FOR_A_PAGE = re.compile(
    r"<metadata>.*?</metadata>|<style.*?</style>|"
    r' id="(?:figure|axes|patch|text|line2d|matplotlib\.axis|xtick|ytick)_\d+"',
    re.DOTALL,
)


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
    figure, axes = _blank(width_pt, height_pt)
    places = range(len(bars))
    _filled(axes.bar, places, bars, "bottom", BAR)
    high = max([bar.solid + bar.hatched for bar in bars] + [1.0])
    axes.set_ylim(0, 1.18 * high)
    for place, bar in zip(places, bars, strict=True):
        axes.text(place, bar.solid + bar.hatched + 0.03 * high, bar.said, ha="center", va="bottom")
    axes.set_xticks(list(places), [bar.name for bar in bars])
    axes.set_yticks([])
    axes.spines["bottom"].set_visible(True)
    axes.axhline(0, color=SOFT, linewidth=1)
    return Chart(_drawn(figure, told), told)


def lying(bars: Sequence[Bar], *, width_pt: float, row_pt: float, told: str) -> Chart:
    """Bars below each other, each under its name and value, which may be long."""
    figure, axes = _blank(width_pt, row_pt * len(bars) + 4)
    places = [-place for place in range(len(bars))]
    _filled(axes.barh, places, bars, "left", THIN)
    far = max([*(max(bar.solid + bar.hatched, bar.mark or 0.0) for bar in bars), 1.0])
    axes.set_xlim(-0.005 * far, 1.02 * far)
    axes.set_ylim(-len(bars) + 0.5, 0.9)
    for place, bar in zip(places, bars, strict=True):
        axes.plot([0, 0], [place - THIN / 2, place + THIN / 2], color=INK, linewidth=1)
        if bar.mark is not None:
            axes.plot([bar.mark, bar.mark], [place - 0.25, place + 0.25], color=INK, linewidth=2.5)
        axes.text(0, place + 0.27, bar.name, ha="left", va="bottom")
        axes.text(far, place + 0.27, bar.said, ha="right", va="bottom")
    axes.set_yticks([])
    axes.set_xticks([])
    return Chart(_drawn(figure, told), told)


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


@cache
def _styled() -> Any:
    """Matplotlib, loaded when a chart is first wanted, since it takes a second."""
    import matplotlib

    matplotlib.rcParams.update(
        {
            "svg.fonttype": "none",
            # The same figures give the same file.
            "svg.hashsalt": "fieldleaf",
            "font.family": "sans-serif",
            "font.sans-serif": ["DejaVu Sans"],
            "font.size": TEXT_PT,
            "text.color": INK,
            "xtick.color": INK,
            "ytick.color": INK,
            "axes.edgecolor": SOFT,
            "hatch.color": INK,
            "hatch.linewidth": 0.8,
        }
    )
    return matplotlib


def _blank(width_pt: float, height_pt: float) -> tuple[Any, Any]:
    _styled()
    from matplotlib.figure import Figure

    figure = Figure(
        figsize=(width_pt / POINTS_PER_INCH, height_pt / POINTS_PER_INCH), layout="constrained"
    )
    axes = figure.subplots()
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.tick_params(length=0)
    return figure, axes


def _drawn(figure: Any, told: str) -> SafeString:
    file = StringIO()
    figure.savefig(file, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    drawing = file.getvalue()
    drawing = drawing[drawing.index("<svg") :]
    drawing = NOT_FOR_A_PAGE.sub("", drawing)
    for drawn, ink in INKS.items():
        drawing = drawing.replace(drawn, ink)
    # The page's own letters; Matplotlib measured with its own, so room is left for others.
    drawing = drawing.replace("'DejaVu Sans', sans-serif", "var(--sans)")
    head = f'<svg role="img" aria-label="{escape(told, quote=True)}" class="chart" '
    # All words in it were escaped by Matplotlib, and the sentence here.
    return mark_safe(drawing.replace("<svg ", head, 1))
