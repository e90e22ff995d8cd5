"""Chain lines: where they lie, by projection along their own direction.

The tone is projected along the chain lines in strips across the sheet, by the median, so that
strokes drop out; each strip's profile is filtered with the shape of a chain line; strips are
laid over each other, slid along the best slope; and the peaks that form an almost even comb are
taken. Projection along the lines is the established way to find them (Johnson, Sethares, Ellis,
Hinterding, van Leeuwen, van der Lubbe and others, Laid Paper Mold-Mate Identification via Chain
Line Pattern Matching of Beta-Radiographs of Rembrandt's Etchings, 2013, treats the pattern of
chain lines as the trait to be measured).

A chain line of offset u holds the points with x cos a + y sin a = u, where a, its direction,
is in degrees clockwise from upright, from -45 up to 135: u is its signed distance from the
origin of the side seen, in mm.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from survey.imaging.tone import Tone

Array = NDArray[np.float64]

WORK_PX_PER_MM = 4.0
STRIP_MM = 18.0
MOST_STRIPS = 24
# The shape of the filter: a chain line's breadth and the background beside it. From memory of
# twisted wire of about half a millimetre, its light spread in the sheet.
NARROW_MM, BROAD_MM = 0.33, 1.1
MARGIN_MM = 2.5
# Intervals looked for: "about 25 mm apart" (Roberts and Etherington, Bookbinding and the
# Conservation of Books, "chain lines"), with room on both sides.
CLOSEST_MM, WIDEST_MM = 12.0, 42.0
# How unlike one another intervals of one mould may be: standard deviation as a share.
UNEVEN = 0.09
TURN_DEG = 0.8
# Without laid lines to tell the direction: these from each edge, each as far as the next. Within a
# strip a line must not wander more than its own breadth.
SEARCH_DEG, SEARCH_TURN_DEG = (-5.0, -2.5, 0.0, 2.5, 5.0), 1.3
# A line must stand so many standard deviations out of the noise of its profile, and show in
# this share of the strips.
STANDS, SHOWS = 4.5, 0.55
SEEN_AGAIN_MM, SEEN_STANDS = 0.9, 1.5
# Wires were never quite straight: how far a line's mean place wanders. From memory.
WANDER_MM = 0.03
# Of raking light, the sine of the angle between light and line: less than 7° shows nothing.
LEAST_ACROSS = 0.12


@dataclass(frozen=True)
class Chain:
    """offset_mm  see the module; offset_u_mm its standard uncertainty from the scatter
    strength   standard deviations above the noise
    """

    offset_mm: float
    offset_u_mm: float
    strength: float


@dataclass(frozen=True)
class Chains:
    """lines in order of offset; ``comb`` is how many standard deviations they stand out
    together, for telling whether there are chain lines at all."""

    lines: list[Chain]
    angle_deg: float
    angle_u_deg: float
    comb: float


@dataclass(frozen=True)
class _Strips:
    """Profiles (strips, steps) across the chain lines of an assumed direction.

    along_mm   middle of each strip, along the lines from the middle of the sheet
    middle_mm  the middle of the sheet, along the lines from the sheet's origin
    start_mm   offset of the first step's middle, step_mm from one to the next
    valid      (strips, steps): whether the sheet is there
    """

    profiles: Array
    valid: NDArray[np.bool_]
    along_mm: Array
    middle_mm: float
    start_mm: float
    step_mm: float
    angle_deg: float


def chain_lines(
    tone: Tone, raking: bool, near_deg: float | None = None, azimuth_deg: float | None = None
) -> Chains | None:
    """The chain lines of a sheet, None when fewer than two stand out.

    near_deg     their direction as the laid lines tell it; None looks along both edges
    azimuth_deg  of raking light: it shows no lines that run along it
    """
    best: Chains | None = None
    if near_deg is not None:
        places = [(near_deg, TURN_DEG)]
    else:
        places = [(edge + away, SEARCH_TURN_DEG) for edge in (0.0, 90.0) for away in SEARCH_DEG]
    clean = tone.without_strokes()
    for angle, room in places:
        if azimuth_deg is not None and not crosses(azimuth_deg, angle):
            continue
        strips = _strips(clean, angle)
        for shape in _shapes(raking, near_deg is None and not raking):
            found = _read(strips, shape, room)
            if found is not None and (best is None or found.comb > best.comb):
                best = found
    return best


def crosses(azimuth_deg: float, line_deg: float) -> bool:
    """Whether light from there falls across lines of that direction and so shows them."""
    return abs(math.sin(math.radians(azimuth_deg - line_deg))) > LEAST_ACROSS


def _shapes(raking: bool, blurred: bool) -> list[tuple[bool, float, float]]:
    """(odd, sign, breadth): light through a thin line; or one slope lit, the other dark."""
    widths = (1.0, 1.8, 3.0) if blurred else (1.0, 1.8)
    signs = (1.0, -1.0) if raking else (1.0,)
    return [(raking, sign, width) for width in widths for sign in signs]


def _strips(tone: Tone, angle_deg: float) -> _Strips:
    rows, columns = tone.values.shape
    ppm = tone.px_per_mm
    angle = math.radians(angle_deg)
    normal = np.array([math.cos(angle), math.sin(angle)])
    along = np.array([-math.sin(angle), math.cos(angle)])
    corners = np.array([(x, y) for x in (0, columns) for y in (0, rows)]) / ppm
    middle = np.array([columns, rows]) / ppm / 2
    across_mm = corners @ normal
    length_mm = float(np.ptp(corners @ along))
    start = float(across_mm.min())
    steps = math.ceil(np.ptp(across_mm) * ppm)
    count = int(np.clip(round(length_mm / STRIP_MM), 3, MOST_STRIPS))
    deep = max(4, math.ceil(length_mm * ppm / count))
    first = float(middle @ along) - count * deep / ppm / 2
    # From (step, row) of the turned picture to (column, row) of the tone.
    turn = np.column_stack([normal, along])
    origin = (start * normal + first * along) * ppm
    shift = turn @ np.array([0.5, 0.5]) + origin - 0.5
    matrix = np.column_stack([turn, shift])
    size = (steps, count * deep)
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    turned = cv2.warpAffine(tone.values, matrix, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    inside = np.zeros((rows, columns), dtype=np.uint8)
    edge = max(1, round(MARGIN_MM * ppm))
    inside[edge : rows - edge, edge : columns - edge] = 1
    there = cv2.warpAffine(inside, matrix, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP)
    profiles = np.median(turned.reshape(count, deep, steps), axis=1).astype(np.float64)
    valid = there.reshape(count, deep, steps).mean(axis=1) > 0.7
    middles = ((np.arange(count) + 0.5 - count / 2) * deep / ppm).astype(np.float64)
    return _Strips(
        profiles, valid, middles, float(middle @ along), start + 0.5 / ppm, 1 / ppm, angle_deg
    )


def _filtered(strips: _Strips, shape: tuple[bool, float, float]) -> Array:
    """Each strip's profile through the line's shape, in its own robust standard deviations."""
    odd, sign, width = shape
    narrow, broad = (mm * width / strips.step_mm for mm in (NARROW_MM, BROAD_MM))
    out = np.zeros_like(strips.profiles)
    for profile, valid, row in zip(strips.profiles, strips.valid, out, strict=True):
        if valid.sum() < 4 * broad:
            continue
        steady = np.interp(np.arange(len(profile)), np.flatnonzero(valid), profile[valid])
        steady = steady - gaussian_filter1d(steady, 6 * broad)
        if odd:
            seen = -gaussian_filter1d(steady, narrow, order=1) * narrow
            seen = seen + gaussian_filter1d(steady, broad, order=1) * narrow
        else:
            seen = gaussian_filter1d(steady, narrow) - gaussian_filter1d(steady, broad)
        seen = sign * seen
        spread = 1.4826 * np.median(np.abs(seen[valid] - np.median(seen[valid]))) + 1e-9
        row[:] = np.where(valid, seen / spread, 0.0)
    return out


def _slid(seen: Array, strips: _Strips, turn_deg: float) -> Array:
    """The strips each slid to where it would lie had the lines turned by ``turn_deg``."""
    steps = np.arange(seen.shape[1])
    slope = math.tan(math.radians(turn_deg)) / strips.step_mm
    return np.array(
        [
            np.interp(steps - slope * along, steps, row, left=0, right=0)
            for along, row in zip(strips.along_mm, seen, strict=True)
        ]
    )


def _together(slid: Array, weight: Array) -> Array:
    """The strips' sum, in its own robust standard deviations."""
    total = slid.sum(axis=0) / np.sqrt(np.maximum(weight, 1.0))
    used = total[weight >= 2]
    if len(used) < 20:
        return np.zeros_like(total)
    spread = 1.4826 * np.median(np.abs(used - np.median(used))) + 1e-9
    return np.where(weight >= 2, total / max(spread, 0.35), 0.0)


def _read(strips: _Strips, shape: tuple[bool, float, float], room_deg: float) -> Chains | None:
    seen = _filtered(strips, shape)
    # No strip may shout down the others; but a line's place is told by the whole of its peak.
    held = np.clip(seen, -4, 6)
    weight = strips.valid.sum(axis=0).astype(np.float64)
    reach = max(float(np.abs(strips.along_mm).max()), 1.0)
    step = math.degrees(0.3 / reach)
    turns = np.arange(-room_deg, room_deg + step / 2, step)

    def sharpness(turn: float) -> float:
        return float(np.sum(np.maximum(_together(_slid(held, strips, turn), weight), 0) ** 4))

    values = np.array([sharpness(turn) for turn in turns])
    turn = float(turns[int(np.argmax(values))])
    total = _together(_slid(held, strips, turn), weight)
    peaks = _peaks(total, strips)
    chosen, _ = _comb(peaks)
    if len(chosen) < 2:
        return None
    return _settled(seen, strips, turn, chosen)


def _peaks(total: Array, strips: _Strips) -> list[tuple[float, float]]:
    """(offset from the first step in mm, strength) of every local maximum worth a look."""
    inner = total[1:-1]
    at = np.flatnonzero((inner > total[:-2]) & (inner >= total[2:]) & (inner > STANDS * 0.7)) + 1
    found = []
    for i in at:
        low, mid, high = total[i - 1 : i + 2]
        bend = low - 2 * mid + high
        shift = 0.5 * (low - high) / bend if bend < 0 else 0.0
        found.append(((i + shift) * strips.step_mm, float(mid)))
    return found


def _comb(peaks: list[tuple[float, float]]) -> tuple[list[tuple[float, float]], float]:
    """The chain of peaks that is strong and almost even; a tooth may be missing."""
    best: tuple[float, list[int]] = (0.0, [])
    place = np.array([p for p, _ in peaks])
    gain = np.minimum(np.array([s for _, s in peaks]), 14.0) - STANDS
    for mean in np.arange(CLOSEST_MM, WIDEST_MM, 0.5):
        score, back = gain.copy(), np.full(len(peaks), -1)
        for j in range(len(peaks)):
            for i in range(j):
                gap = place[j] - place[i]
                teeth = round(gap / mean)
                if not 1 <= teeth <= 3:
                    continue
                off = (gap / teeth - mean) / (UNEVEN * mean)
                if abs(off) > 2.8:
                    continue
                value = score[i] + gain[j] - 0.5 * off**2 - 4.0 * (teeth - 1)
                if value > score[j]:
                    score[j], back[j] = value, i
        if len(score) and score.max() > best[0]:
            order = [int(np.argmax(score))]
            while back[order[-1]] >= 0:
                order.append(int(back[order[-1]]))
            best = (float(score.max()), order[::-1])
    return [peaks[i] for i in best[1]], best[0]


def _settled(
    seen: Array, strips: _Strips, turn: float, chosen: list[tuple[float, float]]
) -> Chains | None:
    """Each line followed from strip to strip; one direction for all; offsets with their scatter."""
    slope = math.tan(math.radians(turn))
    reach = SEEN_AGAIN_MM / strips.step_mm
    places = np.full((len(chosen), len(strips.along_mm)), np.nan)
    weights = np.zeros_like(places)
    for row, (place, _) in enumerate(chosen):
        for strip, along in enumerate(strips.along_mm):
            expected = (place - slope * along) / strips.step_mm
            low, high = math.floor(expected - reach), math.ceil(expected + reach) + 1
            if low < 1 or high >= seen.shape[1] - 1:
                continue
            if not strips.valid[strip, low:high].all():
                continue
            part = seen[strip, low:high]
            i = int(np.argmax(part)) + low
            before, top, after = seen[strip, i - 1 : i + 2]
            bend = before - 2 * top + after
            shift = float(np.clip(0.5 * (before - after) / bend, -1, 1)) if bend < 0 else 0.0
            places[row, strip] = (i + shift) * strips.step_mm + slope * along
            weights[row, strip] = max(0.0, min(top, 6.0) - SEEN_STANDS)
    away = places - np.array([place for place, _ in chosen])[:, None]
    known = np.isfinite(places) & (weights > 0)
    if known.sum() < 4:
        return None
    along = np.broadcast_to(strips.along_mm, places.shape)
    tilt, tilt_u = _tilt(away, along, np.where(known, weights, 0.0))
    lines = []
    for row, (place, strength) in enumerate(chosen):
        could = np.isfinite(places[row])
        near = np.abs(away[row] - tilt * along[row]) < SEEN_AGAIN_MM * 0.7
        shows = known[row] & near
        if could.sum() < 2 or shows.sum() < max(2, SHOWS * could.sum()) or strength < STANDS:
            continue
        level = away[row, shows] - tilt * along[row, shows]
        middle, scatter = _robust_mean(level, weights[row, shows])
        # The normal's own turn is the tilt's; offsets are told from the sheet's origin.
        lines.append((place + middle, scatter, strength))
    # Without those that fell away, what is left must still be an even comb.
    kept, comb = _comb([(place, strength) for place, _, strength in lines])
    lines = [line for line in lines if (line[0], line[2]) in kept]
    if len(lines) < 2:
        return None
    angle = strips.angle_deg + turn - math.degrees(tilt)
    return _told(lines, strips, angle, math.degrees(tilt_u), comb)


def _tilt(away: Array, along: Array, weight: Array) -> tuple[float, float]:
    """Common slope of all lines about their own means (mm per mm), robustly, with its error."""
    residual, held, slope = away, weight.copy(), 0.0
    filled = np.where(np.isfinite(away), away, 0.0)
    error = 0.0
    for _ in range(5):
        sums = np.maximum(held.sum(axis=1, keepdims=True), 1e-9)
        x = along - (held * along).sum(axis=1, keepdims=True) / sums
        y = filled - (held * filled).sum(axis=1, keepdims=True) / sums
        power = max(float((held * x * x).sum()), 1e-9)
        slope = float((held * x * y).sum()) / power
        residual = y - slope * x
        spread = 1.4826 * float(np.median(np.abs(residual[weight > 0]))) + 0.02
        held = weight * np.minimum(1, 1.5 * spread / np.maximum(np.abs(residual), 1e-9))
        error = math.sqrt(float((held**2 * x * x * residual**2).sum())) / power
    return slope, error


def _robust_mean(values: Array, weight: Array) -> tuple[float, float]:
    """Huber's mean and its standard error."""
    middle = float(np.median(values))
    held = weight
    for _ in range(6):
        spread = 1.4826 * float(np.median(np.abs(values - middle))) + 0.02
        held = weight * np.minimum(1, 1.5 * spread / np.maximum(np.abs(values - middle), 1e-9))
        middle = float(np.average(values, weights=held))
    share = held / held.sum()
    several = 1 / float((share**2).sum())
    scatter = math.sqrt(float((share * (values - middle) ** 2).sum()))
    return middle, max(scatter, 0.05) / math.sqrt(max(1.0, several - 1))


def _told(
    lines: list[tuple[float, float, float]],
    strips: _Strips,
    angle_deg: float,
    angle_u_deg: float,
    comb: float,
) -> Chains:
    """Offsets from the sheet's origin along the final normal.

    A line's place was found where it crosses the middle of the strips; the point there is told
    along the turned normal.
    """
    old, new = math.radians(strips.angle_deg), math.radians(angle_deg)
    told = []
    for place, scatter, strength in lines:
        across = strips.start_mm + place
        point = across * np.array([math.cos(old), math.sin(old)])
        point = point + strips.middle_mm * np.array([-math.sin(old), math.cos(old)])
        offset = float(point @ np.array([math.cos(new), math.sin(new)]))
        told.append(Chain(offset, math.hypot(scatter, WANDER_MM), strength))
    turned = (angle_deg + 45) % 180 - 45
    if abs(turned - angle_deg) > 90:
        told = [Chain(-one.offset_mm, one.offset_u_mm, one.strength) for one in told]
    told.sort(key=lambda one: one.offset_mm)
    return Chains(told, turned, max(angle_u_deg, 0.02), comb)
