"""Pictures that readings made. They can be made again, so no backup holds them."""

import hashlib
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import numpy as np
from django.conf import settings
from numpy.typing import NDArray
from PIL import Image

from survey.examination.pictures import keep
from survey.sync import files

QUALITY = 90


def picture_path(sha256: str) -> Path:
    """Where a picture lies, or would lie. Raises ValueError when it is not 64 hex digits."""
    if not files.is_sha256(sha256):
        raise ValueError(f"“{sha256}” is not a SHA-256.")
    return _folder() / sha256[:2] / f"{sha256}.jpg"


def keep_picture(pixels: NDArray[np.uint8]) -> str:
    """Keep (rows, columns) grey or (rows, columns, 3) sRGB pixels as a JPEG. Returns its SHA-256.

    Raises OSError when the disk fails.
    """
    file = BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=QUALITY)
    content = file.getvalue()
    sha256 = hashlib.sha256(content).hexdigest()
    keep(picture_path(sha256), content)
    return sha256


def altered() -> Iterator[str]:
    """A sentence for each picture whose bytes are not those of its name; see manage.py verify."""
    for path in sorted(_folder().glob("*/*.jpg")):
        if files.digest(path) != path.stem:
            yield (
                f"The picture {path} that a reading made is altered. Delete it, and ask for the "
                "reading again."
            )


def _folder() -> Path:
    return Path(settings.PHOTOGRAPHS_DIR) / "readings"
