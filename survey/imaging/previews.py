"""Small upright sRGB copies of photographs, for a screen. The original is never touched."""

import io
import math
from pathlib import Path

from PIL import Image

from survey.imaging.decoded import decoded
from survey.imaging.inspect import (
    MOST_PIXELS,
    NotAnImage,
    decodable_format,
    header_size,
)

JPEG_QUALITY = 88


class NoPreview(Exception):
    """No preview can be made. The message is a sentence for the person."""


class TooLarge(NoPreview):
    """More pixels than are decoded."""


class OutsidePicture(NoPreview):
    """A part that the picture does not have."""


class Unreadable(NoPreview):
    """Not an image, or not whole."""


def make_preview(path: Path, longest_px: int) -> bytes:
    """A JPEG whose longer side has at most ``longest_px`` pixels.

    Upright and in sRGB (see ``decoded``). Nothing is enlarged. Raises TooLarge or Unreadable,
    OSError when the file cannot be opened at all.
    """
    name, _ = _told(path)
    small, _ = _decoded(path, name, longest_px)
    return as_jpeg(small)


def make_region(path: Path, box: tuple[int, int, int, int], longest_px: int) -> bytes:
    """A part of a picture as a JPEG whose longer side has at most ``longest_px`` pixels.

    box  left, top, right, bottom in pixels of the upright picture at full size

    Colours as those of :func:`make_preview`; nothing is enlarged. Raises OutsidePicture beside
    what that raises.
    """
    left, top, right, bottom = box
    ratio = min(1.0, longest_px / max(right - left, bottom - top))
    name, size = _told(path)
    image, scale = _decoded(path, name, max(1, math.ceil(max(size) * ratio)))
    width, height = size if (size[0] > size[1]) == (image.width > image.height) else size[::-1]
    if left < 0 or top < 0 or right > width or bottom > height:
        raise OutsidePicture(
            f"This part reaches beyond the photograph, which is {width} pixels wide and {height} "
            "high: ask for a part within it."
        )
    inside = (
        left * scale,
        top * scale,
        min(image.width, right * scale),
        min(image.height, bottom * scale),
    )
    wanted = (max(1, round((right - left) * ratio)), max(1, round((bottom - top) * ratio)))
    return as_jpeg(image.resize(wanted, Image.Resampling.LANCZOS, box=inside))


def _told(path: Path) -> tuple[str, tuple[int, int]]:
    """The format of a file that can be shown, and its width and height as stored."""
    try:
        name = decodable_format(path)
    except NotAnImage as error:
        raise Unreadable(str(error)) from error
    width, height = header_size(path, name) or (0, 0)
    if width * height > MOST_PIXELS:
        raise TooLarge(
            f"This photograph has {width * height / 1e6:.0f} megapixels, more than the "
            f"{MOST_PIXELS / 1e6:.0f} that are shown here. Download the original to look at it."
        )
    return name, (width, height)


def _decoded(path: Path, name: str, longest_px: int) -> tuple[Image.Image, float]:
    try:
        return decoded(path, name, longest_px)
    except Exception as error:  # Decoders raise what they like on a broken file.
        raise Unreadable(
            "This photograph is not whole or is stored in a way that cannot be shown. The "
            "original is kept: download it to look at what came."
        ) from error


def as_jpeg(image: Image.Image) -> bytes:
    written = io.BytesIO()
    # Chroma in full: a red stamp on paper is small, and its edge is what one looks at.
    image.save(written, "JPEG", quality=JPEG_QUALITY, subsampling=0, exif=b"")
    return written.getvalue()
