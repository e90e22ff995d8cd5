"""How an examiner would lay a photograph on its sheet: by four corners, tapped with care."""

from typing import Any

import numpy as np

from survey.demo.museum.photographs import Picture
from survey.examination.models import Examination
from survey.imaging.geometry import from_corners, inverse, mapped

# Of one tap on a magnified picture, px. Common practice, no source.
TAP_PX = 0.6


def placing_of(
    picture: Picture, examination: Examination, random: np.random.Generator
) -> tuple[list[float], dict[str, Any]]:
    """The homography and the placing of a photograph, as a tablet would send them."""
    width, height = picture.truth["sheet_mm"]
    to_px = inverse(np.array(picture.truth["homography"]).reshape(3, 3))
    corners = mapped(to_px, [(0, 0), (width, 0), (width, height), (0, height)])
    tapped = np.round(corners + random.normal(0, TAP_PX, (4, 2)), 2)
    size = (
        float(examination.sheet_width_mm or width),
        float(examination.sheet_height_mm or height),
    )
    placed = from_corners(tapped, *size, examination.sheet_uncertainty_mm, TAP_PX)
    placing = {
        "kind": "corners",
        "points": tapped.tolist(),
        "size_mm": list(size),
        "mm_per_px": placed.mm_per_px,
        "uncertainty_mm": placed.uncertainty_mm,
    }
    return [float(number) for number in placed.matrix.reshape(-1)], placing
