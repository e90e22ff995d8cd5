"""Whether every stored content is where it belongs, to the last bit."""

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path

from django.conf import settings

from survey.sync import files, registry
from survey.sync.models import StoredFile

Say = Callable[[str], None]

# The two folders above a content, named by its first digits; previews and the like lie elsewhere.
_BRANCH = re.compile(r"[0-9a-f]{2}")


def sizes() -> dict[str, int]:
    """Every content that the database speaks of, and its size in bytes."""
    return dict(StoredFile.objects.order_by("pk").values_list("sha256", "size_bytes"))


def faults(known: dict[str, int], progress: Callable[[int], None]) -> Iterator[str]:
    """A sentence for each content that is missing, altered or not known.

    ``progress`` is told the bytes of each content once it was looked at.
    """
    for sha256, size in known.items():
        fault = _fault(sha256, size)
        if fault:
            yield f"{named(sha256)} {fault}"
        progress(size)
    for path in strangers(known):
        yield (
            f"{path} is not a photograph that was stored here: its bytes are not those of its "
            "name, and no record speaks of it. Look at it, and move it out of the folder."
        )


def named(sha256: str) -> str:
    """A content in words: what it is used as, if anything, and the start of its SHA-256."""
    uses = registry.uses_of(sha256)
    words = f" ({'; '.join(uses)})" if uses else ""
    facts = StoredFile.objects.filter(pk=sha256).values_list("facts", flat=True).first() or {}
    is_document = facts.get("content_type") == "application/pdf"
    return f"{'Document' if is_document else 'Photograph'} {sha256[:16]}…{words}"


def strangers(known: dict[str, int]) -> Iterator[Path]:
    """Files among the contents that are neither known nor what their name says.

    A whole content that is not yet known is no fault: the server stopped in the moment
    between moving and noting it, and its tablet sends it again.
    """
    for path in unknown(known):
        if not files.is_sha256(path.name) or files.digest(path) != path.name:
            yield path


def unknown(known: dict[str, int]) -> Iterator[Path]:
    """Files among the contents that the database does not speak of."""
    for first in _folders(Path(settings.PHOTOGRAPHS_DIR)):
        for second in _folders(first):
            for entry in sorted(os.scandir(second), key=lambda one: one.name):
                if entry.name not in known or Path(entry) != files.stored_path(entry.name):
                    yield Path(entry)


def _folders(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return sorted(path for path in folder.iterdir() if _BRANCH.fullmatch(path.name))


def _fault(sha256: str, size: int) -> str:
    path = files.stored_path(sha256)
    try:
        present = path.stat().st_size
        if present != size:
            return f"is altered: it has {present:,} bytes and had {size:,} when it was stored."
        if files.digest(path) != sha256:
            return f"is altered: its {size:,} bytes are not those that were stored."
    except FileNotFoundError:
        return "is missing from the folder of photographs. Take it from a backup."
    except OSError as error:
        return f"cannot be read: {error.strerror}."
    return ""
