"""Where on a sheet a thing usually is: hinges along the top edge, tears from an edge inward."""

import math
from collections.abc import Callable

import numpy as np

from survey.demo.sheet.geometry import (
    Point,
    Points,
    blob,
    clipped,
    curve,
    rectangle,
)
from survey.demo.sheet.recipe import Mark, Side

Size = tuple[float, float]
Placer = Callable[[np.random.Generator, Size, float], list[Points]]

VERSO_TERMS = frozenset(
    {
        *("hinge", "failed-hinge", "hinge-residue", "adhesive-residue", "patch", "mend", "lining"),
        *("skinned-area", "thinned-area", "label", "collectors-stamp", "inscription"),
        "brush-marks-from-drying",
    }
)


def place(term: str, random: np.random.Generator, size: Size, strength: float) -> list[Mark]:
    """The marks that ``term`` makes on a sheet of ``size`` (width, height in mm).

    Raises ValueError for a term that has no usual place.
    """
    if term not in PLACERS:
        raise ValueError(f"Nothing says where {term} goes: use one of {', '.join(PLACERS)}.")
    side: Side = "verso" if term in VERSO_TERMS else "recto"
    ridge = bool(random.random() < 0.6)
    return [
        Mark(term, clipped(_rounded(points), *size), side, strength, ridge)
        for points in PLACERS[term](random, size, strength)
    ]


def _rounded(points: Points) -> Points:
    """Coordinates to the hundredth of a millimetre: no eye or ruler tells more."""
    return tuple((round(float(x), 2), round(float(y), 2)) for x, y in points)


def _somewhere(random: np.random.Generator, size: Size, margin: float) -> Point:
    """A place at least ``margin`` (a share of the shorter edge) from every edge."""
    inward = margin * min(size)
    return random.uniform(inward, size[0] - inward), random.uniform(inward, size[1] - inward)


def _spot(share: float, margin: float = 0.12, roughness: float = 0.22) -> Placer:
    """An irregular patch whose radius is about ``share`` of the shorter edge."""

    def placed(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
        radius = share * min(size) * random.uniform(0.75, 1.2) * (0.7 + 0.5 * strength)
        return [blob(random, _somewhere(random, size, margin), radius, roughness)]

    return placed


def _whole(inset: float = 0.0) -> Placer:
    def placed(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
        d = inset * min(size)
        return [rectangle(d, d, size[0] - d, size[1] - d)]

    return placed


def _hinges(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    """Two along the top edge of the verso, nearly alike."""
    w, _ = size
    broad, deep = random.uniform(22, 34), random.uniform(10, 15)
    placed = []
    for share in (0.2, 0.8):
        middle, top = share * w + random.normal(0, 2), random.uniform(1.5, 4)
        placed.append(rectangle(middle - broad / 2, top, middle + broad / 2, top + deep))
    return placed


def _where_hinges_were(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    w, _ = size
    return [
        blob(random, (share * w, random.uniform(8, 14)), random.uniform(5, 8), 0.2)
        for share in (0.35 + random.normal(0, 0.02), 0.65 + random.normal(0, 0.02))
    ]


def _tears(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    w, h = size
    length = (8 + 42 * strength) * random.uniform(0.8, 1.1)
    edge = int(random.integers(4))
    along = random.uniform(0.2, 0.8)
    start, inward = (
        ((w * along, h), (0.0, -1.0)),
        ((w, h * along), (-1.0, 0.0)),
        ((0.0, h * along), (1.0, 0.0)),
        ((w * along, 0.0), (0.0, 1.0)),
    )[edge]
    lean = random.uniform(-0.5, 0.5)
    points = [start]
    for step in range(1, 7):
        run = length * step / 6
        drift = lean * run + random.normal(0, 0.025) * length
        points.append(
            (
                start[0] + inward[0] * run + inward[1] * drift,
                start[1] + inward[1] * run + inward[0] * drift,
            )
        )
    return [tuple(map(tuple, curve(points, 4)))]


def _losses(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    """A corner gone, or a bite from the bottom edge."""
    w, h = size
    reach = 6 + 22 * strength
    if random.random() < 0.6:
        right = random.random() < 0.5
        corner = (w if right else 0.0, h)
        inward = -1 if right else 1
        bay = [
            (corner[0] + inward * reach * random.uniform(0.9, 1.2), h),
            (
                corner[0] + inward * reach * random.uniform(0.6, 0.8),
                h - reach * random.uniform(0.2, 0.4),
            ),
            (
                corner[0] + inward * reach * random.uniform(0.2, 0.5),
                h - reach * random.uniform(0.5, 0.7),
            ),
            (corner[0], h - reach * random.uniform(0.8, 1.1)),
        ]
        ragged = [tuple(point) for point in curve(bay, 5)]
        return [(*ragged, corner)]
    middle = random.uniform(0.25, 0.75) * w
    return [blob(random, (middle, h), reach * 0.6, 0.3)]


def _thumb_creases(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    placed = []
    for _ in range(1 + int(strength > 0.5)):
        near_right = random.random() < 0.6
        x = size[0] * (random.uniform(0.78, 0.93) if near_right else random.uniform(0.07, 0.22))
        y = size[1] * random.uniform(0.3, 0.8)
        length, turn = random.uniform(12, 24) * (0.7 + 0.6 * strength), random.uniform(0, math.pi)
        bow = random.uniform(0.15, 0.3)
        points = [
            (
                x + length * (t * math.cos(turn) - bow * (1 - 4 * t * t) * math.sin(turn)),
                y + length * (t * math.sin(turn) + bow * (1 - 4 * t * t) * math.cos(turn)),
            )
            for t in np.linspace(-0.5, 0.5, 14)
        ]
        placed.append(tuple(points))
    return placed


def _folds(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    """Across the middle, the short way, as a sheet is folded to be sent or bound."""
    w, h = size
    off = random.normal(0, 0.02)
    if w >= h:
        x = w * (0.5 + off)
        return [((x, 0.0), (x + random.normal(0, 0.6), h / 2), (x + random.normal(0, 0.8), h))]
    y = h * (0.5 + off)
    return [((0.0, y), (w / 2, y + random.normal(0, 0.6)), (w, y + random.normal(0, 0.8)))]


def _scratches(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    x, y = _somewhere(random, size, 0.2)
    turn, length = random.uniform(0, math.pi), random.uniform(15, 50)
    ends = [
        (x + t * length * math.cos(turn), y + t * length * math.sin(turn)) for t in (-0.5, 0.1, 0.5)
    ]
    return [tuple(ends)]


def _water(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    """Water came in at a corner or along an edge."""
    w, h = size
    reach = (0.18 + 0.25 * strength) * min(size)
    front = [
        (float(x), h - reach * float(random.uniform(0.88, 1.04)))
        for x in np.linspace(0, w * random.uniform(0.35, 0.65), 8)
    ]
    last = front[-1][0]
    for right, up in ((0.28, 0.8), (0.46, 0.45), (0.52, 0.0)):
        front.append((last + right * reach, h - up * reach))
    line = [(float(x), float(y)) for x, y in curve(front, 8)]
    if random.random() < 0.5:
        line = [(w - x, y) for x, y in line]
        return [(*line, (w, h))]
    return [(*line, (0.0, h))]


def _window(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    """The opening of a mount: nearly the same margin all round."""
    w, h = size
    margin = random.uniform(0.045, 0.07) * min(size)
    shift = random.normal(0, 0.6, 4)
    return [
        rectangle(
            margin + shift[0], margin + shift[1], w - margin + shift[2], h - margin + shift[3]
        )
    ]


def _top_band(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    return [rectangle(0, 0, size[0], 0.3 * size[1])]


def _edge_band(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    w, h = size
    return [rectangle(0, h - 5, w, h)] if random.random() < 0.5 else [rectangle(w - 5, 0, w, h)]


def _corner(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    w, h = size
    reach = 10 + 16 * strength
    return [((w - reach, h), (w, h - reach * random.uniform(0.8, 1.1)), (w, h))]


def _pins(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    w, h = size
    return [
        blob(random, (x, y), 0.55, 0.1, 12)
        for x, y in ((6, 6), (w - 6, 6.5), (6.5, h - 6), (w - 6, h - 6))
    ]


def _holes(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    x, y = _somewhere(random, size, 0.15)
    return [
        blob(
            random,
            (x + random.normal(0, 9), y + random.normal(0, 9)),
            random.uniform(0.5, 1.1),
            0.15,
            14,
        )
        for _ in range(3)
    ]


def _tapes(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    x = random.uniform(0.3, 0.7) * size[0]
    return [rectangle(x - 9.5, 0, x + 9.5, 24 + 20 * strength)]


def _labels(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    x, y = random.uniform(0.1, 0.5) * size[0], random.uniform(0.55, 0.75) * size[1]
    return [rectangle(x, y, x + 44, y + 24)]


def _stamps(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    x, y = size[0] * random.uniform(0.08, 0.2), size[1] * random.uniform(0.8, 0.9)
    return [rectangle(x - 4.5, y - 4.5, x + 4.5, y + 4.5)]


def _notes(random: np.random.Generator, size: Size, strength: float) -> list[Points]:
    y = size[1] * random.uniform(0.88, 0.93)
    x = 0.1 * size[0]
    return [rectangle(x, y - 5, x + random.uniform(28, 48), y)]


PLACERS: dict[str, Placer] = {
    "hinge": _hinges,
    "failed-hinge": _hinges,
    "hinge-residue": _where_hinges_were,
    "adhesive-residue": _where_hinges_were,
    "skinned-area": _where_hinges_were,
    "thinned-area": _spot(0.10),
    "tear": _tears,
    "loss": _losses,
    "puncture": _spot(0.012, 0.2),
    "pinhole": _pins,
    "insect-hole": _holes,
    "handling-crease": _thumb_creases,
    "creasing": _thumb_creases,
    "soft-fold": _folds,
    "hard-fold": _folds,
    "turned-corner": _corner,
    "worn-edge": _edge_band,
    "cockling": _top_band,
    "planar-distortion": _whole(),
    "indentation": _spot(0.02),
    "scratch": _scratches,
    "abrasion": _spot(0.12),
    "surface-dirt": _whole(),
    "fingerprint": _spot(0.035, 0.06, 0.06),
    "overall-darkening": _whole(),
    "light-darkening": _window,
    "mat-burn": _window,
    "foxing": _spot(0.26, 0.2),
    "tideline": _water,
    "water-stain": _water,
    "local-stain": _spot(0.05),
    "oil-stain": _spot(0.045),
    "adhesive-stain": _where_hinges_were,
    "old-mould": _spot(0.12, 0.1),
    "active-mould": _spot(0.07, 0.1),
    "insect-grazing": _spot(0.13, 0.05),
    "flaking": _spot(0.16, 0.25),
    "media-loss": _spot(0.05, 0.25),
    "smudging": _spot(0.12, 0.25),
    "rubbed-media": _spot(0.12, 0.25),
    "offset": _whole(0.08),
    "fading": _window,
    "iron-gall-ink-corrosion": _whole(0.06),
    "tape": _tapes,
    "patch": _spot(0.07, 0.12, 0.1),
    "label": _labels,
    "mend": _spot(0.06, 0.1, 0.1),
    "lining": _whole(),
    "varnish": _whole(0.02),
    "fixative": _whole(0.04),
    "collectors-stamp": _stamps,
    "inscription": _notes,
    "brush-marks-from-drying": _whole(),
    "incised-lines": _whole(0.1),
}
