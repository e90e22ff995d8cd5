"""The photographs of an examination: which, from where, and the rendering of them."""

import json
from dataclasses import dataclass
from typing import Any

from survey.demo.sheet.camera import Camera, held_by_hand, jpeg
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import SheetRecipe, Side
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of

# Where the lamp stands for the first, the second … raking photograph.
AZIMUTHS_DEG = (270.0, 0.0, 90.0, 180.0)
LAMP_MM = 1400.0


@dataclass(frozen=True)
class Shot:
    light: str
    side: Side = "recto"
    azimuth_deg: float | None = None

    @property
    def name(self) -> str:
        """For its file and its scale card: ``verso-raking-270``."""
        turned = "" if self.azimuth_deg is None else f"-{self.azimuth_deg:03.0f}"
        return f"{self.side}-{self.light}{turned}"


@dataclass(frozen=True)
class Sitting:
    """All photographs of one sheet. ``by_hand``: no copy stand was to be had."""

    accession_number: str
    recipe: SheetRecipe
    shots: tuple[Shot, ...]
    longest_px: int
    by_hand: bool


@dataclass(frozen=True)
class Picture:
    """A JPEG file, its size in pixels, and the truth about it (see ``truth_of``)."""

    shot: Shot
    content: bytes
    width_px: int
    height_px: int
    truth: dict[str, Any]


def shots_of(lights: str, with_verso: bool) -> tuple[Shot, ...]:
    """One shot a light; two of raking are two azimuths; the verso in normal light if asked."""
    raked = iter(AZIMUTHS_DEG)
    shots = [
        Shot(light, azimuth_deg=next(raked) if light == "raking" else None)
        for light in lights.split()
    ]
    return (*shots, Shot("normal", "verso")) if with_verso else tuple(shots)


def photograph(sitting: Sitting) -> list[Picture]:
    """Make the sheet once and photograph it. Slow: about half a second a picture."""
    recipe = sitting.recipe
    camera = Camera()
    if sitting.by_hand:
        camera = held_by_hand(stream(recipe.seed, "hands"), tilt=0.014)
    frame_mm = max(
        recipe.width_mm + 2 * camera.margin_mm,
        recipe.height_mm + camera.margin_mm + camera.foot_mm,
    )
    px_per_mm = round(sitting.longest_px / frame_mm, 3)
    sheet = build(recipe, px_per_mm)
    pictures = []
    for shot in sitting.shots:
        pixels = render(
            sheet,
            shot.light,
            azimuth_deg=shot.azimuth_deg if shot.azimuth_deg is not None else 0.0,
            side=shot.side,
            camera=camera,
            lamp_mm=LAMP_MM,
            label=f"{sitting.accession_number}  {shot.light}",
        )
        # By way of JSON, so that it is the same here as when it is read back from its file.
        truth = json.loads(json.dumps(truth_of(sheet, shot.side, camera)))
        height, width = pixels.shape[:2]
        pictures.append(Picture(shot, jpeg(pixels, px_per_mm), width, height, truth))
    return pictures
