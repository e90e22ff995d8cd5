"""Small pictures written to disk for tests of inspection and previews."""

import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image


def ramp(width: int = 64, height: int = 48) -> Image.Image:
    """A colour ramp with noise, so that every format has something to compress."""
    rows, columns = np.mgrid[0:height, 0:width]
    noise = np.random.default_rng(7).integers(0, 40, (height, width))
    channels = [columns * 200 // width + noise, rows * 200 // height + noise, 90 + noise]
    return Image.fromarray(np.stack(channels, axis=-1).astype(np.uint8))


def saved(folder: Path, name: str, image: Image.Image, **options: Any) -> Path:
    """The picture under a name; its ending says nothing, ``format=`` does if given."""
    path = folder / name
    image.save(path, **options)
    return path


def cut(path: Path, share: float) -> Path:
    """The same file, broken off after a share of its bytes."""
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    return path


def png_that_claims(folder: Path, width: int, height: int) -> Path:
    """A PNG of a few bytes whose header claims any size."""
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    path = folder / "claims.png"
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + png_chunk(b"IHDR", header)
        + png_chunk(b"IDAT", zlib.compress(b"\0" * 1000))
        + png_chunk(b"IEND", b"")
    )
    return path


def png_chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def jpeg_that_claims(folder: Path, width: int, height: int) -> Path:
    """A JPEG whose frame header (SOF0) claims any size up to 65,535 pixels."""
    path = saved(folder, "claims.jpg", ramp())
    content = path.read_bytes()
    at = content.index(b"\xff\xc0") + 5
    path.write_bytes(content[:at] + struct.pack(">HH", height, width) + content[at + 4 :])
    return path


def webp_that_claims(folder: Path, width: int, height: int) -> Path:
    """A WebP whose extended header claims any size up to 16,777,216 pixels."""
    canvas = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    body = b"WEBPVP8X" + struct.pack("<I", 10) + b"\0\0\0\0" + canvas + b"VP8 \0\0\0\0"
    path = folder / "claims.webp"
    path.write_bytes(b"RIFF" + struct.pack("<I", len(body)) + body)
    return path
