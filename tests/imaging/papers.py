"""Random sheets of paper, photographed and rectified as by hand, with the truth about each."""

import io
import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from survey.demo.sheet.camera import Camera, jpeg
from survey.demo.sheet.noise import stream
from survey.demo.sheet.pen import MEDIA
from survey.demo.sheet.placing import place
from survey.demo.sheet.recipe import TONES, Drawing, Mark, SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.subjects import SUBJECTS
from survey.demo.sheet.truth import truth_of
from survey.imaging.geometry import RectifiedSheet

STAINS = ("foxing", "tideline", "water-stain", "soft-fold", "handling-crease")

# Why a picture should be refused, and how each kind is made.
KINDS = ("measurable", "wove", "along", "blurred", "coarse")


@dataclass(frozen=True)
class Shot:
    """A rectified picture of a sheet.

    kind    measurable, or wove, or why nothing can be counted: "along" (raking light along
            the laid lines), "blurred", "coarse" (fewer than two pixels to a laid line)
    tap_mm  standard deviation of each coordinate of each corner that was tapped
    truth   as of ``truth_of``, but the chain lines are told on the side that is seen
    """

    seed: int
    kind: str
    light: str
    azimuth_deg: float | None
    sheet: RectifiedSheet
    tap_mm: float
    truth: dict[str, Any]


def rectified(
    pixels: NDArray[np.uint8],
    matrix: NDArray[np.float64],
    size_mm: tuple[float, float],
    px_per_mm: float,
) -> RectifiedSheet:
    """``matrix`` takes pixels (edges at whole numbers) to mm on the side seen."""
    columns, rows = round(size_mm[0] * px_per_mm), round(size_mm[1] * px_per_mm)
    half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    scale = np.diag([px_per_mm, px_per_mm, 1.0])
    straight = cv2.warpPerspective(
        pixels,
        half @ scale @ matrix @ np.linalg.inv(half),
        (columns, rows),
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return RectifiedSheet(straight, px_per_mm, *size_mm)


def mistapped(
    matrix: NDArray[np.float64],
    size_mm: tuple[float, float],
    tap_mm: float,
    random: np.random.Generator,
) -> NDArray[np.float64]:
    """``matrix`` as it comes out when each corner was tapped a little beside its place."""
    w, h = size_mm
    corners = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=np.float32)
    tapped = (corners + random.normal(0, tap_mm, (4, 2))).astype(np.float32)
    return cv2.getPerspectiveTransform(tapped, corners).astype(np.float64) @ matrix


def shot(seed: int, kind: str = "measurable", longest_mm: float = 260.0) -> Shot:
    """The picture of this seed and kind: the same each time."""
    random = stream(seed, "paper shot", kind)
    width, height = random.uniform(120, longest_mm), random.uniform(110, longest_mm)
    turn = 90.0 * random.integers(0, 2) + random.uniform(-4, 4)
    laid_per_cm = random.uniform(6, 14)
    ppm = random.uniform(3.8, 6.5)
    if kind == "coarse":
        ppm = laid_per_cm / 10 * random.uniform(1.2, 1.9)
    drawing = None
    if random.random() < 0.75:
        edge = random.uniform(4, 25)
        drawing = Drawing(
            str(random.choice(sorted(SUBJECTS))),
            str(random.choice(sorted(MEDIA))),
            (edge, edge, width - edge, height - edge),
        )
    marks: list[Mark] = []
    for term in random.choice(STAINS, 2, replace=False):
        if random.random() < 0.5:
            marks += place(str(term), random, (width, height), random.uniform(0.2, 0.9))
    recipe = SheetRecipe(
        seed=int(random.integers(2**31)),
        width_mm=width,
        height_mm=height,
        make="wove" if kind == "wove" else "laid",
        tone=str(random.choice(sorted(TONES))),
        thickness_mm=random.uniform(0.12, 0.24),
        chain_angle_deg=turn,
        laid_per_cm=laid_per_cm,
        chain_mm=random.uniform(18, 32),
        chain_jitter_mm=random.uniform(0.2, 0.9),
        chain_shadow=random.uniform(0, 1),
        relief=random.uniform(0.7, 1.3),
        mould_side="recto" if random.random() < 0.5 else "verso",
        drawing=drawing,
        marks=tuple(marks),
    )
    side = "verso" if random.random() < 0.3 else "recto"
    seen_turn = turn if side == "recto" else -turn
    light, azimuth = "transmitted", None
    if kind == "along" or random.random() < 0.5:
        light = "raking"
        # The lamp stands at one end of the chain lines, or at one end of the laid lines.
        off = random.uniform(-45, 45) if kind != "along" else 90 + random.uniform(-1, 1)
        azimuth = (seen_turn + 180 * random.integers(0, 2) + off) % 360
    blur_px = random.uniform(0.3, 0.8)
    if kind == "blurred":
        # The lines keep less than a two-hundredth of their contrast.
        blur_px = random.uniform(0.55, 0.8) / (laid_per_cm / 10) * ppm
    tilt = random.uniform(0, 0.04)
    camera = Camera(
        margin_mm=20.0,
        foot_mm=28.0,
        insets=tuple((float(a), float(b)) for a, b in random.uniform(0, tilt, (4, 2))),
        blur_px=blur_px,
        noise=random.uniform(0.003, 0.02),
        unevenness=random.uniform(0, 0.35),
        exposure=random.uniform(0.75, 1.1),
    )
    sheet = build(recipe, ppm)
    pixels = render(
        sheet,
        light,
        azimuth_deg=azimuth or 0.0,
        elevation_deg=random.uniform(6, 14) if light == "raking" else None,
        side=side,
        camera=camera,
        lamp_mm=random.uniform(900, 2500) if light == "raking" else None,
    )
    quality = int(random.integers(70, 93))
    pixels = np.asarray(Image.open(io.BytesIO(jpeg(pixels, ppm, quality))).convert("RGB"))
    truth = truth_of(sheet, side, camera)
    if side == "verso" and recipe.make == "laid":
        angle, offsets = seen_from_verso(truth["chain_offsets_mm"], turn, width)
        truth |= {"chain_angle_deg": angle, "chain_offsets_mm": offsets}
    tap_mm = random.uniform(0.05, 0.35)
    matrix = np.array(truth["homography"]).reshape(3, 3)
    matrix = mistapped(matrix, (width, height), tap_mm, random)
    seen = rectified(pixels, matrix, (width, height), ppm)
    return Shot(seed, kind, light, azimuth, seen, tap_mm, truth)


def seen_from_verso(
    offsets: list[float], angle_deg: float, width_mm: float
) -> tuple[float, list[float]]:
    """Chain lines of the recto, x cos a + y sin a = u, as they are told on the verso."""
    # x = width - x': -x' cos a + y sin a = u - width cos a, and turned round where a is small.
    moved = [u - width_mm * math.cos(math.radians(angle_deg)) for u in offsets]
    if abs(math.cos(math.radians(angle_deg))) > math.sqrt(0.5):
        return -angle_deg, sorted(-u for u in moved)
    return 180 - angle_deg, sorted(moved)
