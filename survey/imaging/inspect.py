"""What a photograph's file is, judged by its content and never by its name.

The formats are told apart by their first bytes, as their standards lay down: JPEG (ITU-T T.81),
PNG (W3C PNG, third edition), TIFF 6.0 and BigTIFF, WebP (RFC 9649), GIF89a, HEIC
(ISO/IEC 23008-12).
"""

from dataclasses import dataclass
from pathlib import Path

from PIL import ExifTags, ImageFile
from PIL.GifImagePlugin import GifImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.TiffImagePlugin import TiffImageFile
from PIL.WebPImagePlugin import WebPImageFile

# Beyond this a picture is kept but not decoded: 100 megapixels take 300 MB of memory as RGB.
MOST_PIXELS = 100_000_000
HEAD_BYTES = 32


@dataclass(frozen=True)
class Format:
    """``reader`` is None for one that is kept byte for byte but cannot be shown here."""

    content_type: str
    reader: type[ImageFile.ImageFile] | None


RAW = "camera raw"
FORMATS = {
    "JPEG": Format("image/jpeg", JpegImageFile),
    "PNG": Format("image/png", PngImageFile),
    "TIFF": Format("image/tiff", TiffImageFile),
    "WebP": Format("image/webp", WebPImageFile),
    "GIF": Format("image/gif", GifImageFile),
    "HEIC": Format("image/heic", None),
    RAW: Format("application/octet-stream", None),
}
TIFF_STARTS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
# Things people send by mistake, by how they start.
OTHERS = {
    b"BM": "a BMP picture",
    b"%PDF": "a PDF",
    b"PK\x03\x04": "a ZIP archive or an office document",
    b"8BPS": "a layered image file",
    b"\0\0\0\x0cjP  ": "a JPEG 2000 picture",
    b"\0\0\0\x0cJXL ": "a JPEG XL picture",
    b"\xff\x0a": "a JPEG XL picture",
}
HEIC_BRANDS = (b"hei", b"hev", b"mif1", b"msf1")
WANTED = "Send it as JPEG, PNG, TIFF or WebP."


class NotAnImage(ValueError):
    """Not a photograph in a format that is taken. The message is a sentence for the person."""


@dataclass(frozen=True)
class Facts:
    """What is known of a photograph's file.

    format         a key of FORMATS
    content_type   for example "image/jpeg"
    width_px       as stored, before any EXIF rotation; None when no header can be read
    height_px      the same
    trouble        a sentence when the file is kept but is not whole, is not one still picture,
                   or cannot be shown; else ""
    too_large      has more than MOST_PIXELS, so no preview can be made; only its header was read
    """

    format: str
    content_type: str
    width_px: int | None
    height_px: int | None
    trouble: str = ""
    too_large: bool = False


def inspect(path: Path) -> Facts:
    """Look into a file. Raises NotAnImage with a sentence, OSError when it cannot be read at all.

    Reads the whole picture once, so that one which breaks off is noticed while the sheet is
    still at hand.
    """
    name = format_of(path)
    content_type = FORMATS[name].content_type
    if FORMATS[name].reader is None:
        return Facts(name, content_type, None, None, cannot_show(name))
    size = header_size(path, name)
    if size is None:
        trouble = (
            f"This file begins as a {name} does, but its header cannot be read. It is kept as it "
            "came; photograph the sheet again if you can."
        )
        return Facts(name, content_type, None, None, trouble)
    width, height = size
    if width * height > MOST_PIXELS:
        return Facts(name, content_type, width, height, too_large=True)
    return Facts(name, content_type, width, height, trouble_with(path, name))


def format_of(path: Path) -> str:
    """The format by the file's first bytes. Raises NotAnImage for any that is not taken."""
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if head.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":
        return "WebP"
    if head.startswith(TIFF_STARTS):
        return RAW if is_camera_raw(path, head) else "TIFF"
    if head.startswith((b"GIF87a", b"GIF89a")):
        return "GIF"
    if head[4:8] == b"ftyp" and head[8:12].startswith(HEIC_BRANDS):
        return "HEIC"
    raise NotAnImage(f"This is {described(head)}. {WANTED}")


def decodable_format(path: Path) -> str:
    """The format. Raises NotAnImage also for one that is kept but not decoded here."""
    name = format_of(path)
    if FORMATS[name].reader is None:
        raise NotAnImage(cannot_show(name))
    return name


def is_camera_raw(path: Path, head: bytes) -> bool:
    """Camera raw files dress as TIFF; opened as one, they show but a thumbnail."""
    if head[8:10] == b"CR":
        return True
    try:
        with TiffImageFile(path) as image:
            return ExifTags.Base.DNGVersion in image.tag_v2
    except Exception:  # Broken in some way that only a TIFF reader needs to name.
        return False


def cannot_show(name: str) -> str:
    return (
        f"This is a {name} file: it is kept byte for byte, but cannot be shown here. Set the "
        "camera to save JPEG, or send a JPEG beside it."
    )


def described(head: bytes) -> str:
    """What a file seems to be that is not taken, in words."""
    if not head:
        return "an empty file"
    if head[4:8] == b"ftyp":
        return "an AVIF picture" if head[8:11] == b"avi" else "a video"
    for start, what in OTHERS.items():
        if head.startswith(start):
            return what
    if head.lstrip().startswith((b"<", b"{")):
        return "a text file, not a photograph"
    return "not a photograph that can be read"


def header_size(path: Path, name: str) -> tuple[int, int] | None:
    """Width and height in pixels as the header says, or None. Decodes nothing."""
    if name == "WebP":  # Pillow would set up its decoder for the whole canvas first.
        with path.open("rb") as file:
            return webp_size(file.read(30))
    try:
        with open_image(path, name) as image:
            if isinstance(image, TiffImageFile):  # Pillow has turned its size upright already.
                return image.tag_v2[ExifTags.Base.ImageWidth], image.tag_v2[
                    ExifTags.Base.ImageLength
                ]
            return image.size
    except Exception:  # Decoders raise what they like on a broken file.
        return None


def webp_size(head: bytes) -> tuple[int, int] | None:
    """The size of the canvas from a WebP's first 30 bytes (RFC 9649, sections 2.5 to 2.7)."""
    if len(head) < 30:
        return None
    chunk = head[12:16]
    if chunk == b"VP8X":
        return 1 + int.from_bytes(head[24:27], "little"), 1 + int.from_bytes(head[27:30], "little")
    if chunk == b"VP8L":
        bits = int.from_bytes(head[21:25], "little")
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    if chunk == b"VP8 ":
        width, height = (int.from_bytes(head[at : at + 2], "little") & 0x3FFF for at in (26, 28))
        return width, height
    return None


def open_image(path: Path, name: str) -> ImageFile.ImageFile:
    """Open by the format found, with its header read and nothing decoded yet.

    The reader is called by name and not through ``Image.open``, which refuses a large picture
    before one can learn its size. Whoever decodes checks the size against MOST_PIXELS first.
    """
    reader = FORMATS[name].reader
    if reader is None:
        raise ValueError(cannot_show(name))
    return reader(path)


def trouble_with(path: Path, name: str) -> str:
    """A sentence when a picture of permitted size does not decode to its end, or moves."""
    try:
        moving = moves(path, name)
        with open_image(path, name) as image:
            # A JPEG is read to its end at any scale: the smallest is the quickest.
            image.draft("L", (1, 1))
            image.load()
    except Exception:  # Decoders raise what they like on a broken file.
        return (
            "This photograph is not whole: it breaks off or is damaged. What came is kept; "
            "photograph the sheet again if you can."
        )
    if moving:
        return "This file holds a moving picture. It is kept whole, and its first frame is shown."
    return ""


def moves(path: Path, name: str) -> bool:
    """Whether it is a moving picture. Pages of a TIFF are no movement."""
    with open_image(path, name) as image:
        return name != "TIFF" and bool(getattr(image, "is_animated", False))
