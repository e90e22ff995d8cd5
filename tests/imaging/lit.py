"""Rectified photographs of rendered sheets, and the truth of their surface."""

import numpy as np

from survey.demo.sheet.camera import Camera, Pixels, frame_of
from survey.demo.sheet.light import normals
from survey.demo.sheet.noise import Field
from survey.demo.sheet.recipe import Side
from survey.demo.sheet.render import render
from survey.demo.sheet.structure import Sheet
from survey.imaging.geometry import RectifiedSheet


def lit(
    sheet: Sheet,
    light: str,
    azimuth_deg: float = 0.0,
    side: Side = "recto",
    camera: Camera | None = None,
    elevation_deg: float | None = None,
    lamp_mm: float | None = None,
) -> RectifiedSheet:
    """The sheet under a light, taken squarely and cut out at its edges."""
    camera = camera or Camera()
    assert camera.is_square
    pixels = render(
        sheet,
        light,
        azimuth_deg=azimuth_deg,
        elevation_deg=elevation_deg,
        side=side,
        camera=camera,
        lamp_mm=lamp_mm,
    )
    recipe = sheet.recipe
    frame = frame_of(
        (recipe.width_mm, recipe.height_mm), sheet.shape, sheet.px_per_mm, side, camera
    )
    rows, columns = sheet.shape
    cut = pixels[frame.top_px : frame.top_px + rows, frame.left_px : frame.left_px + columns]
    return as_sheet(cut, sheet)


def as_sheet(pixels: Pixels, sheet: Sheet) -> RectifiedSheet:
    recipe = sheet.recipe
    return RectifiedSheet(pixels, sheet.px_per_mm, recipe.width_mm, recipe.height_mm)


def shifted(picture: RectifiedSheet, right_px: int, down_px: int) -> RectifiedSheet:
    """As if the camera had moved between two photographs by whole pixels."""
    moved = np.roll(picture.pixels, (down_px, right_px), axis=(0, 1))
    return RectifiedSheet(moved, picture.px_per_mm, picture.width_mm, picture.height_mm)


def true_normals(sheet: Sheet) -> Field:
    """Unit normals of the recto, (rows, columns, 3)."""
    return np.stack(normals(sheet.height + sheet.relief["recto"], sheet.px_per_mm), axis=2)


def degrees_between(one: Field, other: Field) -> Field:
    cosine = np.clip(np.einsum("rci,rci->rc", one, other), -1, 1)
    return np.degrees(np.arccos(cosine))
