"""Lines to draw over a picture, in sheet millimetres, that show what was counted."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from survey.imaging.laid import Laid

Point = tuple[float, float]

STRETCH_MM = 30.0
HALF_LINE_MM = 5.0


@dataclass(frozen=True)
class Drawn:
    """kind    "chain", "laid" (one of the lines counted) or "stretch" (over which they were)
    points  ends of a straight line, (x, y) in mm on the side seen
    label   words to stand beside it, or ""
    """

    kind: str
    points: tuple[Point, ...]
    label: str


def chain_drawn(
    offsets_mm: Sequence[float], angle_deg: float, width_mm: float, height_mm: float
) -> tuple[Drawn, ...]:
    """Each chain line from edge to edge, numbered from 1; none that misses the sheet."""
    angle = math.radians(angle_deg)
    normal, along = (math.cos(angle), math.sin(angle)), (-math.sin(angle), math.cos(angle))
    drawn = []
    for number, offset in enumerate(offsets_mm, start=1):
        start = offset * normal[0], offset * normal[1]
        ends = _within(start, along, width_mm, height_mm)
        if ends is not None:
            drawn.append(Drawn("chain", ends, str(number)))
    return tuple(drawn)


def laid_drawn(laid: Laid, width_mm: float, height_mm: float) -> tuple[Drawn, ...]:
    """The laid lines of a stretch of about STRETCH_MM where they show best, and the stretch."""
    angle = math.radians(laid.angle_deg)
    across, along = (math.sin(angle), -math.cos(angle)), (math.cos(angle), math.sin(angle))
    ends = _within(laid.clearest_mm, across, width_mm, height_mm)
    if ends is None:
        return ()
    # Near an edge the stretch goes further the other way.
    room = [
        (x - laid.clearest_mm[0]) * across[0] + (y - laid.clearest_mm[1]) * across[1]
        for x, y in ends
    ]
    low = max(room[0], min(-STRETCH_MM / 2, room[1] - STRETCH_MM))
    high = min(room[1], low + STRETCH_MM)
    first = math.ceil(low * laid.per_mm + laid.phase_turns)
    last = math.floor(high * laid.per_mm + laid.phase_turns)
    if last <= first:
        return ()

    def at(distance: float, aside: float = 0.0) -> Point:
        x = laid.clearest_mm[0] + distance * across[0] + aside * along[0]
        y = laid.clearest_mm[1] + distance * across[1] + aside * along[1]
        return min(max(x, 0.0), width_mm), min(max(y, 0.0), height_mm)

    places = [(turn - laid.phase_turns) / laid.per_mm for turn in range(first, last + 1)]
    half = 0.5 / laid.per_mm
    count = len(places)
    length = count / laid.per_mm
    stretch = Drawn(
        "stretch",
        (at(places[0] - half, HALF_LINE_MM), at(places[-1] + half, HALF_LINE_MM)),
        f"{count} lines in {length:.1f} mm",
    )
    lines = tuple(
        Drawn("laid", (at(place, -HALF_LINE_MM), at(place, HALF_LINE_MM)), "") for place in places
    )
    return (stretch, *lines)


def _within(
    start: Point, way: Point, width_mm: float, height_mm: float
) -> tuple[Point, Point] | None:
    """The part of a straight line through ``start`` that lies on the sheet."""
    low, high = -math.inf, math.inf
    for place, step, most in ((start[0], way[0], width_mm), (start[1], way[1], height_mm)):
        if abs(step) < 1e-12:
            if not 0 <= place <= most:
                return None
            continue
        one, other = sorted((-place / step, (most - place) / step))
        low, high = max(low, one), min(high, other)
    if low >= high:
        return None
    return (
        (start[0] + low * way[0], start[1] + low * way[1]),
        (start[0] + high * way[0], start[1] + high * way[1]),
    )
