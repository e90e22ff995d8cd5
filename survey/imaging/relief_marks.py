"""Marks that relief suggests: furrows, creases, folds, and the edges of plates.

The surface's curvature is summed along short straight pieces of line in many directions; each
direction is weighed against its own usual strength over the whole sheet. So what the sheet is
full of in one direction (laid lines, chain lines, a brush's streaks) is not proposed, and a
single line among them is. Suggestions only: a person decides what they are.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft2, rfft2
from scipy.sparse import coo_matrix, csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra, minimum_spanning_tree
from scipy.spatial import cKDTree

from survey.imaging.opened import Plane
from survey.imaging.rectified import resized, smooth, spread_of

Line = NDArray[np.float64]

# Breadths of line looked for, as standard deviations in mm: a ruled furrow, a crease, a fold.
BREADTHS_MM = (0.16, 0.6, 1.8)
# What is worked on has this many pixels to one such breadth.
PX_PER_BREADTH = 1.1
DIRECTIONS = 24
# Length of the piece of line that is summed, in breadths, but never shorter than told in mm.
PIECE_BREADTHS = 12.0
SHORTEST_PIECE_MM = 3.0
# Times the usual strength of that direction: to begin a line, and to carry it on.
STRONG, WEAK = 6.0, 3.0
SHORTEST_MM = 6.0
EDGE_MM = 2.5
MOST_MARKS = 60
# Two lines this near each other, over most of the shorter, are one seen at two breadths.
SAME_MM = 1.6
SHOULDER_BREADTHS = 3.2
# Two pieces are one line over a gap of this width, turning no more than this.
JOIN_MM = 8.0
JOIN_TURN_DEG = 9.0

# Patterns finer than lines of this breadth are held down, to this many times the usual power.
LAID_LINES_MM = 0.5
MOST_PATTERN = 30.0
RINGS = 64

POINT_MM = 0.4
# OpenCV's remap takes pictures of fewer than 32,768 pixels a side.
MOST_AT_ONCE = 30_000
# Share of a line's points at which the sheet must bend as it does at the others.
EVEN = 0.6
PROFILE_MM = 4.0
PROFILE_STEP_MM = 0.1
NARROW_MM = 0.9
# A line of the drawing shows beside its surround by this many robust standard deviations.
DRAWN_SHARE = 3.0

PLATE_SIDE_MM = 15.0
PLATE_COVERED = 0.5
SQUARE_DEG = 4.0
MOST_SIDES = 16

KINDS = {
    "furrow": "narrow furrow: it may be an incised line, a stylus line or a scratch",
    "ridge": "narrow ridge: it may be thick ink, an edge of torn fibre or a fine crease",
    "hollow": "crease or fold, sunk on this side",
    "roof": "crease or fold, raised on this side",
    "step": "step: it may be the edge of a plate mark, of a patch or of a hinge",
    "plate": "four steps in a rectangle: it may be a plate mark",
}


@dataclass(frozen=True)
class ReliefMark:
    """One suggestion.

    kind         a key of KINDS
    words        what it may be
    points       in sheet mm, of a line; a closed outline for a plate
    length_mm    of the line or outline, and length_u_mm its standard uncertainty
    strength     times the usual strength of lines in that direction; at most 99
    steepness    mean steepness of its slopes, degrees
    steep_known  False when the lamps' height was assumed
    drawn        True when a line of the drawing runs along it: it may be the drawing's own relief
    """

    kind: str
    words: str
    points: tuple[tuple[float, float], ...]
    length_mm: float
    length_u_mm: float
    strength: float
    steepness: float
    steep_known: bool
    drawn: bool


def marks_of(
    slope_x: Plane, slope_y: Plane, drawn: Plane | None, px_per_mm: float, steep_known: bool
) -> tuple[ReliefMark, ...]:
    """The marks in a field of slopes (dz/dx, dz/dy; y down), the plainest first.

    drawn  what the normal light shows of the drawing (``shifts.detail``), or None
    """
    found: list[tuple[float, float, Line]] = []
    for breadth in BREADTHS_MM:
        for strength, _, line in _joined(_lines(slope_x, slope_y, px_per_mm, breadth)):
            kept = _trimmed(strength, breadth, line, slope_x, slope_y, px_per_mm)
            if kept is not None:
                found.append((strength, breadth, kept))
    marks = [
        _described(strength, breadth, line, slope_x, slope_y, drawn, px_per_mm, steep_known)
        for strength, breadth, line in _without_twins(found)
    ]
    plates = _plates(marks, slope_x, slope_y, px_per_mm)
    for plate in plates:
        marks = [mark for mark in marks if not _beside(mark, np.array(plate.points))]
    marks.sort(key=lambda mark: (mark.drawn, -_plainness(mark.strength, np.array(mark.points))))
    return (*plates, *marks)[:MOST_MARKS]


def _piece_mm(breadth_mm: float) -> float:
    return max(PIECE_BREADTHS * breadth_mm, SHORTEST_PIECE_MM)


def _lines(
    slope_x: Plane, slope_y: Plane, px_per_mm: float, breadth_mm: float
) -> list[tuple[float, float, Line]]:
    """(strength, breadth, line in mm) of every line of about this breadth."""
    wanted = min(px_per_mm, PX_PER_BREADTH / breadth_mm)
    rows, columns = (max(8, round(side * wanted / px_per_mm)) for side in slope_x.shape)
    scale = px_per_mm * columns / slope_x.shape[1]
    sigma = breadth_mm * px_per_mm * 0.7
    right, down = (
        resized(smooth(slope, sigma) if sigma > 0.5 else slope, (rows, columns))
        for slope in (slope_x, slope_y)
    )
    if breadth_mm < LAID_LINES_MM:
        right, down = without_pattern(right), without_pattern(down)
    bend_xx = cv2.Sobel(right, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
    bend_yy = cv2.Sobel(down, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)
    bend_xy = 0.5 * (
        cv2.Sobel(right, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)
        + cv2.Sobel(down, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
    )
    piece = _piece_mm(breadth_mm) * scale
    edge = math.ceil(max(EDGE_MM, 2 * breadth_mm) * scale)
    best = np.zeros((rows, columns), dtype=np.float32)
    direction = np.zeros((rows, columns), dtype=np.int16)
    for index in range(DIRECTIONS):
        angle = math.pi * index / DIRECTIONS
        across_x, across_y = -math.sin(angle), math.cos(angle)
        bend = (
            np.float32(across_x**2) * bend_xx
            + np.float32(2 * across_x * across_y) * bend_xy
            + np.float32(across_y**2) * bend_yy
        )
        summed = cv2.filter2D(bend, -1, _piece_of_line(piece, angle), borderType=cv2.BORDER_REFLECT)
        usual = spread_of(summed[edge:-edge:2, edge:-edge:2])
        summed = np.asarray(summed / np.float32(max(usual, 1e-9)), dtype=np.float32)
        stronger = np.abs(summed) > np.abs(best)
        best[stronger] = summed[stronger]
        direction[stronger] = index
    best[:edge] = best[-edge:] = 0
    best[:, :edge] = best[:, -edge:] = 0
    return [(strength, breadth_mm, line) for strength, line in _traced(best, direction, scale)]


def without_pattern(field: Plane) -> Plane:
    """A field with its regular patterns held down: laid lines, and the weave of wove paper.

    A regular pattern gathers in a few frequencies. Those far stronger than is usual for waves of
    their length are brought down to ``MOST_PATTERN`` times that; a single line keeps nearly all.
    """
    rows, columns = field.shape
    spectrum = rfft2(field)
    power = np.abs(spectrum) ** 2
    power = cv2.GaussianBlur(power.astype(np.float32), (0, 0), 1.5)
    down = np.fft.fftfreq(rows)[:, None]
    along = np.fft.rfftfreq(columns)[None, :]
    ring = np.minimum(np.hypot(down, along) * 2 * RINGS, RINGS * 2 - 1).astype(int)
    order = np.argsort(ring, axis=None, kind="stable")
    edges = np.searchsorted(ring.ravel()[order], np.arange(2 * RINGS + 1))
    usual = np.array(
        [
            np.median(power.ravel()[order[start:end]]) if end > start else 0.0
            for start, end in itertools.pairwise(edges)
        ],
        dtype=np.float32,
    )
    gain = np.sqrt(np.minimum(1, MOST_PATTERN * usual[ring] / np.maximum(power, 1e-20)))
    return irfft2(spectrum * gain, s=field.shape).astype(np.float32)


def _piece_of_line(length_px: float, angle: float) -> Plane:
    """A straight stroke with soft ends, summing to 1."""
    reach = math.ceil(length_px / 2)
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1].astype(np.float32)
    along = x * math.cos(angle) + y * math.sin(angle)
    away = -x * math.sin(angle) + y * math.cos(angle)
    kernel = np.exp(-((away / 0.7) ** 2)) * np.exp(-((along / (0.45 * length_px)) ** 4))
    return (kernel / kernel.sum()).astype(np.float32)


def _traced(
    best: Plane, direction: NDArray[np.int16], px_per_mm: float
) -> list[tuple[float, Line]]:
    """Crests of ``best`` strung together where they lie side by side and run the same way."""
    rows, columns, places = _crests(best, direction)
    if rows.size == 0:
        return []
    pairs = cKDTree(places).query_pairs(2.9, output_type="ndarray")
    one, other = pairs[:, 0], pairs[:, 1]
    ways = direction[rows, columns].astype(int)
    strength = best[rows, columns]
    turn = np.abs(ways[one] - ways[other])
    alike = (np.minimum(turn, DIRECTIONS - turn) <= 2) & (strength[one] * strength[other] > 0)
    one, other = one[alike], other[alike]
    length = np.hypot(*(places[one] - places[other]).T) + 1e-3
    graph = coo_matrix((length, (one, other)), shape=(rows.size, rows.size)).tocsr()
    count, member = connected_components(graph, directed=False)
    tree = minimum_spanning_tree(graph)
    order = np.argsort(member, kind="stable")
    starts = np.searchsorted(member[order], np.arange(count + 1))
    lines = []
    for index in range(count):
        nodes = order[starts[index] : starts[index + 1]]
        if nodes.size < SHORTEST_MM * px_per_mm / 2 or np.abs(strength[nodes]).max() < STRONG:
            continue
        path = _longest_path(tree, nodes)
        line = (places[path] + 0.5) / px_per_mm
        if _length(line) >= SHORTEST_MM:
            lines.append((float(np.median(strength[path])), _simpler(line)))
    return lines


def _crests(best: Plane, direction: NDArray[np.int16]) -> tuple[NDArray, NDArray, NDArray]:
    """Where ``best`` is strong and strongest across its direction: rows, columns, places.

    Places are (x, y) in pixels, moved across to the top of the parabola through three values.
    """
    rows, columns = np.nonzero(np.abs(best) > WEAK)
    angle = math.pi * direction[rows, columns] / DIRECTIONS
    step = np.column_stack([-np.sin(angle), np.cos(angle)])
    here = np.abs(best[rows, columns])
    sign = np.sign(best[rows, columns])
    at = np.column_stack([columns, rows]).astype(float)
    before, after = (
        sign * _at(best, at + way * step) if here.size else here for way in (-1.0, 1.0)
    )
    crest = (here >= before) & (here > after)
    rows, columns, at, step = rows[crest], columns[crest], at[crest], step[crest]
    here, before, after = here[crest], before[crest], after[crest]
    bow = np.maximum(2 * here - before - after, 1e-6)
    off = np.clip(0.5 * (after - before) / bow, -0.5, 0.5)
    return rows, columns, at + off[:, None] * step


def _longest_path(tree: csr_matrix, nodes: NDArray[np.intp]) -> NDArray[np.intp]:
    """The longest way through a tree: out from anywhere, then out again from where that ended."""
    place = np.sort(nodes)
    within = tree[place][:, place]
    far = int(np.argmax(dijkstra(within, directed=False, indices=0)))
    distance, before = dijkstra(within, directed=False, indices=far, return_predecessors=True)
    path = [int(np.argmax(distance))]
    while before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    return place[path]


def _length(line: Line) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def _simpler(line: Line) -> Line:
    """Steps of the pixels smoothed away, then only the corners kept (Douglas and Peucker)."""
    kernel = np.hanning(9)[1:-1] / np.hanning(9).sum()
    if len(line) > 12:
        padded = np.pad(line, ((3, 3), (0, 0)), mode="reflect", reflect_type="odd")
        line = np.column_stack([np.convolve(padded[:, axis], kernel, "valid") for axis in (0, 1)])
    kept = cv2.approxPolyDP(line.astype(np.float32).reshape(-1, 1, 2), 0.25, False)
    return kept.reshape(-1, 2).astype(float)


def resampled(line: Line, step_mm: float) -> Line:
    """Points every ``step_mm`` along a line."""
    travelled = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    at = np.linspace(0, travelled[-1], max(2, round(travelled[-1] / step_mm)))
    return np.column_stack([np.interp(at, travelled, line[:, axis]) for axis in (0, 1)])


def _without_twins(found: list[tuple[float, float, Line]]) -> list[tuple[float, float, Line]]:
    """A place found twice, or the shoulders of a strong line, told once: as the plainest."""
    kept: list[tuple[float, float, Line]] = []
    trees: list[tuple[float, cKDTree]] = []
    for strength, breadth, line in sorted(found, key=lambda one: -_plainness(one[0], one[2])):
        points = resampled(line, 0.5)
        near = np.zeros(len(points), dtype=bool)
        for reach, tree in trees:
            within = max(SAME_MM, SHOULDER_BREADTHS * max(reach, breadth))
            near |= np.isfinite(tree.query(points, distance_upper_bound=within)[0])
        if near.mean() < 0.5:
            kept.append((strength, breadth, line))
            trees.append((breadth, cKDTree(points)))
    return kept


def _plainness(strength: float, line: Line) -> float:
    return abs(strength) * math.sqrt(_length(line))


def _joined(found: list[tuple[float, float, Line]]) -> list[tuple[float, float, Line]]:
    """Pieces of one line that another crosses, put together end to end, the longest first."""
    lines = sorted(found, key=lambda one: -_length(one[2]))
    while (pair := _next_to_join(lines)) is not None:
        i, j, line = pair
        one, other = lines[i], lines[j]
        weights = [_length(one[2]), _length(other[2])]
        strength = float(np.average([one[0], other[0]], weights=weights))
        lines[i] = (strength, one[1], line)
        del lines[j]
    return lines


def _next_to_join(lines: list[tuple[float, float, Line]]) -> tuple[int, int, Line] | None:
    if len(lines) < 2:
        return None
    ends = np.vstack([line[[0, -1]] for _, _, line in lines])
    near = cKDTree(ends).query_pairs(JOIN_MM, output_type="ndarray") // 2
    for i, j in sorted({(int(i), int(j)) for i, j in near if i != j}):
        if lines[i][0] * lines[j][0] > 0:
            line = _end_to_end(lines[i][2], lines[j][2])
            if line is not None:
                return i, j, line
    return None


def _end_to_end(one: Line, other: Line) -> Line | None:
    """The two as one line when an end of one points at an end of the other, near by."""
    for first in (one, one[::-1]):
        for second in (other, other[::-1]):
            gap = second[0] - first[-1]
            wide = float(np.hypot(*gap))
            if wide > JOIN_MM:
                continue
            out, on = first[-1] - _back(first), _back(second[::-1]) - second[0]
            ways = [out, on] if wide < 1.0 else [out, on, gap]
            turns = [_turn(a, b) for a, b in itertools.combinations(ways, 2)]
            if max(turns) < JOIN_TURN_DEG:
                return np.vstack([first, second])
    return None


def _back(line: Line) -> NDArray[np.float64]:
    """The place a few millimetres before the end of a line."""
    points = resampled(line, 0.5)
    return points[-min(len(points), 11)]


def _turn(one: NDArray, other: NDArray) -> float:
    cross, dot = one[0] * other[1] - one[1] * other[0], float(np.dot(one, other))
    return abs(math.degrees(math.atan2(cross, dot)))


def _at(plane: Plane, places: NDArray[np.float64]) -> Plane:
    """Values of a plane at (…, 2) places in pixels, whole numbers at pixels' middles."""
    flat = places.astype(np.float32).reshape(1, -1, 2)
    values = np.empty(flat.shape[1], dtype=np.float32)
    for start in range(0, values.size, MOST_AT_ONCE):
        part = slice(start, start + MOST_AT_ONCE)
        x, y = (np.ascontiguousarray(flat[:, part, axis]) for axis in (0, 1))
        values[part] = cv2.remap(plane, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return values.reshape(places.shape[:-1])


def _sampled(plane: Plane, places_mm: NDArray[np.float64], px_per_mm: float) -> Plane:
    return _at(plane, places_mm * px_per_mm - 0.5)


def across(line: Line, reach_mm: float, step_mm: float) -> tuple[NDArray, NDArray, NDArray]:
    """Places (points, offsets, 2) across a line, offsets in mm, and unit normals (points, 2)."""
    points = resampled(line, POINT_MM)
    along = np.gradient(points, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1])[:, None], 1e-9)
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    offsets = np.arange(-reach_mm, reach_mm + step_mm / 2, step_mm)
    return points[:, None] + offsets[None, :, None] * normal[:, None], offsets, normal


def _trimmed(
    strength: float, breadth: float, line: Line, slope_x: Plane, slope_y: Plane, px_per_mm: float
) -> Line | None:
    """The part of a line along which the sheet truly bends; None when it does so here and there.

    Summing along pieces of line draws a single dent out into lines, and lines beyond their ends.
    """
    sideways = _sideways(line, slope_x, slope_y, px_per_mm, 2 * breadth, breadth / 2)
    steps = sideways.shape[1]
    rise = sideways[:, steps // 2 :].mean(axis=1) - sideways[:, : (steps + 1) // 2].mean(axis=1)
    window = max(1, round(4 * breadth / POINT_MM))
    bend = np.convolve(rise * np.sign(strength), np.ones(window) / window, "same")
    strong = bend > 0.4 * np.percentile(bend, 70)
    if strong.mean() < EVEN:
        return None
    first, last = np.flatnonzero(strong)[[0, -1]]
    points = resampled(line, POINT_MM)[first : last + 1]
    if len(points) < 2 or _length(points) < SHORTEST_MM:
        return None
    kept = cv2.approxPolyDP(points.astype(np.float32).reshape(-1, 1, 2), 0.1, False)
    return kept.reshape(-1, 2).astype(float)


def _sideways(
    line: Line, slope_x: Plane, slope_y: Plane, px_per_mm: float, reach_mm: float, step_mm: float
) -> NDArray[np.float32]:
    """Slope across the line, at (points, offsets): positive where the sheet rises to the right."""
    places, _, normal = across(line, reach_mm, step_mm)
    return (
        _sampled(slope_x, places, px_per_mm) * normal[:, None, 0]
        + _sampled(slope_y, places, px_per_mm) * normal[:, None, 1]
    )


def _described(
    strength: float,
    breadth_mm: float,
    line: Line,
    slope_x: Plane,
    slope_y: Plane,
    drawn: Plane | None,
    px_per_mm: float,
    steep_known: bool,
) -> ReliefMark:
    places, offsets, _ = across(line, PROFILE_MM, PROFILE_STEP_MM)
    sideways = _sideways(line, slope_x, slope_y, px_per_mm, PROFILE_MM, PROFILE_STEP_MM)
    profile = np.median(sideways, axis=0)
    profile = profile - np.median(profile[np.abs(offsets) > 0.7 * PROFILE_MM])
    kind = _kind(profile, offsets, strength)
    if kind == "step":
        line = _on_its_slope(line, profile, offsets)
    steep = math.degrees(math.atan(float(np.abs(profile).max())))
    on_drawing = False
    if drawn is not None and kind in ("furrow", "ridge"):
        dark = np.median(_sampled(drawn, places, px_per_mm), axis=0)
        beside = dark[np.abs(offsets) > 1.0]
        dip = float(np.median(beside) - dark[np.abs(offsets) <= 0.5].min())
        on_drawing = dip > max(0.03, DRAWN_SHARE * spread_of(beside))
    return ReliefMark(
        kind,
        KINDS[kind],
        _told(line),
        round(_length(line), 1),
        # Either end lies somewhere in the last piece, evenly spread: its length / √12 (GUM 4.3.7).
        round(math.sqrt(2 / 12) * _piece_mm(breadth_mm), 1),
        round(min(abs(strength), 99.0), 1),
        round(steep, 1),
        steep_known,
        on_drawing,
    )


def _on_its_slope(line: Line, profile: NDArray, offsets: NDArray) -> Line:
    """A step's line moved from the bend at its head or foot to the middle of its slope."""
    near = np.abs(offsets) <= SAME_MM
    aside = float(np.average(offsets[near], weights=profile[near] ** 2 + 1e-12))
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1])[:, None], 1e-9)
    return line + aside * np.column_stack([-along[:, 1], along[:, 0]])


def _kind(profile: NDArray, offsets: NDArray, strength: float) -> str:
    """By the slopes across: down then up is sunk, up then down is raised, one way only a step."""
    near = np.abs(offsets) <= 2.0
    up, down = float(profile[near].clip(0).sum()), float((-profile[near]).clip(0).sum())
    if max(up, down) > 3.2 * min(up, down):
        return "step"
    height = np.cumsum(profile[near]) * np.sign(-strength)
    height = height - np.linspace(height[0], height[-1], height.size)
    narrow = (height > 0.5 * height.max()).sum() * PROFILE_STEP_MM < NARROW_MM
    if strength > 0:
        return "furrow" if narrow else "hollow"
    return "ridge" if narrow else "roof"


def _plates(
    marks: Sequence[ReliefMark], slope_x: Plane, slope_y: Plane, px_per_mm: float
) -> list[ReliefMark]:
    """The rectangle whose four sides are steps that all fall inwards: the largest, if any."""
    sides = [mark for mark in marks if mark.kind == "step" and mark.length_mm >= PLATE_SIDE_MM]
    chords = [np.array([mark.points[0], mark.points[-1]]) for mark in sides]
    straight = [
        chord
        for mark, chord in zip(sides, chords, strict=True)
        if _length(chord) > 0.95 * mark.length_mm
    ][:MOST_SIDES]
    if len(straight) < 4:
        return []
    tree = cKDTree(np.vstack([resampled(np.array(mark.points), 0.5) for mark in sides]))
    pairs = [
        pair for pair in itertools.combinations(straight, 2) if _way_between(*pair) < SQUARE_DEG
    ]
    found: list[tuple[float, Line]] = []
    for one, other in itertools.combinations(pairs, 2):
        if abs(_way_between(one[0], other[0]) - 90) > SQUARE_DEG:
            continue
        outline = np.array(
            [_meeting(one[i], other[j]) for i, j in ((0, 0), (0, 1), (1, 1), (1, 0))]
        )
        edges = [
            np.array([a, b]) for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True)
        ]
        if min(_length(edge) for edge in edges) < PLATE_SIDE_MM:
            continue
        covered = min(
            float((tree.query(resampled(edge, 1.0)[1:-1])[0] < SAME_MM).mean()) for edge in edges
        )
        middle = outline.mean(axis=0)
        if covered > PLATE_COVERED and all(
            _falls_towards(middle, edge, slope_x, slope_y, px_per_mm) for edge in edges
        ):
            found.append((covered * _length(edges[0]) * _length(edges[1]), outline))
    if not found:
        return []
    outline = max(found, key=lambda one: one[0])[1]
    made_of = [mark for mark in sides if _beside(mark, outline)]
    return [
        ReliefMark(
            "plate",
            KINDS["plate"],
            _told(outline),
            round(_length(np.vstack([outline, outline[:1]])), 1),
            # Of four edges each is sure to a point's step, and moves two sides.
            round(4 * POINT_MM, 1),
            max(mark.strength for mark in made_of),
            max(mark.steepness for mark in made_of),
            made_of[0].steep_known,
            False,
        )
    ]


def _falls_towards(
    middle: NDArray, edge: Line, slope_x: Plane, slope_y: Plane, px_per_mm: float
) -> bool:
    """Whether the sheet is lower on the side of ``edge`` where ``middle`` lies."""
    sideways = _sideways(edge, slope_x, slope_y, px_per_mm, SAME_MM, PROFILE_STEP_MM)
    rise = float(np.median(sideways, axis=0).sum())
    normal = across(edge, SAME_MM, PROFILE_STEP_MM)[2][0]
    return rise * float(np.dot(normal, middle - edge.mean(axis=0))) < 0


def _told(line: Line) -> tuple[tuple[float, float], ...]:
    """A line in hundredths of a millimetre: no eye or ruler tells more."""
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in line)


def _beside(mark: ReliefMark, outline: Line) -> bool:
    closed = resampled(np.vstack([outline, outline[:1]]), 0.5)
    away, _ = cKDTree(closed).query(resampled(np.array(mark.points), 1.0))
    return float(np.median(away)) < 2 * SAME_MM


def _way_between(one: Line, other: Line) -> float:
    """Angle between two straight lines, 0 to 90°."""
    turn = _turn(one[1] - one[0], other[1] - other[0])
    return min(turn, 180 - turn)


def _meeting(one: Line, other: Line) -> NDArray[np.float64]:
    """Where two straight lines cross, drawn on as far as need be."""
    a, b = one[1] - one[0], other[1] - other[0]
    along = np.linalg.solve(np.column_stack([a, -b]), other[0] - one[0])
    return one[0] + along[0] * a
