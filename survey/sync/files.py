"""Where contents lie on the disk: by their SHA-256, each once, and never half there."""

import hashlib
import os
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from survey.sync import durable, registry
from survey.sync.models import StoredFile

_SHA256 = re.compile(r"[0-9a-f]{64}")


class WrongContent(Exception):
    """The bytes are not those that were announced."""


def is_sha256(text: str) -> bool:
    return _SHA256.fullmatch(text) is not None


def stored_path(sha256: str) -> Path:
    """Where the content lies, or would lie. Raises ValueError when it is not 64 hex digits."""
    if not is_sha256(sha256):
        raise ValueError(f"“{sha256}” is not a SHA-256: that is 64 digits from 0 to 9 and a to f.")
    return Path(settings.PHOTOGRAPHS_DIR) / sha256[:2] / sha256[2:4] / sha256


def stored_of(sha256s: Iterable[str]) -> list[str]:
    """Those of the contents that are here, whole as they were when they were verified."""
    known = StoredFile.objects.filter(pk__in=list(sha256s)).values_list("sha256", "size_bytes")
    return [sha256 for sha256, size in known if _size(stored_path(sha256)) == size]


def store(path: Path, sha256: str, facts: dict[str, Any] | None = None) -> StoredFile:
    """Verify a file, let the receivers look at it, and move it to where contents lie.

    facts  of a file that this server made itself: no receiver needs to look at it

    Raises WrongContent when the SHA-256 is another, ValueError with a receiver's sentence
    when it cannot be taken, OSError when the disk fails; the file is then where it was.
    """
    target = stored_path(sha256)
    if digest(path) != sha256:
        raise WrongContent
    size = path.stat().st_size
    if facts is None:
        facts = registry.facts_of(path)
    with transaction.atomic():
        stored, _ = StoredFile.objects.update_or_create(
            sha256=sha256, defaults={"size_bytes": size, "facts": facts}
        )
        # Also over the same content: this copy was just verified, that one at some time past.
        _move(path, target)
    return stored


def digest(path: Path) -> str:
    """The SHA-256 of a file. Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return None


def _move(path: Path, target: Path) -> None:
    """A rename, made durable: after a power cut the file is in one place or the other, whole."""
    target.parent.mkdir(parents=True, exist_ok=True)
    os.replace(path, target)
    durable.flush(target.parent)
