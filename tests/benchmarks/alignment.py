"""How well and how quickly photographs under different lights are laid on each other.

Run by hand:  .venv/bin/python -m tests.benchmarks.alignment [sheets]

Accuracy: random sheets with a drawing and marks, photographed under every light by a camera held
anew for each (tilt up to 5 % of the frame at each corner), with noise, blur, uneven light and
JPEG. The true error is the distance, over a 9 × 9 grid on the sheet, from where the renderer put
each place; it stands beside the residual that the alignment states of itself. Different sheets
are tried as well: each one taken for the same counts as a mistake. Bound: median 0.3 mm.

Speed: a pair of 12 megapixels. Peers in the same run: one warp of 12 megapixels by OpenCV, one
2-D Fourier transform of the same size by SciPy.
"""

import io
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import chain

import cv2
import numpy as np
from PIL import Image
from scipy import fft

from survey.demo.sheet.camera import held_by_hand, jpeg
from survey.demo.sheet.pen import MEDIA
from survey.demo.sheet.placing import place
from survey.demo.sheet.recipe import TONES, Drawing, SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.subjects import SUBJECTS
from survey.demo.sheet.truth import truth_of
from survey.imaging.align import NotAligned, align
from survey.imaging.geometry import inverse, mapped, mm_per_px

SHEETS = 6
PX_PER_MM = 4.2
BOUND_MM = 0.3
LAMP_MM = 1400.0
SHOTS = (
    ("normal", 0.0),
    ("raking", 270.0),
    ("raking", 0.0),
    ("transmitted", 0.0),
    ("specular", 90.0),
    ("ultraviolet", 0.0),
)
MARKS = ("foxing", "tideline", "handling-crease", "tear", "hard-fold", "cockling", "local-stain")
TWELVE = (3000, 4000)
TIMES = 5


@dataclass(frozen=True)
class Shot:
    pixels: np.ndarray
    to_mm: np.ndarray


def photographed(seed: int) -> tuple[SheetRecipe, list[Shot]]:
    """One random sheet under every light, in the order of SHOTS."""
    random = np.random.default_rng(seed)
    width, height = (float(side) for side in random.uniform(180, 320, 2))
    terms = random.choice(MARKS, 3, replace=False)
    strengths = random.uniform(0.3, 0.9, 3)
    marks = [
        mark
        for term, strength in zip(terms, strengths, strict=True)
        for mark in place(str(term), random, (width, height), float(strength))
    ]
    subject, medium = str(random.choice(list(SUBJECTS))), str(random.choice(list(MEDIA)))
    recipe = SheetRecipe(
        seed,
        width,
        height,
        make="laid" if random.random() < 0.5 else "wove",
        tone=str(random.choice(list(TONES))),
        laid_per_cm=float(random.uniform(8, 12)),
        deckle=bool(random.random() < 0.5),
        brightener=float(random.choice([0.0, 0.6])),
        drawing=Drawing(subject, medium, (15, 15, width - 15, height - 15)),
        marks=tuple(marks),
    )
    sheet = build(recipe, PX_PER_MM)
    shots = []
    for light, azimuth in SHOTS:
        camera = replace(
            held_by_hand(random, 0.05),
            blur_px=float(random.uniform(0.4, 1.2)),
            noise=float(random.uniform(0.006, 0.02)),
            unevenness=float(random.uniform(0.05, 0.4)),
            exposure=float(random.uniform(0.7, 1.1)),
        )
        lamp = LAMP_MM if light == "raking" else None
        pixels = render(sheet, light, azimuth_deg=azimuth, camera=camera, lamp_mm=lamp)
        shown = np.asarray(Image.open(io.BytesIO(jpeg(pixels, PX_PER_MM, 85))))
        truth = truth_of(sheet, "recto", camera)["homography"]
        shots.append(Shot(shown, np.array(truth).reshape(3, 3)))
    return recipe, shots


def true_errors(recipe: SheetRecipe, fixed: Shot, moving: Shot, found: np.ndarray) -> np.ndarray:
    across, down = np.meshgrid(
        np.linspace(0, recipe.width_mm, 9), np.linspace(0, recipe.height_mm, 9)
    )
    places = np.column_stack([across.ravel(), down.ravel()])
    landed = mapped(fixed.to_mm, mapped(found, mapped(inverse(moving.to_mm), places)))
    return np.linalg.norm(landed - places, axis=1)


def scale_of(shot: Shot) -> float:
    return mm_per_px(shot.to_mm, (shot.pixels.shape[1] / 2, shot.pixels.shape[0] / 2))


def accuracy(sheets: int) -> None:
    medians: dict[str, list[float]] = {}
    worst: dict[str, list[float]] = {}
    stated: dict[str, list[float]] = {}
    refused, mistaken, strangers = 0, 0, 0
    before: list[Shot] | None = None
    for seed in range(100, 100 + sheets):
        recipe, shots = photographed(seed)
        fixed = shots[0]
        for (light, _), moving in zip(SHOTS[1:], shots[1:], strict=True):
            try:
                found = align(fixed.pixels, moving.pixels, scale_of(fixed))
            except NotAligned:
                refused += 1
                print(f"  sheet {seed} under {light}: refused")
                continue
            off = true_errors(recipe, fixed, moving, found.matrix)
            medians.setdefault(light, []).append(float(np.median(off)))
            worst.setdefault(light, []).append(float(off.max()))
            stated.setdefault(light, []).append(found.residual_mm)
        for stranger in (before or [])[: len(SHOTS)]:
            strangers += 1
            try:
                size = fixed.pixels.shape[1::-1]
                align(fixed.pixels, cv2.resize(stranger.pixels, size), scale_of(fixed))
                mistaken += 1
            except NotAligned:
                pass
        before = shots
    print("light         n   true median   95 %    worst place 95 %   stated median (mm)")
    for light in [*medians, "all"]:
        rows = [
            list(chain(*one.values())) if light == "all" else one[light]
            for one in (medians, worst, stated)
        ]
        print(
            f"{light:12} {len(rows[0]):3}   {statistics.median(rows[0]):8.3f}   "
            f"{np.percentile(rows[0], 95):8.3f}   {np.percentile(rows[1], 95):10.3f}   "
            f"{statistics.median(rows[2]):12.3f}"
        )
    whole = statistics.median(chain(*medians.values()))
    print(f"median {whole:.3f} mm, bound {BOUND_MM} mm: {'kept' if whole < BOUND_MM else 'BROKEN'}")
    print(f"{refused} of the same sheet refused; {mistaken} of {strangers} strangers taken for it")


def timed(work: Callable[[], object]) -> float:
    """Median seconds of TIMES runs."""
    durations = []
    for _ in range(TIMES):
        began = time.perf_counter()
        work()
        durations.append(time.perf_counter() - began)
    return statistics.median(durations)


def speed() -> None:
    _, shots = photographed(100)
    size = TWELVE[::-1]
    fixed, moving = (cv2.resize(shots[at].pixels, size) for at in (0, 1))
    grey = fixed.mean(axis=2).astype(np.float32)
    turn = np.array([[1.01, 0.02, -9.0], [-0.01, 0.99, 7.0], [1e-6, 2e-6, 1.0]])
    ours = timed(lambda: align(fixed, moving, 0.08))
    warp = timed(lambda: cv2.warpPerspective(fixed, turn, size, flags=cv2.INTER_CUBIC))
    transform = timed(lambda: fft.rfft2(grey))
    print(f"12 megapixels, median of {TIMES}: aligned in {ours:.2f} s")
    print(f"  {ours / warp:.1f} × one warp by OpenCV ({warp * 1000:.0f} ms)")
    print(f"  {ours / transform:.1f} × one 2-D Fourier transform ({transform * 1000:.0f} ms)")


if __name__ == "__main__":
    accuracy(int(sys.argv[1]) if len(sys.argv) > 1 else SHEETS)
    speed()
