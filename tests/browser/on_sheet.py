"""Photographs of a rendered sheet, and where on the screen a place of it is shown."""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from playwright.sync_api import Locator

from survey.demo.sheet.camera import held_by_hand, jpeg, mapped
from survey.demo.sheet.noise import stream
from survey.demo.sheet.recipe import Mark, SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of

WIDTH_MM, HEIGHT_MM = 120.0, 90.0
CORNERS_MM = [(0.0, 0.0), (WIDTH_MM, 0.0), (WIDTH_MM, HEIGHT_MM), (0.0, HEIGHT_MM)]
TEAR_MM = ((84.0, 90.0), (82.0, 78.0), (86.0, 66.0), (83.0, 55.0))
# As the panes have it: the sheet with a margin, and room for buttons where one aims.
MARGIN, FOOT_PX = 0.04, 64


@dataclass(frozen=True)
class Shot:
    """A photograph of the sheet: the JPEG, its size in pixels, pixels to mm of its side."""

    content: bytes
    width_px: int
    height_px: int
    homography: Any

    def pixel(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        return mapped(np.linalg.inv(self.homography), x_mm, y_mm)


@cache
def shots() -> dict[str, Shot]:
    """By light and side; the camera stood still between the lights of the recto."""
    recipe = SheetRecipe(
        seed=21, width_mm=WIDTH_MM, height_mm=HEIGHT_MM, marks=(Mark("tear", TEAR_MM),)
    )
    sheet = build(recipe, 8.0)
    made = {}
    for light, side in (("normal", "recto"), ("raking", "recto"), ("normal", "verso")):
        camera = held_by_hand(stream(5, side), tilt=0.03)
        pixels = render(sheet, light, azimuth_deg=15, side=side, camera=camera)  # type: ignore[arg-type]
        truth = truth_of(sheet, side, camera)  # type: ignore[arg-type]
        made[f"{light} {side}"] = Shot(
            jpeg(pixels, 8.0),
            pixels.shape[1],
            pixels.shape[0],
            np.array(truth["homography"]).reshape(3, 3),
        )
    return made


def on_screen(
    pane: Locator, whole: tuple[float, float], place: tuple[float, float], foot: float = FOOT_PX
) -> tuple[float, float]:
    """Where a pane that shows the whole (width, height) shows a place of it, in page pixels."""
    box = pane.bounding_box()
    assert box is not None
    height = box["height"] - foot
    scale = (1 - 2 * MARGIN) * min(box["width"] / whole[0], height / whole[1])
    return (
        box["x"] + box["width"] / 2 + (place[0] - whole[0] / 2) * scale,
        box["y"] + height / 2 + (place[1] - whole[1] / 2) * scale,
    )
