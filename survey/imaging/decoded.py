"""A photograph's file as an upright picture in sRGB, 8 bits a channel. The file is only read."""

import io
import math
from pathlib import Path

import numpy as np
from PIL import ExifTags, Image, ImageCms, ImageFile, ImageOps

from survey.imaging.inspect import format_of, open_image

# What shows through where a picture is transparent: the neutral grey that surrounds it too.
GROUND = (128, 128, 128)
WHITE_16_BIT = 65535
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
# EXIF orientations that lie on their side.
SIDEWAYS = {5, 6, 7, 8}
# A picture is shrunk to this many times the wanted size by the quickest means, then well.
REDUCING_GAP = 3


def decoded(path: Path, name: str, longest_px: int | None) -> tuple[Image.Image, float]:
    """The first frame as RGB, and its pixels per upright pixel of the original (1 at most).

    Turned upright by the EXIF orientation, converted to sRGB from an embedded colour profile
    (relative colorimetric, as ISO 15076-1 has it), 8 bits a channel, transparency laid on
    neutral grey. The longer side has at most ``longest_px`` pixels; nothing is enlarged.

    ``name`` is a key of ``inspect.FORMATS``. Whoever calls has looked at the size first. Raises
    whatever the decoder raises on a broken file.
    """
    with open_image(path, name) as image:
        small, scale = reduced(image, longest_px)
        # Only now: a TIFF is turned upright as it is decoded.
        orientation = image.getexif().get(ExifTags.Base.Orientation)
        profile = image.info.get("icc_profile")
    return upright(to_srgb(flattened(small), profile), orientation), scale


def upright_size(path: Path) -> tuple[int, int] | None:
    """(width, height) in pixels once turned upright; None when it cannot be read."""
    try:
        with open_image(path, format_of(path)) as image:
            width, height = image.size
            orientation = image.getexif().get(ExifTags.Base.Orientation, 1)
            # A TIFF tells its size as turned already.
            is_turned = orientation in SIDEWAYS and image.format != "TIFF"
    except Exception:  # Decoders raise what they like on a broken file.
        return None
    return (height, width) if is_turned else (width, height)


def reduced(image: ImageFile.ImageFile, longest_px: int | None) -> tuple[Image.Image, float]:
    """The picture at the wanted size. A JPEG is decoded at a fraction of its scale at once.

    The scale is the same along both sides to the last digit: of the shorter side, less than one
    pixel of the small picture is left out at its end.
    """
    width, height = image.size
    scale = min(1.0, longest_px / max(width, height)) if longest_px else 1.0
    size = tuple(max(1, math.floor(side * scale + 1e-9)) for side in (width, height))
    wide, high = size
    shrunk = 1.0
    if scale < 1:
        drafted = image.draft(None, (wide * REDUCING_GAP, high * REDUCING_GAP))
        if drafted is not None:
            shrunk = drafted[1][2] / width
    image.load()
    whole: Image.Image = image
    if whole.mode not in ("L", "LA", "RGB", "RGBA", "CMYK"):
        whole = eight_bit(whole)
    if scale == 1:
        return whole, scale
    box = (
        0,
        0,
        min(whole.width, wide / scale * shrunk),
        min(whole.height, high / scale * shrunk),
    )
    small = whole.resize((wide, high), Image.Resampling.LANCZOS, box=box, reducing_gap=REDUCING_GAP)
    return small, scale


def eight_bit(image: Image.Image) -> Image.Image:
    """Deep greys scaled to 8 bits; palettes and rarer kinds of colour as RGB."""
    if not image.mode.startswith(("I", "F")):
        has_alpha = "transparency" in image.info or image.mode in ("PA", "La", "RGBa")
        return image.convert("RGBA" if has_alpha else "RGB")
    grey = np.nan_to_num(np.asarray(image, dtype=np.float32))
    white = 1.0 if image.mode == "F" else WHITE_16_BIT
    white = max(white, float(grey.max()))
    return Image.fromarray(np.clip(grey * (255 / white), 0, 255).astype(np.uint8))


def flattened(image: Image.Image) -> Image.Image:
    if image.mode not in ("LA", "RGBA"):
        return image
    ground = Image.new("RGBA", image.size, (*GROUND, 255))
    return Image.alpha_composite(ground, image.convert("RGBA")).convert("RGB")


def to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Colours by their profile. Without one, or with a broken one, they are taken for sRGB."""
    if profile:
        try:
            managed = ImageCms.profileToProfile(
                image,
                ImageCms.ImageCmsProfile(io.BytesIO(profile)),
                SRGB,
                renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
                outputMode="RGB",
            )
            return managed or image
        except (ImageCms.PyCMSError, OSError):
            pass
    return image.convert("RGB")


def upright(image: Image.Image, orientation: int | None) -> Image.Image:
    """Turned as EXIF orientation (2 to 8) asks."""
    image.getexif()[ExifTags.Base.Orientation] = orientation or 1
    return ImageOps.exif_transpose(image)
