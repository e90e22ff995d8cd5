"""A few very small photographs, each a whole PNG file of another content."""

import io

from PIL import Image


def _png(shade: int) -> bytes:
    file = io.BytesIO()
    Image.new("L", (3 + shade, 4), 40 * shade).save(file, "PNG")
    return file.getvalue()


PICTURES = [_png(shade) for shade in range(4)]
