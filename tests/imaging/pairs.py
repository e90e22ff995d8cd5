"""Two photographs of one rendered sheet, years apart: as it was, and with or without new damage."""

import io
import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from survey.demo.sheet.camera import held_by_hand, jpeg
from survey.demo.sheet.geometry import blob, curve, first_part
from survey.demo.sheet.noise import cloud, stream
from survey.demo.sheet.pen import MEDIA
from survey.demo.sheet.placing import place
from survey.demo.sheet.recipe import TONES, Drawing, Mark, SheetRecipe, Side
from survey.demo.sheet.render import build, render
from survey.demo.sheet.structure import Sheet, blurred
from survey.demo.sheet.subjects import SUBJECTS
from survey.demo.sheet.truth import truth_of
from survey.imaging.geometry import RectifiedSheet, mapped, rectify
from survey.imaging.opened import encoded, linear
from survey.imaging.outlines import apart_mm

PX_PER_MM = 4.0
DAMAGES = ("tear", "crease", "stain", "skinned", "flake")
BEFORE = ("foxing", "tideline", "handling-crease", "soft-fold", "local-stain", "hinge-residue")
LAMP_MM = 1400.0
# What grows, and the term that is drawn.
GROWING = {
    "tear": "tear",
    "crease": "handling-crease",
    "fold": "hard-fold",
    "stain": "local-stain",
    "glue": "adhesive-stain",
}
GROWING_AREAS = ("stain", "glue")

Pixels = NDArray[np.uint8]
Points = NDArray[np.float64]


@dataclass(frozen=True)
class Pair:
    """damage     one of DAMAGES, or "" when nothing happened to the sheet
    earlier    straightened by its corners
    later      the whole photograph, as it was taken
    outlines   of the new damage, sheet mm on the side seen
    """

    seed: int
    damage: str
    light: str
    earlier: RectifiedSheet
    later: Pixels
    outlines: tuple[Points, ...]

    def is_at(self, points: Points, reach_mm: float = 2.0) -> bool:
        """Whether an outline or line meets the new damage, or comes as near as ``reach_mm``."""
        return any(
            apart_mm(points.tolist(), outline.tolist()) < reach_mm for outline in self.outlines
        )


def pair(seed: int, damage: str = "", light: str | None = None) -> Pair:
    """The pair of this seed: the same each time."""
    random = stream(seed, "pair", damage)
    if light is None:
        light = "raking" if damage == "crease" or random.random() < 0.15 else "normal"
    size = float(random.uniform(110, 190)), float(random.uniform(110, 190))
    recipe = recipe_of(random, size)
    side: Side = "verso" if damage == "skinned" and random.random() < 0.3 else "recto"
    before = build(recipe, PX_PER_MM)
    new = damaged(random, before, damage, side)
    after = build(replace(recipe, marks=(*recipe.marks, *new)), PX_PER_MM) if new else before
    earlier, later, tapped = photographed_twice(random, before, after, light, side)
    outlines = tuple(
        mapped(tapped, np.array(seen))
        for seen in truth_of(after, side)["regions"][-len(new) :]
        for seen in [seen["seen_at_mm"]]
        if new
    )
    return Pair(seed, damage, light, earlier, later, outlines)


@dataclass(frozen=True)
class Grown:
    """A pair with the same damage twice, the second time as long or larger.

    damage        one of GROWING
    line          its axis, or its outline, as it is now: sheet mm of the earlier picture
    before, now   its length or, of a stain, its area in mm²
    """

    seed: int
    damage: str
    light: str
    earlier: RectifiedSheet
    later: Pixels
    points: Points
    was: Points
    before: float
    now: float

    @property
    def is_area(self) -> bool:
        return self.damage in GROWING_AREAS


def grown(seed: int, damage: str, share: float | None = None) -> Grown:
    """The pair of this seed. ``share``: of what is there now, what was there before, in length."""
    random = stream(seed, "grown", damage)
    size = float(random.uniform(90, 130)), float(random.uniform(90, 130))
    drawn = float(random.uniform(0.45, 0.9))
    share = share or drawn
    strength = float(random.uniform(0.5, 1.0))
    now = place(GROWING[damage], random, size, strength)[0]
    if damage == "fold":
        # From an edge inward, as a corner or a flap was bent.
        line = np.array(curve(now.points, 8))
        now = replace(now, points=as_points(cut(line, float(random.uniform(0.3, 0.7)))))
    points = np.array(now.points)
    if damage in GROWING_AREAS:
        middle = points.mean(axis=0)
        was = middle + math.sqrt(share) * (points - middle)
    elif damage == "crease":
        rest = (1 - share) * float(random.uniform(0.2, 0.8))
        was = cut(cut(points, rest + share)[::-1], share / (rest + share))[::-1]
    else:
        was = cut(points, share)
    recipe = recipe_of(random, size)
    light = "raking" if damage in ("crease", "fold") else "normal"
    sheets = [
        build(
            replace(recipe, marks=(*recipe.marks, replace(now, points=as_points(one)))), PX_PER_MM
        )
        for one in (was, points)
    ]
    earlier, later, tapped = photographed_twice(random, *sheets, light, now.side)
    seen = [mapped(tapped, one) for one in (was, points)]
    measure = area_of if damage in GROWING_AREAS else length_of
    sizes = [measure(one) for one in seen]
    return Grown(seed, damage, light, earlier, later, seen[1], seen[0], sizes[0], sizes[1])


def cut(line: Points, share: float) -> Points:
    return np.array(first_part(as_points(line), share))


def as_points(line: Points) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in line)


def length_of(line: Points) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def area_of(outline: Points) -> float:
    return float(cv2.contourArea(outline.astype(np.float32)))


def recipe_of(random: np.random.Generator, size: tuple[float, float]) -> SheetRecipe:
    """A sheet of (width, height) mm with a drawing and some old damage."""
    width, height = size
    edge = float(random.uniform(6, 18))
    marks: list[Mark] = []
    for term in random.choice(BEFORE, 2, replace=False):
        if random.random() < 0.6:
            marks += place(str(term), random, size, float(random.uniform(0.3, 0.9)))
    return SheetRecipe(
        seed=int(random.integers(2**31)),
        width_mm=width,
        height_mm=height,
        make="laid" if random.random() < 0.5 else "wove",
        tone=str(random.choice(sorted(TONES))),
        laid_per_cm=float(random.uniform(8, 12)),
        deckle=bool(random.random() < 0.3),
        drawing=Drawing(
            str(random.choice(sorted(SUBJECTS))),
            str(random.choice(sorted(MEDIA))),
            (edge, edge, width - edge, height - edge),
        ),
        marks=tuple(marks),
    )


def photographed_twice(
    random: np.random.Generator, before: Sheet, after: Sheet, light: str, side: Side
) -> tuple[RectifiedSheet, Pixels, NDArray[np.float64]]:
    """The earlier one straightened by tapped corners, the later one whole; and true mm to those
    of the earlier one, (3, 3)."""
    width, height = before.recipe.width_mm, before.recipe.height_mm
    azimuth = float(random.choice([0, 90, 180, 270]))
    first, to_mm = photograph(random, before, light, azimuth, side, curl_mm=0.0)
    second, _ = photograph(random, after, light, azimuth, side, curl_mm=float(random.uniform(0, 1)))
    taps = random.normal(0, 0.15, (4, 2))
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=np.float32)
    tapped = cv2.getPerspectiveTransform((corners + taps).astype(np.float32), corners)
    return rectify(first, tapped @ to_mm, width, height, PX_PER_MM), second, tapped


def damaged(random: np.random.Generator, sheet: Sheet, damage: str, side: Side) -> list[Mark]:
    size = (sheet.recipe.width_mm, sheet.recipe.height_mm)
    strength = float(random.uniform(0.45, 1.0))
    if damage == "":
        return []
    if damage == "tear":
        return place("tear", random, size, strength)
    if damage == "crease":
        term = "handling-crease" if random.random() < 0.6 else "hard-fold"
        return place(term, random, size, strength)
    if damage == "stain":
        term = "local-stain" if random.random() < 0.6 else "tideline"
        return place(term, random, size, strength)
    if damage == "skinned":
        made = place("skinned-area", random, size, strength)
        return [replace(mark, side=side) for mark in made]
    drawn = blurred(sheet.media["recto"].mean(axis=2), 1.5 * PX_PER_MM)
    inside = drawn[40:-40, 40:-40]
    thick = np.argwhere(inside > np.percentile(inside, 97))
    row, column = thick[int(random.integers(len(thick)))] + 40
    at = (float(column) / PX_PER_MM, float(row) / PX_PER_MM)
    outline = blob(random, at, float(random.uniform(1.5, 4.0)), 0.25)
    return [Mark("media-loss", outline, strength=float(random.uniform(0.75, 1.0)))]


def photograph(
    random: np.random.Generator,
    sheet: Sheet,
    light: str,
    azimuth_deg: float,
    side: Side,
    curl_mm: float,
) -> tuple[Pixels, NDArray[np.float64]]:
    """One photograph in its own light, from its own place; and its true pixels to mm.

    curl_mm  how far the sheet's curl carries places aside, where it is most
    """
    camera = replace(held_by_hand(random, 0.03), noise=0.0, blur_px=float(random.uniform(0.4, 0.9)))
    camera = replace(
        camera,
        exposure=float(random.uniform(0.75, 1.05)),
        unevenness=float(random.uniform(0.02, 0.3)),
    )
    elevation = float(random.uniform(8.5, 9.5)) if light == "raking" else None
    lamp = LAMP_MM if light == "raking" else None
    pixels = render(
        sheet,
        light,
        azimuth_deg=azimuth_deg,
        elevation_deg=elevation,
        side=side,
        camera=camera,
        lamp_mm=lamp,
    )
    seen = linear(pixels)
    rows, columns = seen.shape[:2]
    size = (columns / PX_PER_MM, rows / PX_PER_MM)
    shape = (rows, columns)
    shade = 1 + np.float32(random.uniform(0, 0.06)) * cloud(random, size, shape, 120.0)
    balance = random.uniform(0.93, 1.07, 3).astype(np.float32)
    seen = seen * shade[:, :, None] * balance
    if curl_mm:
        across, down = (
            np.float32(curl_mm * PX_PER_MM * 0.5) * cloud(random, size, shape, 90.0)
            for _ in range(2)
        )
        x, y = np.meshgrid(np.arange(columns, dtype=np.float32), np.arange(rows, dtype=np.float32))
        seen = cv2.remap(seen, x + across, y + down, cv2.INTER_CUBIC, None, cv2.BORDER_REPLICATE)
    noise = np.float32(random.uniform(0.004, 0.014))
    grain = random.standard_normal(seen.shape, dtype=np.float32)
    seen = seen + grain * np.sqrt(np.clip(seen, 0, 1) + 0.02) * noise
    file = io.BytesIO(jpeg(encoded(seen), PX_PER_MM, int(random.integers(80, 95))))
    shown = np.asarray(Image.open(file).convert("RGB"))
    return shown, np.array(truth_of(sheet, side, camera)["homography"]).reshape(3, 3)
