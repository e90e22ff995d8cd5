"""A line on a sheet, such as a tear or a crease, followed along its course and seen straightened.

The course is cut into cross sections; how a section looks on average is learnt from the part that
is known, and the line goes on where the next sections look like it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from survey.imaging.opened import Plane

Points = NDArray[np.float64]
Values = NDArray[np.float64]

# Sections lie so far apart, and have points so far apart, mm.
STEP_MM = 0.25
REACH_MM = 4.0
# Sections are weighed down beyond this: what lies further off is another thing.
NEAR_MM = 1.5
# How far a known line may run aside of itself, and what a step aside costs, in strengths.
ASIDE_MM = 1.0
MOST_SLANT, ONWARD_SLANT = 1.0, 0.25
# It is followed on in pieces, and each is looked at further than it is believed.
PIECE_MM, BELIEVED_MM, FAN_MM = 8.0, 5.0, 4.0
LONGEST_MM = 90.0
HEADING_MM = 5.0
# A piece that shows less than this share of the line's usual strength is not followed further, nor
# one that shows no more than this share of so many places about the sheet do.
GONE = 0.1
CHANCE, CHANCES = 0.9, 40
# The course's own wobble below this is of the following, not of the line, mm.
SMOOTH_MM = 1.0
# Beyond its ends, as much is looked at as is needed to see that it has ended, mm.
BEYOND_MM = 8.0
# A skeleton is made at this many pixels a mm.
AXIS_PX_PER_MM = 4.0


@dataclass(frozen=True)
class Course:
    """points   (n, 2) in sheet mm, STEP_MM apart
    first, last    of the sections, between which the line was known beforehand
    section     (k,) how a cross section of it looks, length 1
    """

    points: Points
    first: int
    last: int
    section: Values


def along(line: Points, step_mm: float = STEP_MM) -> Points:
    """The same line with points ``step_mm`` apart."""
    steps = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    places = np.arange(0, steps[-1] + step_mm / 2, step_mm)
    return np.column_stack([np.interp(places, steps, line[:, axis]) for axis in (0, 1)])


def length_of(line: Points) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def axis_of(outline: Points) -> tuple[Points, float]:
    """The middle line of a long outline, (n, 2), and the outline's mean breadth, mm.

    As long as the outline itself: what a skeleton lacks at its ends is put on.
    """
    from skimage.morphology import skeletonize  # It would slow down every start.

    low = outline.min(axis=0) - 1
    shape = np.ceil((outline.max(axis=0) + 1 - low) * AXIS_PX_PER_MM).astype(int)
    drawn = np.zeros((shape[1] + 1, shape[0] + 1), np.uint8)
    corners = np.round((outline - low) * AXIS_PX_PER_MM).astype(np.int32)
    cv2.fillPoly(drawn, [corners.reshape(-1, 1, 2)], 1)
    places = np.argwhere(skeletonize(drawn > 0))[:, ::-1]
    if len(places) < 3:
        spread = np.linalg.svd(outline - outline.mean(axis=0), full_matrices=False)[2][0]
        run = (outline - outline.mean(axis=0)) @ spread
        ends = outline.mean(axis=0) + np.outer([run.min(), run.max()], spread)
        return ends, float(drawn.sum()) / AXIS_PX_PER_MM**2 / max(float(np.ptp(run)), 0.1)
    path = _longest_path(places)
    line = low + (path + 0.0) / AXIS_PX_PER_MM
    smoothed = gaussian_filter1d(line, 2.0, axis=0, mode="nearest")
    breadth = float(drawn.sum()) / AXIS_PX_PER_MM**2 / max(length_of(smoothed), 0.1)
    # Near its ends a skeleton turns to the corners.
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(smoothed, axis=0).T))])
    turned = min(0.6 * breadth, 0.3 * run[-1])
    kept = smoothed[(run >= turned) & (run <= run[-1] - turned)]
    return _lengthened(kept, turned - 0.1 * breadth), breadth


def _longest_path(places: NDArray[np.int64]) -> Values:
    """The longest of the shortest ways through a skeleton's pixels."""
    number = {(int(x), int(y)): index for index, (x, y) in enumerate(places)}
    near = [(dx, dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1) if dx or dy]

    def ways(start: int) -> list[int]:
        before = [-1] * len(places)
        before[start] = start
        order = [start]
        for one in order:
            x, y = places[one]
            for dx, dy in near:
                other = number.get((int(x) + dx, int(y) + dy))
                if other is not None and before[other] < 0:
                    before[other] = one
                    order.append(other)
        return [*before, order[-1]]

    *_, one = ways(0)
    *before, other = ways(one)
    path = [other]
    while path[-1] != one:
        path.append(before[path[-1]])
    return places[path].astype(np.float64)


def _lengthened(line: Points, by_mm: float) -> Points:
    """The line carried straight on at its two ends."""
    return np.vstack(
        [line[0] + by_mm * _heading(line[::-1]), line, line[-1] + by_mm * _heading(line)]
    )


def _heading(line: Points) -> Points:
    """(2,): where the line goes at its end, of length 1; by its last HEADING_MM."""
    back = np.hypot(*(line - line[-1]).T)
    far = np.flatnonzero(back > HEADING_MM)
    start = line[far[-1]] if len(far) else line[0]
    away = line[-1] - start
    return np.asarray(away / max(float(np.hypot(*away)), 1e-9))


def sections(plane: Plane, points: Points, px_per_mm: float) -> Values:
    """(n, k): the plane across the course at each of its points, free of its median."""
    tangent = np.gradient(gaussian_filter1d(points, 2.0, axis=0, mode="nearest"), axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    across = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    offsets = np.arange(-REACH_MM, REACH_MM + STEP_MM / 2, STEP_MM)
    places = points[:, None, :] + offsets[None, :, None] * across[:, None, :]
    # OpenCV counts from the middle of the first pixel, we from its corner.
    at = (places * px_per_mm - 0.5).astype(np.float32)
    seen = cv2.remap(
        plane, at[:, :, 0], at[:, :, 1], cv2.INTER_LINEAR, None, cv2.BORDER_REPLICATE
    ).astype(np.float64)
    return seen - np.median(seen, axis=1, keepdims=True)


def section_of(seen: Values) -> Values:
    """How a cross section looks: the median of several, weighed down outward, of length 1."""
    offsets = np.linspace(-REACH_MM, REACH_MM, seen.shape[1])
    usual = np.median(seen, axis=0) * np.exp(-((offsets / NEAR_MM) ** 2) / 2)
    usual -= usual.mean()
    return np.asarray(usual / max(float(np.linalg.norm(usual)), 1e-9))


def likeness(seen: Values, section: Values) -> Values:
    """(n, k): how strongly the section is seen at each place across."""
    padded = np.pad(seen, ((0, 0), (len(section) // 2,) * 2), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(section), axis=1)
    return np.asarray(windows @ section)


def _best_run(score: Values, slant: float, start: int | None = None) -> NDArray[np.int64]:
    """(n,): the column in each row through which the score is highest in all; from a row to the
    next it moves by one column at most, at the cost of ``slant``."""
    rows, columns = score.shape
    total = score[0].copy()
    if start is not None:
        total = np.where(np.abs(np.arange(columns) - start) <= 3, total, -np.inf)
    came = np.zeros((rows, columns), dtype=np.int64)
    for row in range(1, rows):
        moves = np.full((3, columns), -np.inf)
        moves[1] = total
        moves[0, 1:] = total[:-1] - slant
        moves[2, :-1] = total[1:] - slant
        best = moves.argmax(axis=0)
        came[row] = np.arange(columns) + best - 1
        total = moves[best, np.arange(columns)] + score[row]
    run = np.empty(rows, dtype=np.int64)
    run[-1] = int(total.argmax())
    for row in range(rows - 1, 0, -1):
        run[row - 1] = came[row, run[row]]
    return run


def _moved(points: Points, aside: NDArray[Any]) -> Points:
    """The course moved aside, by steps of a section at each point."""
    tangent = np.gradient(gaussian_filter1d(points, 2.0, axis=0, mode="nearest"), axis=0)
    tangent /= np.maximum(np.hypot(*tangent.T), 1e-9)[:, None]
    across = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    by = gaussian_filter1d(aside * STEP_MM, SMOOTH_MM / STEP_MM, mode="nearest")
    return points + by[:, None] * across


def followed(
    lead: Plane,
    onward: Sequence[Sequence[Plane]],
    known: Points,
    size_mm: tuple[float, float],
    px_per_mm: float,
) -> Course:
    """The line's whole course, and BEYOND_MM further or to the sheet's edge at either end.

    lead     a plane, in logarithms of light, that shows the known part most plainly
    onward   it goes on where all planes of one of these show it
    known    a part of the line, (n, 2) in sheet mm, to within ASIDE_MM
    """
    points, section = _centred(lead, along(known), px_per_mm)
    seen = likeness(sections(lead, points, px_per_mm), section)
    middle, aside = seen.shape[1] // 2, round(ASIDE_MM / STEP_MM)
    usual = max(float(np.median(seen[:, middle])), 1e-9)
    run = _best_run(seen[:, middle - aside : middle + aside + 1], MOST_SLANT * usual)
    points, section = _centred(lead, along(_moved(points, run - aside)), px_per_mm)
    usual = float(np.median(sections(lead, points, px_per_mm) @ section))
    ways = [_Way(planes, section, usual, size_mm, px_per_mm) for planes in onward]
    ahead = _followed_on(ways, points, size_mm)
    for way in ways:
        way.section = section[::-1]
    back = _followed_on(ways, points[::-1], size_mm)
    whole = np.vstack([back[::-1], points, ahead])
    return Course(whole, len(back), len(back) + len(points) - 1, section)


def _centred(lead: Plane, points: Points, px_per_mm: float) -> tuple[Points, Values]:
    """The points moved aside to what is seen along them, and how a section of it looks."""
    section = section_of(sections(lead, points, px_per_mm))
    weight = section**2
    if not weight.any():
        return points, section
    off = float(weight @ np.arange(len(section)) / weight.sum()) - len(section) // 2
    points = along(_moved(points, np.full(len(points), off)))
    return points, section_of(sections(lead, points, px_per_mm))


class _Way:
    """How plainly some planes, all of them, show the line ahead."""

    def __init__(
        self,
        planes: Sequence[Plane],
        section: Values,
        usual: float,
        size_mm: tuple[float, float],
        px_per_mm: float,
    ) -> None:
        self.planes, self.section, self.px_per_mm = planes, section, px_per_mm
        self.usual = usual
        random = np.random.default_rng(0)
        shown = []
        for _ in range(CHANCES):
            start = random.uniform(0.1, 0.9, 2) * size_mm
            turn = random.uniform(0, 2 * np.pi)
            shown.append(self.ahead(start, np.array([np.cos(turn), np.sin(turn)]), usual)[1])
        # What a line that is not there seems to show, at best, on this sheet.
        self.least = max(float(np.quantile(shown, CHANCE)), GONE * usual, 1e-9)

    def ahead(self, start: Points, heading: Points, strength: float) -> tuple[Points, float]:
        """The best way on from there, and how plainly it is shown: see ``_ahead``."""
        return _ahead(self.planes, self.section, start, heading, strength, self.px_per_mm)


def _ahead(
    planes: Sequence[Plane],
    section: Values,
    start: Points,
    heading: Points,
    strength: float,
    px_per_mm: float,
) -> tuple[Points, float]:
    """The best way on from there for PIECE_MM, and how plainly its nearer part is shown."""
    steps = np.arange(1, round(PIECE_MM / STEP_MM) + 1)[:, None] * STEP_MM
    straight = start + steps * heading
    score = np.min(
        [likeness(sections(plane, straight, px_per_mm), section) for plane in planes], axis=0
    )
    middle, fan = score.shape[1] // 2, round(FAN_MM / STEP_MM)
    score = score[:, middle - fan : middle + fan + 1]
    run = _best_run(score, ONWARD_SLANT * strength, start=fan)
    aside = gaussian_filter1d((run - fan) * STEP_MM, SMOOTH_MM / STEP_MM, mode="nearest")
    across = np.array([-heading[1], heading[0]])
    believed = round(BELIEVED_MM / STEP_MM)
    shown = float(np.median(score[np.arange(believed), run[:believed]]))
    return (straight + aside[:, None] * across)[:believed], shown


def goes_on(
    plane: Plane, points: Points, section: Values, strength: float, px_per_mm: float
) -> float:
    """How strongly the plane shows the line beyond the last of the points, at best.

    strength  of the line up to there
    """
    return _ahead([plane], section, points[-1], _heading(points), strength, px_per_mm)[1]


def _followed_on(ways: Sequence[_Way], line: Points, size_mm: tuple[float, float]) -> Points:
    """(n, 2): the course beyond the last point, to where it has ended or the sheet does."""
    known = len(line)
    while (len(line) - known) * STEP_MM < LONGEST_MM:
        heading = _heading(line)
        found = [(*way.ahead(line[-1], heading, way.usual), way.least) for way in ways]
        piece, shown, least = max(found, key=lambda one: one[1] / one[2])
        has_ended = shown < least
        if has_ended:
            beyond = np.arange(1, round((BEYOND_MM - BELIEVED_MM) / STEP_MM) + 1)[:, None]
            piece = np.vstack([piece, piece[-1] + beyond * STEP_MM * heading])
        inside = ((piece > 0) & (piece < size_mm)).all(axis=1)
        piece = piece if inside.all() else piece[: int(inside.argmin())]
        line = np.vstack([line, piece])
        if has_ended or not inside.all():
            break
    return line[known:]
