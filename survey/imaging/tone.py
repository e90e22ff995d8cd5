"""The tone of a rectified sheet as the readings of its structure want it."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import RectifiedSheet

# Wanted of a picture before anything is read from it. Common practice, no source.
DARK_CODE, LIGHT_CODE = 12, 253


@dataclass(frozen=True)
class Tone:
    """Natural logarithm of luminance, so that paper under more or less light looks alike.

    values        float32 (rows, columns)
    px_per_mm     of ``values``, along columns and along rows
    own_px_per_mm of the picture it was made from
    dark, light   share of the picture that is too dark or too light to hold any detail
    """

    values: NDArray[np.float32]
    px_per_mm: float
    own_px_per_mm: float
    dark: float
    light: float

    def reduced(self, px_per_mm: float) -> "Tone":
        """At most ``px_per_mm``, by the mean over each pixel's area."""
        if px_per_mm >= self.px_per_mm:
            return self
        rows, columns = self.values.shape
        share = px_per_mm / self.px_per_mm
        size = (max(1, round(columns * share)), max(1, round(rows * share)))
        small = cv2.resize(self.values, size, interpolation=cv2.INTER_AREA)
        scale = self.px_per_mm * size[0] / columns
        return Tone(small.astype(np.float32), scale, self.own_px_per_mm, self.dark, self.light)


def tone_of(sheet: RectifiedSheet, most_px_per_mm: float) -> Tone:
    """The sheet's tone at its own resolution or, if that is finer, at ``most_px_per_mm``."""
    grey = cv2.cvtColor(sheet.pixels, cv2.COLOR_RGB2GRAY)
    counts = np.bincount(grey.reshape(-1)[::7], minlength=256)
    total = max(1, int(counts.sum()))
    tone = Tone(
        _log_table()[grey],
        sheet.px_per_mm,
        sheet.px_per_mm,
        float(counts[:DARK_CODE].sum()) / total,
        float(counts[LIGHT_CODE:].sum()) / total,
    )
    return tone.reduced(most_px_per_mm)


def _log_table() -> NDArray[np.float32]:
    """From a code of IEC 61966-2-1 (sRGB) to log light; a floor keeps black finite."""
    code = np.arange(256) / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    return np.log(light + 0.004).astype(np.float32)
