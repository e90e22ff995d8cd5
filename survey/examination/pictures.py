"""The bytes of photographs: originals as they were shot, and previews made once and kept."""

import contextlib
import os
import tempfile
from pathlib import Path

from django.conf import settings

from survey.examination.models import Photograph
from survey.imaging.previews import make_preview
from survey.sync.files import stored_of, stored_path

PREVIEW_PX = 1600
THUMBNAIL_PX = 400


def original_path(sha256: str) -> Path | None:
    """Where the original lies; None when it has not arrived, or is not a SHA-256."""
    return stored_path(sha256) if stored_of([sha256]) else None


def preview(original: Path, longest_px: int) -> bytes:
    """A JPEG of the original, from the folder of previews or made and kept there.

    Raises NoPreview with a sentence when none can be made.
    """
    kept = preview_path(original.name, longest_px)
    try:
        return kept.read_bytes()
    except FileNotFoundError:
        made = make_preview(original, longest_px)
    # A full disk keeps nobody from looking: the preview is then made again next time.
    with contextlib.suppress(OSError):
        keep(kept, made)
    return made


def preview_path(sha256: str, longest_px: int) -> Path:
    return Path(settings.PHOTOGRAPHS_DIR) / "previews" / sha256[:2] / f"{sha256}-{longest_px}.jpg"


def keep(path: Path, content: bytes) -> None:
    """Write a file whole: whoever reads meanwhile finds none, or all of it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as file:
        try:
            file.write(content)
            file.flush()
            os.replace(file.name, path)
        except OSError:
            os.unlink(file.name)
            raise


def file_name(sha256: str) -> str:
    """What the photograph's file was called when it was taken, or the start of its SHA-256."""
    names = Photograph.objects.filter(sha256=sha256).exclude(file_name="").order_by("taken_at")
    return names.values_list("file_name", flat=True).first() or sha256[:16]
