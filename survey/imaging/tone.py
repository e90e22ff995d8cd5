"""The tone of a rectified sheet as the readings of its structure want it."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import RectifiedSheet

# Wanted of a picture before anything is read from it. Common practice, no source.
DARK_CODE, LIGHT_CODE = 12, 253
# A stroke: so many robust standard deviations darker than the paper within this distance.
STROKE_MM, STROKE_DARK = 3.0, 3.0


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

    def without_strokes(self) -> "Tone":
        """With all that is much darker than the paper about it replaced by that paper."""
        flat = self.values - _spread_out(self.values, self.px_per_mm)
        usual = 1.4826 * float(np.median(np.abs(flat[::3, ::3])))
        dark = (flat < -STROKE_DARK * usual).astype(np.uint8)
        paper = 1 - cv2.dilate(dark, np.ones((3, 3), np.uint8)).astype(np.float32)
        about = _spread_out(self.values * paper, self.px_per_mm)
        about /= _spread_out(paper, self.px_per_mm) + np.float32(0.01)
        return replace(self, values=np.where(paper > 0, self.values, about))


def _spread_out(field: NDArray[np.float32], px_per_mm: float) -> NDArray[np.float32]:
    """Blurred by STROKE_MM, at a resolution that suffices for it."""
    rows, columns = field.shape
    share = min(1.0, 2.0 / px_per_mm)
    size = (max(1, round(columns * share)), max(1, round(rows * share)))
    small = cv2.resize(field, size, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), STROKE_MM * px_per_mm * share)
    large = cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR)
    return large.astype(np.float32)


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
