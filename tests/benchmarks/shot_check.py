"""How often the tablet's check of a shot is right, on random rendered sheets.

Run by hand:  .venv/bin/python -m tests.benchmarks.shot_check [SHEETS [SEED]]
Ctrl+C ends it early and reports what was seen by then.

Each sheet, with its drawing or blank, is photographed under every light by a camera on a stand
or in the hand, with its own exposure, noise and JPEG quality: once as it should be, once out of
focus, once moved, once far too bright and once far too dark. Pictures are made at the 2,000 px
at which the check looks; there a pixel is two of a photograph of 12 million pixels, and blur is
told in those. Bounds: of good shots at most 2 % called bad; out of focus by a standard deviation
of 3 px or more found in 95 %; moved by 8 px or more found in 90 %.
"""

import io
import json
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from survey.demo.museum.rounds import CASES
from survey.demo.museum.sheets import sheet_of
from survey.demo.museum.works import works
from survey.demo.sheet.camera import Camera, held_by_hand
from survey.demo.sheet.light import LIGHTS
from survey.demo.sheet.render import build, render

ROOT = Path(__file__).resolve().parents[2]
CHECK = Path(__file__).with_suffix(".mjs")
SEED = 77
LOOKED_AT_PX = 2000
PER_LOOKED_AT_PX = 2

Light = NDArray[np.float32]


@dataclass(frozen=True)
class Shot:
    """A photograph taken.

    kind    good, blurred, moved, bright or dark
    amount  px of a photograph of 12 million, or the factor of exposure
    """

    name: str
    light: str
    kind: str
    amount: float


def sheets(random: np.random.Generator, count: int) -> Iterator[dict[str, Light]]:
    """Linear light of one sheet after the other under every light, as the lens gives it on."""
    collection = [work for work in works(SEED, 400) if work.subject]
    # A case is told for its own work: a watermark asked of wove paper has no place.
    cases = [case for case in CASES if not any("watermark" in told for told in case.seen)]
    for number in range(count):
        work = collection[int(random.integers(len(collection)))]
        case = cases[int(random.integers(len(cases)))]
        recipe, _ = sheet_of(number, work, case)
        if number % 4 == 0:
            recipe = replace(recipe, drawing=None)
        if number % 8 == 0:
            recipe = replace(recipe, marks=())
        camera = held_by_hand(random, 0.02) if number % 2 else Camera()
        exposure = float(random.uniform(0.8, 1.12))
        camera = replace(camera, blur_px=0, noise=0, exposure=exposure)
        frame_mm = max(
            recipe.width_mm + 2 * camera.margin_mm,
            recipe.height_mm + camera.margin_mm + camera.foot_mm,
        )
        sheet = build(recipe, LOOKED_AT_PX / frame_mm)
        azimuth = float(random.choice([0, 45, 270, 315]))
        yield {
            light: linear(render(sheet, light, azimuth_deg=azimuth, camera=camera))
            for light in LIGHTS
        }


def shots(random: np.random.Generator, light: Light) -> Iterator[tuple[str, float, bytes]]:
    """Kind, amount and JPEG file of each photograph of one view."""
    for kind in ("good", "blurred", "moved", "bright", "dark"):
        seen: Any = light
        amount = 0.0
        if kind == "blurred":
            amount = float(random.uniform(3, 8))
            seen = cv2.GaussianBlur(seen, (0, 0), amount / PER_LOOKED_AT_PX)
        elif kind == "moved":
            amount = float(random.uniform(8, 24))
            way = moved(amount / PER_LOOKED_AT_PX, float(random.uniform(0, np.pi)))
            seen = cv2.filter2D(seen, -1, way, borderType=cv2.BORDER_REFLECT)
        elif kind in ("bright", "dark"):
            amount = 4.0 if kind == "bright" else 1 / 32
            seen = seen * np.float32(amount)
        seen = cv2.GaussianBlur(seen, (0, 0), float(random.uniform(0.45, 0.75)))
        grain = random.standard_normal(seen.shape, dtype=np.float32)
        noise = np.float32(random.uniform(0.004, 0.012))
        seen = seen + grain * np.sqrt(np.clip(seen, 0, 1) + 0.02) * noise
        file = io.BytesIO()
        quality = int(random.integers(82, 96))
        Image.fromarray(coded(seen)).save(file, "JPEG", quality=quality)
        yield kind, amount, file.getvalue()


def moved(length_px: float, angle: float) -> Light:
    """The kernel of a straight, even motion."""
    reach = int(np.ceil(length_px / 2)) + 1
    kernel = np.zeros((2 * reach + 1, 2 * reach + 1), dtype=np.float32)
    for step in np.linspace(-length_px / 2, length_px / 2, 201):
        x, y = step * np.cos(angle), step * np.sin(angle)
        left, top = int(np.floor(x)), int(np.floor(y))
        right, low = x - left, y - top
        for across, down, share in (
            (0, 0, (1 - right) * (1 - low)),
            (1, 0, right * (1 - low)),
            (0, 1, (1 - right) * low),
            (1, 1, right * low),
        ):
            kernel[top + down + reach, left + across + reach] += share
    return kernel / kernel.sum()


def linear(pixels: NDArray[np.uint8]) -> Light:
    """Light from sRGB, after IEC 61966-2-1."""
    code = pixels.astype(np.float32) / 255
    light: Light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


def coded(light: Light) -> NDArray[np.uint8]:
    """sRGB from light, after IEC 61966-2-1."""
    clipped = np.clip(light, 0, 1)
    code = np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * clipped ** (1 / 2.4) - 0.055)
    return np.round(code * 255).astype(np.uint8)


def checked(folder: Path, taken: list[Shot]) -> list[dict[str, bool]]:
    """What the tablet's own check says of each."""
    (folder / "shots.json").write_text(json.dumps([[shot.name, shot.light] for shot in taken]))
    node = ROOT / ".venv/bin/node"
    answer = subprocess.run(
        [node, str(CHECK), str(folder)], check=True, capture_output=True, text=True
    )
    said: list[dict[str, bool]] = json.loads(answer.stdout)
    return said


def main(count: int = 25, seed: int = SEED) -> None:
    random = np.random.default_rng(seed)
    taken: list[Shot] = []
    said: list[dict[str, bool]] = []
    try:
        for number, views in enumerate(sheets(random, count), start=1):
            fresh, words = photographed(random, views)
            taken += fresh
            said += words
            print(f"\r{number} of {count} sheets", end="", file=sys.stderr, flush=True)
    except KeyboardInterrupt:
        print("\nEnded early.", file=sys.stderr)
    report(taken, said)


def photographed(
    random: np.random.Generator, views: dict[str, Light]
) -> tuple[list[Shot], list[dict[str, bool]]]:
    """One sheet's photographs, and what the check says of each."""
    with tempfile.TemporaryDirectory() as folder:
        taken = []
        for light, view in views.items():
            for kind, amount, content in shots(random, view):
                shot = Shot(f"{light}-{kind}", light, kind, amount)
                grey = Image.open(io.BytesIO(content)).convert("L")
                Image.fromarray(np.asarray(grey)).save(Path(folder) / f"{shot.name}.pgm")
                taken.append(shot)
        return taken, checked(Path(folder), taken)


def report(taken: list[Shot], said: list[dict[str, bool]]) -> None:
    right: Counter[str] = Counter()
    of: Counter[str] = Counter()
    for shot, words in zip(taken, said, strict=True):
        fine = words["sharp"] and words["exposed"]
        wrong = not words["exposed"] if shot.kind in ("bright", "dark") else not words["sharp"]
        of[shot.kind] += 1
        right[shot.kind] += not fine if shot.kind == "good" else wrong
        if shot.kind == "moved":
            right["named as motion"] += not words["steady"]
        if (shot.kind == "good" and not fine) or (shot.kind != "good" and not wrong):
            print(f"  wrong: {shot.name}, {shot.amount:.1f}: {words}")
    print(f"Good shots called bad: {right['good']} of {of['good']} (at most 2 %)")
    print(f"Out of focus, 3 to 8 px: {right['blurred']} of {of['blurred']} found (95 %)")
    print(f"Moved, 8 to 24 px: {right['moved']} of {of['moved']} found (90 %)")
    print(f"  of these named as motion: {right['named as motion']}")
    print(f"Two stops too bright: {right['bright']} of {of['bright']} found")
    print(f"Five stops too dark: {right['dark']} of {of['dark']} found")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
