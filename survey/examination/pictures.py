"""The bytes of photographs: originals as they were shot, and previews made once and kept."""

import contextlib
import os
import tempfile
from pathlib import Path

from django.conf import settings

from survey.examination.models import Photograph
from survey.imaging.previews import make_preview, make_region
from survey.sync.files import stored_of, stored_path

PREVIEW_PX = 1600
THUMBNAIL_PX = 400
# As large a part as is made, and how many parts of one photograph are kept.
LARGEST_REGION_PX = 2048
REGIONS_KEPT = 48


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


def region(original: Path, box: tuple[int, int, int, int], longest_px: int) -> bytes:
    """A part of the upright original as a JPEG, made or from the folder of previews.

    box  left, top, right, bottom in its pixels

    Raises NoPreview with a sentence when none can be made.
    """
    place = "-".join(str(number) for number in (*box, longest_px))
    folder = preview_path(original.name, longest_px).parent
    kept = folder / f"{original.name}-part-{place}.jpg"
    try:
        return kept.read_bytes()
    except FileNotFoundError:
        made = make_region(original, box, longest_px)
    with contextlib.suppress(OSError):
        keep(kept, made)
        forget_older(folder, f"{original.name}-part-*.jpg")
    return made


def forget_older(folder: Path, pattern: str) -> None:
    """Delete all but the newest of the parts that are kept: somebody who goes on looking must not
    fill the disk."""
    parts = sorted(folder.glob(pattern), key=lambda path: path.stat().st_mtime, reverse=True)
    for part in parts[REGIONS_KEPT:]:
        part.unlink(missing_ok=True)


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
