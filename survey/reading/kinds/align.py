"""Where each light lies on the photograph in normal light of the same side."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from survey.examination.models import Photograph
from survey.imaging.align import NotAligned, align
from survey.imaging.geometry import WrongPoints, mm_per_px
from survey.imaging.opened import CannotRead
from survey.reading.kinds.job import Found, Job, Kind, newest
from survey.reading.placement import as_numbers
from survey.reading.trouble import CannotAsk, NotRead

# Enough for a tenth of a millimetre on any sheet that a photograph shows whole.
LONGEST_PX = 3000


def choose(photographs: Sequence[Photograph], *_: Any) -> list[Photograph]:
    """The one in normal light, then all others."""
    normal = newest(photographs, "normal")
    if normal is None:
        raise CannotAsk(
            "This side has no photograph in normal light: the other lights are laid on that one."
        )
    others = [one for one in photographs if one.pk != normal.pk]
    if not others:
        raise CannotAsk("This side was photographed in normal light only: there is nothing to lay.")
    return [normal, *others]


def read(job: Job) -> Found:
    normal, *others = job.photographs
    job.say(0.0, "Opening the photograph in normal light")
    fixed = job.opened(normal, LONGEST_PX)
    middle = (fixed.pixels.shape[1] / 2 / fixed.scale, fixed.pixels.shape[0] / 2 / fixed.scale)
    scale = _mm_per_px(job, normal, middle) / fixed.scale
    found = []
    for number, one in enumerate(others):
        job.say(0.05 + 0.9 * number / len(others), f"Aligning {number + 1} of {len(others)}")
        found.append(_laid(job, normal, fixed, one, scale))
    laid = [one for one in found if one["matrix"] is not None]
    worst = max((one["residual_95_mm"] for one in laid), default=None)
    sentence = f"{len(laid)} of {len(others)} photographs lie on the one in normal light"
    sentence += f", 95 % of places within {worst:.2f} mm." if worst is not None else "."
    failed = [one for one in found if one["matrix"] is None]
    sentence += "".join(f" {one['sentence']}" for one in failed)
    return Found({"onto": str(normal.pk), "photographs": found}, sentence)


def _laid(
    job: Job, normal: Photograph, fixed: Any, moving: Photograph, scale: float
) -> dict[str, Any]:
    """One photograph's alignment, or the sentence why there is none."""
    told: dict[str, Any] = {
        "photograph": str(moving.pk),
        "onto": str(normal.pk),
        "light": moving.light,
        "matrix": None,
        "residual_mm": None,
        "residual_95_mm": None,
        "moved_mm": None,
        "sentence": "",
    }
    try:
        opened = job.opened(moving, LONGEST_PX)
        lies = align(fixed.pixels, opened.pixels, scale)
    except (NotAligned, CannotRead, NotRead) as error:
        return told | {"sentence": f"{moving.light.capitalize()} light: {error}"}
    to_full = np.diag([1 / fixed.scale, 1 / fixed.scale, 1.0])
    from_full = np.diag([opened.scale, opened.scale, 1.0])
    return told | {
        "matrix": as_numbers(to_full @ lies.matrix @ from_full),
        "residual_mm": lies.residual_mm,
        "residual_95_mm": lies.residual_95_mm,
        "moved_mm": lies.moved_mm,
        "inliers": lies.inliers,
    }


def _mm_per_px(job: Job, normal: Photograph, middle: tuple[float, float]) -> float:
    """Of the photograph in normal light at full size, by any photograph of the side that is
    placed: their frames are taken to be about alike."""
    lie = job.placed.get(normal.pk)
    if lie is None:
        lie = next((job.placed[one.pk] for one in job.photographs if one.pk in job.placed), None)
    if lie is None:
        raise NotRead("Nothing says how large the sheet is in a photograph: set its corners.")
    return mm_per_px(lie.matrix, middle)


KIND = Kind(version=1, choose=choose, read=read, troubles=(NotAligned, CannotRead, WrongPoints))
