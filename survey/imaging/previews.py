"""Small upright sRGB copies of photographs, for a screen. The original is never touched."""

import io
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


class Unreadable(NoPreview):
    """Not an image, or not whole."""


def make_preview(path: Path, longest_px: int) -> bytes:
    """A JPEG whose longer side has at most ``longest_px`` pixels.

    Upright and in sRGB (see ``decoded``). Nothing is enlarged. Raises TooLarge or Unreadable,
    OSError when the file cannot be opened at all.
    """
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
    try:
        small, _ = decoded(path, name, longest_px)
    except Exception as error:  # Decoders raise what they like on a broken file.
        raise Unreadable(
            "This photograph is not whole or is stored in a way that cannot be shown. The "
            "original is kept: download it to look at what came."
        ) from error
    return as_jpeg(small)


def as_jpeg(image: Image.Image) -> bytes:
    written = io.BytesIO()
    # Chroma in full: a red stamp on paper is small, and its edge is what one looks at.
    image.save(written, "JPEG", quality=JPEG_QUALITY, subsampling=0, exif=b"")
    return written.getvalue()
