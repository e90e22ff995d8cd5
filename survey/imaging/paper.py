"""The structure of a paper, read from a transmitted or raking photograph of one side.

Laid lines in a centimetre and in 20 mm (the unit of the International Association of Paper
Historians' standard for registering papers), chain lines and their intervals, each with a
standard uncertainty; or a plain sentence why nothing can be counted. A reading advises: the
person looks at the lines drawn on the picture, puts right what is wrong by ``corrected``, and
everything is reckoned again.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from survey.imaging.chains import WORK_PX_PER_MM as CHAINS_PX_PER_MM
from survey.imaging.chains import Chains, chain_lines, crosses
from survey.imaging.counted import Drawn, chain_drawn, laid_drawn
from survey.imaging.geometry import RectifiedSheet
from survey.imaging.intervals import (
    ChainLine,
    Interval,
    Measured,
    Placing,
    intervals_of,
    mean_and_spread,
)
from survey.imaging.laid import WORK_PX_PER_MM as LAID_PX_PER_MM
from survey.imaging.laid import Laid, Looked, laid_lines
from survey.imaging.tone import tone_of

LIGHTS = ("transmitted", "raking")
# How well a corner is tapped on a screen, mm on the sheet, if nobody says. No source.
USUAL_CORNER_MM = 0.3
# Finest laid lines looked for, and the pixels they need: two to a line at the very least.
FINEST_PER_CM = 15.0
WANTED_PX_PER_MM, GOOD_PX_PER_MM = 3.0, 5.0
MOST_DARK, MOST_LIGHT = 0.6, 0.35
SMALLEST_MM = 30.0
# Chain lines without laid lines: how far they stand out together, and how many there must be, to
# say that the paper is laid. By transmitted light; by raking light that falls on them askew; or
# square, for drawn lines are often ruled along the sheet's edges.
COMB = ((2.0, 2),)
COMB_ASKEW = ((13.0, 3),)
COMB_SQUARE = ((5.0, 3), (9.0, 2))
# Steeper fading than this under raking light is blur: paper's own tooth always shows there. By
# transmitted light its clouds do, and fade as far as can be seen; noise alone does not.
STEEPEST_FADE, MOST_BEND = -0.45, 0.2
# Raking light so near an edge's direction may run along laid lines. Common practice, no source.
ALONG_EDGE_DEG = 10.0
# A line put on the screen by hand, mm. No source.
BY_HAND_MM = 0.3
# Counting by hand: either end may be half a line out, evenly spread. ISO/IEC Guide 98-3 (GUM),
# 4.3.7: a rectangular distribution of half-width 1/2 has a standard deviation of 1/(2√3).
COUNT_U = math.sqrt(2) / (2 * math.sqrt(3))


class WrongCorrection(ValueError):
    """A correction that cannot be. The message is a sentence for the person."""


@dataclass(frozen=True)
class Paper:
    """What a photograph tells of the paper. Lengths in mm on the side seen, angles in degrees.

    make             "laid", "wove" or "not measurable"
    why              a sentence: on what the make rests, or why nothing can be counted
    laid_per_cm      None when no laid lines were counted
    laid_angle_deg   direction of the laid lines, clockwise from upright, 45 up to 225
    chain_angle_deg  direction of the chain lines, -45 up to 135, see ``chains``
    chains_why       a sentence when chain lines are wanting, else ""
    intervals        from each chain line to the next
    mean_mm, spread_mm  of the whole intervals; the spread is their standard deviation
    overlay          lines in sheet mm that show what was counted
    """

    make: str
    why: str
    light: str
    azimuth_deg: float | None
    width_mm: float
    height_mm: float
    corner_mm: float
    laid_per_cm: Measured | None = None
    laid_angle_deg: Measured | None = None
    chains: tuple[ChainLine, ...] = ()
    chains_why: str = ""
    chain_angle_deg: Measured | None = None
    intervals: tuple[Interval, ...] = ()
    mean_mm: Measured | None = None
    spread_mm: Measured | None = None
    overlay: tuple[Drawn, ...] = ()

    @property
    def laid_per_20mm(self) -> Measured | None:
        one = self.laid_per_cm
        return None if one is None else Measured(2 * one.value, 2 * one.u)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers, texts and lists for JSON; ``paper_from`` reads it back."""
        told = asdict(self)
        twice = self.laid_per_20mm
        told["laid_per_20mm"] = None if twice is None else asdict(twice)
        return told


def paper_from(told: Mapping[str, Any]) -> Paper:
    """The paper of an ``as_dict``."""

    def measured(name: str) -> Measured | None:
        return None if told[name] is None else Measured(**told[name])

    names = ("make", "why", "light", "azimuth_deg", "width_mm", "height_mm", "corner_mm")
    return Paper(
        **{name: told[name] for name in names},
        laid_per_cm=measured("laid_per_cm"),
        laid_angle_deg=measured("laid_angle_deg"),
        chains=tuple(ChainLine(**line) for line in told["chains"]),
        chains_why=told["chains_why"],
        chain_angle_deg=measured("chain_angle_deg"),
        intervals=tuple(Interval(**one) for one in told["intervals"]),
        mean_mm=measured("mean_mm"),
        spread_mm=measured("spread_mm"),
        overlay=tuple(
            Drawn(one["kind"], tuple(map(tuple, one["points"])), one["label"])
            for one in told["overlay"]
        ),
    )


def read_paper(
    sheet: RectifiedSheet,
    light: str,
    azimuth_deg: float | None = None,
    corner_mm: float = USUAL_CORNER_MM,
) -> Paper:
    """Read the paper's structure from one side under transmitted or raking light.

    azimuth_deg  of raking light: clockwise from the top edge of the side seen
    corner_mm    standard uncertainty of each of the sheet's corners on the picture

    Raises ValueError for another light.
    """
    if light not in LIGHTS:
        raise ValueError(
            "The structure of a paper is read from a transmitted or a raking photograph: "
            f"choose one of these, not one under {light} light."
        )
    paper = Paper(
        "not measurable", "", light, azimuth_deg, sheet.width_mm, sheet.height_mm, corner_mm
    )
    refused = _refused(sheet)
    if refused:
        return replace(paper, why=refused)
    fine = tone_of(sheet, LAID_PX_PER_MM)
    if fine.dark > MOST_DARK:
        return replace(
            paper,
            why="The photograph is too dark to show lines: "
            "give it more light or a longer exposure and take it again.",
        )
    if fine.light > MOST_LIGHT:
        return replace(
            paper,
            why="Too much of the photograph is burnt out to white: "
            "take it again with a shorter exposure.",
        )
    looked = laid_lines(fine)
    raking = light == "raking"
    laid = looked.laid
    if laid is not None and laid.per_mm > sheet.px_per_mm - FINEST_PER_CM / 10:
        # Finer lines than the pixels can follow would look like just these.
        return replace(paper, why=_too_coarse(sheet.px_per_mm))
    near = None if laid is None else laid.angle_deg
    chains = chain_lines(
        fine.reduced(CHAINS_PX_PER_MM), raking, near, azimuth_deg if raking else None
    )
    if laid is not None:
        return _laid_paper(paper, laid, chains)
    return _without_laid(paper, chains, looked, sheet.px_per_mm)


def _refused(sheet: RectifiedSheet) -> str:
    scale = sheet.px_per_mm
    if not (math.isfinite(scale) and scale > 0 and sheet.width_mm > 0 and sheet.height_mm > 0):
        return (
            "The photograph has no scale, so nothing on it can be counted in millimetres: "
            "give the sheet's size and its four corners first."
        )
    if min(sheet.width_mm, sheet.height_mm) < SMALLEST_MM or min(sheet.pixels.shape[:2]) < 48:
        return (
            f"The sheet shown is smaller than {SMALLEST_MM:.0f} mm one way or has too few pixels: "
            "too few lines lie on it to be counted here. Count them under magnification."
        )
    return ""


def _too_coarse(px_per_mm: float) -> str:
    return (
        f"The photograph has {px_per_mm:.1f} pixels to a millimetre, too few for laid lines: at "
        f"least {WANTED_PX_PER_MM:.0f} are wanted, {GOOD_PX_PER_MM:.0f} or more are better. "
        "Photograph a part of the sheet from nearer."
    )


def _without_laid(paper: Paper, chains: Chains | None, looked: Looked, px_per_mm: float) -> Paper:
    """No laid lines stand out: why not."""
    if px_per_mm < WANTED_PX_PER_MM:
        return replace(paper, why=_too_coarse(px_per_mm))
    raking = paper.light == "raking"
    if raking and looked.fade < STEEPEST_FADE:
        return replace(paper, why=BLURRED)
    if chains is not None and _sure(paper, chains):
        return replace(_with_chains(paper, chains), why=ALONG if raking else CHAINS_ONLY)
    if not raking and looked.bend > MOST_BEND:
        return replace(paper, why=BLURRED)
    if min(paper.width_mm, paper.height_mm) < 2 * SMALLEST_MM:
        return replace(
            paper,
            why="No laid lines show, and the part of the sheet shown is too small to tell wove "
            f"paper from laid: photograph at least {2 * SMALLEST_MM:.0f} mm each way.",
        )
    if raking and _may_run_along_laid_lines(paper.azimuth_deg):
        return replace(paper, why=PERHAPS_ALONG)
    return replace(
        paper,
        make="wove",
        why="Neither laid lines nor chain lines show: wove paper, which has no lines to count.",
        chains_why="Wove paper has no chain lines.",
    )


BLURRED = (
    "The photograph is not sharp enough: even the texture of the paper is lost. "
    "Focus on the surface, steady the camera and take it again."
)
ALONG = (
    "Chain lines show but no laid lines: the light runs along the laid lines and does not show "
    "them. Move the lamp a quarter turn about the sheet, or use transmitted light."
)
PERHAPS_ALONG = (
    "Neither laid lines nor chain lines show. That may be wove paper, or laid lines that run along "
    "the light and do not show: take it again with the lamp at a slant to the sheet's edges, or "
    "use transmitted light."
)
CHAINS_ONLY = (
    "Chain lines show but no laid lines, so the photograph is not sharp enough to count them: "
    "focus on the sheet, come nearer and take it again."
)


def _may_run_along_laid_lines(azimuth_deg: float | None) -> bool:
    """Whether light from there would not show laid lines that lie as they mostly do: along an edge
    of the sheet, give or take a few degrees."""
    if azimuth_deg is None:
        return True
    from_edge = abs((azimuth_deg + 45) % 90 - 45)
    return from_edge < ALONG_EDGE_DEG


def _sure(paper: Paper, chains: Chains) -> bool:
    """Whether these are chain lines, where no laid lines confirm them."""
    least: tuple[tuple[float, int], ...] = COMB
    if paper.light == "raking":
        least = COMB_SQUARE if _square_to(paper.azimuth_deg, chains.angle_deg) else COMB_ASKEW
    return any(chains.comb >= comb and len(chains.lines) >= lines for comb, lines in least)


def _square_to(azimuth_deg: float | None, line_deg: float) -> bool:
    """Whether the light falls nearly square on lines of this direction, so along laid lines."""
    if azimuth_deg is None:
        return False
    return abs(math.sin(math.radians(azimuth_deg - line_deg))) > 0.97


def _laid_paper(paper: Paper, laid: Laid, chains: Chains | None) -> Paper:
    placing = _placing(paper)
    angle = math.radians(laid.angle_deg)
    share = placing.share_along((math.sin(angle), -math.cos(angle)))
    density = Measured(10 * laid.per_mm, 10 * math.hypot(laid.per_mm_u, laid.per_mm * share))
    turn = math.hypot(laid.angle_u_deg, placing.turn_deg())
    paper = replace(
        paper,
        make="laid",
        why=f"Laid lines were counted in {laid.windows} parts of the sheet.",
        laid_per_cm=density,
        laid_angle_deg=Measured(laid.angle_deg + 90, turn),
        overlay=laid_drawn(laid, paper.width_mm, paper.height_mm),
    )
    if chains is not None:
        return _with_chains(paper, chains)
    why = "No chain lines stand out clearly enough to be placed: add those you see."
    if paper.azimuth_deg is not None and not crosses(paper.azimuth_deg, laid.angle_deg):
        why = (
            "The light runs along the chain lines and does not show them: "
            "move the lamp a quarter turn about the sheet, or use transmitted light."
        )
    return replace(paper, chain_angle_deg=Measured(laid.angle_deg, turn), chains_why=why)


def _with_chains(paper: Paper, chains: Chains) -> Paper:
    turn = math.hypot(chains.angle_u_deg, _placing(paper).turn_deg())
    place = _placing(paper).offset_mm(chains.angle_deg, turn)
    lines = tuple(
        ChainLine(one.offset_mm, math.hypot(one.offset_u_mm, place), one.offset_u_mm)
        for one in chains.lines
    )
    return _reckoned(paper, lines, Measured(chains.angle_deg, turn))


def _reckoned(paper: Paper, lines: Sequence[ChainLine], angle: Measured) -> Paper:
    """The paper with these chain lines and all that follows from them."""
    ordered = tuple(sorted(lines, key=lambda line: line.offset_mm))
    placing = _placing(paper)
    intervals = intervals_of(ordered, angle.value, placing)
    mean, spread = mean_and_spread(intervals, angle.value, placing)
    size = (paper.width_mm, paper.height_mm)
    kept = tuple(one for one in paper.overlay if one.kind != "chain")
    return replace(
        paper,
        chains=ordered,
        chains_why="" if ordered else "No chain lines were marked.",
        chain_angle_deg=angle,
        intervals=intervals,
        mean_mm=mean,
        spread_mm=spread,
        overlay=kept + chain_drawn([line.offset_mm for line in ordered], angle.value, *size),
    )


def _placing(paper: Paper) -> Placing:
    return Placing(paper.corner_mm, paper.width_mm, paper.height_mm)


def corrected(
    paper: Paper,
    *,
    make: str | None = None,
    chains_mm: Sequence[float] | None = None,
    chain_angle_deg: float | None = None,
    laid_count: int | None = None,
    laid_over_mm: float | None = None,
) -> Paper:
    """The paper as a person puts it right; all that follows is reckoned anew.

    make             "laid", "wove" or "not measurable": what the person sees it is
    chains_mm        every chain line's offset, those kept, moved and added
    chain_angle_deg  needed with chains_mm when the picture told no direction
    laid_count, laid_over_mm  so many laid lines in so many mm, counted by hand

    Raises WrongCorrection with a sentence.
    """
    if make not in (None, "laid", "wove", "not measurable"):
        raise WrongCorrection("A paper is corrected to laid, to wove or to not measurable.")
    if make in ("wove", "not measurable"):
        is_wove = make == "wove"
        if chains_mm or laid_count:
            raise WrongCorrection(
                "Wove paper has neither laid lines nor chain lines to count."
                if is_wove
                else "A paper that is not measurable has no lines to count."
            )
        bare = Paper(
            make,
            "A person saw that this is wove paper."
            if is_wove
            else "A person saw that nothing can be counted here.",
            paper.light,
            paper.azimuth_deg,
            paper.width_mm,
            paper.height_mm,
            paper.corner_mm,
        )
        return replace(bare, chains_why="Wove paper has no chain lines." if is_wove else "")
    changed = paper
    if make == "laid" and paper.make != "laid":
        changed = replace(changed, make="laid", why="A person saw that this is laid paper.")
    if laid_count is not None or laid_over_mm is not None:
        changed = _counted_by_hand(changed, laid_count, laid_over_mm)
    if chains_mm is not None:
        changed = _chains_by_hand(changed, chains_mm, chain_angle_deg)
    return changed


def _counted_by_hand(paper: Paper, count: int | None, over_mm: float | None) -> Paper:
    if count is None or over_mm is None or count < 2 or not 2 <= over_mm <= 2000:
        raise WrongCorrection(
            "Give at least two laid lines and the stretch they were counted over, from 2 mm up."
        )
    density = 10 * count / over_mm
    if not 1 <= density <= 30:
        raise WrongCorrection(
            f"{count} lines in {over_mm:g} mm are {density:.1f} in a centimetre; laid lines lie "
            "between 1 and 30. Look at the count and the stretch again."
        )
    kept = tuple(one for one in paper.overlay if one.kind == "chain")
    return replace(
        paper,
        make="laid",
        why=f"A person counted {count} laid lines in {over_mm:g} mm.",
        laid_per_cm=Measured(density, density * COUNT_U / count),
        overlay=kept,
    )


def _chains_by_hand(
    paper: Paper, chains_mm: Sequence[float], chain_angle_deg: float | None
) -> Paper:
    angle = paper.chain_angle_deg
    if chain_angle_deg is not None:
        if not -45 <= chain_angle_deg < 135:
            raise WrongCorrection("Give the chain lines' direction from -45° up to 135°.")
        angle = Measured(chain_angle_deg, 0.5)
    if angle is None:
        raise WrongCorrection(
            "Say first which way the chain lines run: the picture did not tell it."
        )
    if not all(math.isfinite(offset) for offset in chains_mm):
        raise WrongCorrection("A chain line's distance must be a number of millimetres.")
    same_way = chain_angle_deg is None
    place = _placing(paper).offset_mm(angle.value, angle.u)
    lines = []
    for offset in chains_mm:
        near = [line for line in paper.chains if abs(line.offset_mm - offset) < 0.02]
        if near and same_way:
            lines.append(near[0])
        else:
            by_hand = math.hypot(BY_HAND_MM, place)
            lines.append(ChainLine(float(offset), by_hand, BY_HAND_MM, "person"))
    offsets = sorted(line.offset_mm for line in lines)
    if any(b - a < 1 for a, b in itertools.pairwise(offsets)):
        raise WrongCorrection("Two chain lines lie less than 1 mm apart: remove one of them.")
    made = (
        paper
        if paper.make == "laid" or not lines
        else replace(paper, make="laid", why="A person marked chain lines: laid paper.")
    )
    return _reckoned(made, lines, angle)
