"""Photographs small enough to be sent by the dozen."""

import io

from PIL import Image


def picture(shade: int = 90) -> bytes:
    """A JPEG; another shade makes another content."""
    file = io.BytesIO()
    Image.new("RGB", (64, 48), (shade, shade, shade)).save(file, "JPEG")
    return file.getvalue()
