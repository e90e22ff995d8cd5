"""Small upright sRGB copies of photographs, for a screen. The original is never touched."""

import io
from collections.abc import Callable
from pathlib import Path

from PIL import ExifTags, Image, ImageFile

from survey.imaging.decoded import eight_bit, flattened, reduced, to_srgb, upright
from survey.imaging.inspect import (
    MOST_PIXELS,
    NotAnImage,
    decodable_format,
    header_size,
    open_image,
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
    return as_jpeg(_decoded(path, lambda image: reduced(image, longest_px)[0]))


def make_region(path: Path, box: tuple[int, int, int, int], longest_px: int) -> bytes:
    """A part of a picture as a JPEG whose longer side has at most ``longest_px`` pixels.

    box  left, top, right, bottom in pixels of the upright picture at full size

    Colours as those of :func:`make_preview`; nothing is enlarged. Raises OutsidePicture beside
    what that raises.
    """

    def whole(image: ImageFile.ImageFile) -> Image.Image:
        finest = longest_px / max(box[2] - box[0], box[3] - box[1])
        # A JPEG is decoded at a half, a quarter or an eighth when that is fine enough; its last
        # pixels then reach beyond the picture, which would shift one that is turned afterwards.
        if image.getexif().get(ExifTags.Base.Orientation, 1) == 1:
            image.draft(None, (round(image.width * finest), round(image.height * finest)))
        if image.mode not in ("L", "LA", "RGB", "RGBA", "CMYK"):
            return eight_bit(image)
        image.load()
        return image

    size: list[int] = []
    image = _decoded(path, whole, size)
    width, height = size if (size[0] > size[1]) == (image.width > image.height) else size[::-1]
    left, top, right, bottom = box
    if left < 0 or top < 0 or right > width or bottom > height:
        raise OutsidePicture(
            f"This part reaches beyond the photograph, which is {width} pixels wide and {height} "
            "high: ask for a part within it."
        )
    decoded_at = 1 / round(width / image.width)
    inside = (left * decoded_at, top * decoded_at, right * decoded_at, bottom * decoded_at)
    wide, high = inside[2] - inside[0], inside[3] - inside[1]
    ratio = min(1.0, longest_px / max(wide, high))
    wanted = (max(1, round(wide * ratio)), max(1, round(high * ratio)))
    return as_jpeg(image.resize(wanted, Image.Resampling.LANCZOS, box=inside))


def _decoded(
    path: Path, read: Callable[[ImageFile.ImageFile], Image.Image], size: list[int] | None = None
) -> Image.Image:
    """The picture as ``read`` takes it from the file: upright, in sRGB.

    size  is given its width and height as they are stored
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
        with open_image(path, name) as image:
            if size is not None:
                size.extend(image.size)
            taken = read(image)
            # Only now: a TIFF is turned upright as it is decoded.
            orientation = image.getexif().get(ExifTags.Base.Orientation)
            profile = image.info.get("icc_profile")
    except Exception as error:  # Decoders raise what they like on a broken file.
        raise Unreadable(
            "This photograph is not whole or is stored in a way that cannot be shown. The "
            "original is kept: download it to look at what came."
        ) from error
    return upright(to_srgb(flattened(taken), profile), orientation)


def as_jpeg(image: Image.Image) -> bytes:
    written = io.BytesIO()
    # Chroma in full: a red stamp on paper is small, and its edge is what one looks at.
    image.save(written, "JPEG", quality=JPEG_QUALITY, subsampling=0, exif=b"")
    return written.getvalue()
