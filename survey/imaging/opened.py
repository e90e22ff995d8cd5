"""A photograph as numbers to measure on. The original is only read, never written."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from survey.imaging.decoded import decoded
from survey.imaging.inspect import (
    MOST_PIXELS,
    NotAnImage,
    decodable_format,
    header_size,
    moves,
)

Pixels = NDArray[np.uint8]
Plane = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Nothing on a sheet can be told from fewer pixels than this across.
FEWEST_PX = 32
# Weights of red, green and blue in luminance (ITU-R BT.709).
BT_709 = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)


class CannotRead(ValueError):
    """The photograph cannot be measured on. The message is a sentence for the person."""


@dataclass(frozen=True)
class Opened:
    """pixels  (rows, columns, 3) uint8, upright, sRGB
    scale   pixels here for each pixel of the upright original: 1 at full size, less when
            reduced; the same along both sides
    """

    pixels: Pixels
    scale: float


def read_picture(path: Path, longest_px: int | None = None) -> Opened:
    """Read a photograph at full size, or with its longer side at most ``longest_px`` pixels.

    Turned upright by its EXIF orientation; 16 bits, CMYK and colour profiles are brought to
    8-bit sRGB, and what is transparent is laid on neutral grey. A TIFF of several pages gives
    its first.

    Raises CannotRead with a sentence: not a photograph, a kept format that is not decoded
    (HEIC, camera raw), a moving picture, too small, more than 100 megapixels, or broken.
    Raises OSError when the file cannot be opened at all.
    """
    try:
        name = decodable_format(path)
    except NotAnImage as error:
        raise CannotRead(str(error)) from error
    size = header_size(path, name)
    if size is None:
        raise CannotRead(broken(name))
    width, height = size
    if width * height > MOST_PIXELS:
        raise CannotRead(
            f"This photograph has {width * height / 1e6:.0f} megapixels, more than the "
            f"{MOST_PIXELS / 1e6:.0f} that are read here. The original is kept; send a copy of at "
            f"most {MOST_PIXELS / 1e6:.0f} megapixels beside it to measure on."
        )
    if min(width, height) < FEWEST_PX:
        raise CannotRead(
            f"This picture is {width} × {height} pixels: too small to measure anything on. Send "
            "the photograph as the camera saved it."
        )
    try:
        moving = moves(path, name)
        image, scale = (None, 1.0) if moving else decoded(path, name, longest_px)
    except Exception as error:  # Decoders raise what they like on a broken file.
        raise CannotRead(broken(name)) from error
    if image is None:
        raise CannotRead(
            "This file holds a moving picture, and a sheet is measured on a still one. Save the "
            "frame that shows the sheet best as JPEG, PNG or TIFF and send that beside it."
        )
    return Opened(np.array(image), scale)


def broken(name: str) -> str:
    return (
        f"This {name} file is not whole, or is stored in a way that cannot be read. What came is "
        "kept; photograph the sheet again if you can."
    )


def linear(pixels: Pixels) -> Plane:
    """Linear light, 0…1, of 8-bit sRGB of any shape (IEC 61966-2-1)."""
    return _LINEAR[pixels]


def luminance(light: Plane) -> Plane:
    """(…, 3) linear red, green and blue to (…) relative luminance, by ITU-R BT.709."""
    return light @ BT_709


def encoded(light: Plane) -> Pixels:
    """Linear light of any shape to 8-bit sRGB; what lies beyond 0…1 is cut off."""
    return _CODED[(np.clip(light, 0, 1) * (len(_CODED) - 1)).astype(np.uint16)]


def _coded_table() -> Pixels:
    """The transfer function of IEC 61966-2-1 (sRGB), in 16,384 steps."""
    light = np.linspace(0, 1, 16_384)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(coded * 255).astype(np.uint8)


def _linear_table() -> Plane:
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


_LINEAR = _linear_table()
_CODED = _coded_table()
