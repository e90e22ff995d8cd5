"""Uploads that can break off and go on: the state behind the tus 1.0 protocol.

Bytes go straight to a file in UPLOADS_DIR and are flushed to the disk before the offset is
saved, so the offset never promises bytes that a power cut could take. The last byte counts
only once the whole file was verified and stored: whatever fails before, the client sees an
unfinished upload and goes on with it.
"""

import hashlib
import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import BinaryIO, Protocol
from uuid import UUID

from django.conf import settings
from django.utils import timezone
from rest_framework.exceptions import APIException

from survey.access.models import Device, Person
from survey.sync import files
from survey.sync.models import Upload

logger = logging.getLogger(__name__)

CHECKSUMS = ("sha1", "sha256")
PIECE_BYTES = 64 * 1024
# How much a connection that hangs may cost: a client that comes back goes on from the last save.
SAVED_EVERY_BYTES = 4 * 1024**2


class UploadRefused(APIException):
    """Carries one of the protocol's status codes, and a sentence."""

    def __init__(self, status: int, sentence: str) -> None:
        super().__init__(sentence)
        self.status_code = status


class Body(Protocol):
    def read(self, size: int, /) -> bytes: ...


@dataclass(frozen=True)
class Checksum:
    algorithm: str
    digest: bytes


def create(person: Person, device: Device | None, length: int, metadata: dict[str, str]) -> Upload:
    """Begin an upload of ``length`` bytes. Raises UploadRefused."""
    sha256 = metadata.get("sha256", "").lower()
    if not files.is_sha256(sha256):
        raise UploadRefused(
            400, "Name the content: sha256 in Upload-Metadata, 64 digits from 0 to 9 and a to f."
        )
    if length == 0:
        raise UploadRefused(400, "This file is empty. Choose it again.")
    if length > settings.UPLOAD_LIMIT_BYTES:
        most = settings.UPLOAD_LIMIT_BYTES / 1024**2
        raise UploadRefused(
            413, f"This file is larger than {most:,.0f} MiB, the most that is taken."
        )
    sweep()
    upload = Upload(
        person=person,
        device=device,
        length=length,
        metadata=metadata,
        sha256=sha256,
        expires_at=_kept_until(),
    )
    path = partial_path(upload)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch()
    upload.save()
    return upload


def find(person: Person, key: UUID) -> Upload:
    """An upload of this person that can go on. Raises UploadRefused when it cannot, or is none."""
    upload = Upload.objects.filter(pk=key, person=person).first()
    if upload is None:
        raise UploadRefused(404, "There is no such upload. Begin it anew.")
    if upload.is_expired(timezone.now()):
        partial_path(upload).unlink(missing_ok=True)
        raise _gone()
    # Stopped between moving the whole file to its place and saying so: nothing is left to go on
    # with, and the content is only counted once it came again.
    if upload.finished_at is None and not partial_path(upload).exists():
        raise _gone()
    return upload


def append(upload: Upload, offset: int, body: Body, checksum: Checksum | None) -> None:
    """Write what arrives at the offset, and move the upload's offset past it.

    With a checksum the bytes count all together or not at all; without one, those that came
    before the connection broke are kept. Raises UploadRefused.
    """
    if offset != upload.offset:
        raise UploadRefused(409, f"The next byte wanted is {upload.offset}, not {offset}.")
    if upload.finished_at is not None:
        return
    digest = hashlib.new(checksum.algorithm) if checksum else None
    end = offset
    with _opened(upload) as file:
        file.seek(offset)
        for piece in _pieces(body, upload.length - offset):
            file.write(piece)
            end += len(piece)
            if digest is not None:
                digest.update(piece)
            elif upload.offset + SAVED_EVERY_BYTES <= end < upload.length:
                _save_offset(upload, file, end)
        if checksum and digest and digest.digest() != checksum.digest:
            raise UploadRefused(460, "These bytes were damaged on the way. Send them again.")
        _save_offset(upload, file, min(end, upload.length - 1))
    if end == upload.length:
        _finish(upload)


def discard(upload: Upload) -> None:
    """Forget an upload and its bytes so far. Content that was stored stays."""
    partial_path(upload).unlink(missing_ok=True)
    upload.delete()


def sweep() -> None:
    """Free the space of uploads that nobody went on with; later also forget they were there."""
    now = timezone.now()
    for upload in Upload.objects.filter(finished_at=None, expires_at__lte=now):
        partial_path(upload).unlink(missing_ok=True)
    Upload.objects.filter(expires_at__lte=now - _kept_for()).delete()


def partial_path(upload: Upload) -> Path:
    return Path(settings.UPLOADS_DIR) / str(upload.pk)


def _finish(upload: Upload) -> None:
    try:
        files.store(partial_path(upload), upload.sha256)
    except files.WrongContent:
        discard(upload)
        raise UploadRefused(
            460, "What arrived is not what was announced: the checksum differs. Send it anew."
        ) from None
    except FileNotFoundError:
        raise _gone() from None
    except ValueError as error:
        discard(upload)
        raise UploadRefused(422, str(error)) from error
    upload.offset = upload.length
    upload.finished_at = timezone.now()
    upload.save(update_fields=["offset", "finished_at"])


def _save_offset(upload: Upload, file: BinaryIO, offset: int) -> None:
    """Flush to the disk, then promise. Two requests at once: the second to save is told off."""
    file.flush()
    os.fsync(file.fileno())
    expires_at = _kept_until()
    mine = Upload.objects.filter(pk=upload.pk, offset=upload.offset)
    if not mine.update(offset=offset, expires_at=expires_at):
        raise UploadRefused(409, "Another request went on with this upload. Ask where it stands.")
    upload.offset, upload.expires_at = offset, expires_at


def _opened(upload: Upload) -> BinaryIO:
    try:
        return partial_path(upload).open("r+b")
    except FileNotFoundError:
        raise _gone() from None


def _pieces(body: Body, most: int) -> Iterator[bytes]:
    """What arrives, until its end, a break of the connection, or ``most`` bytes."""
    while most > 0:
        try:
            piece = body.read(min(PIECE_BYTES, most))
        except OSError:
            logger.info("An upload broke off; what had arrived is kept.")
            return
        if not piece:
            return
        most -= len(piece)
        yield piece


def _gone() -> UploadRefused:
    return UploadRefused(410, "This upload was not gone on with in time. Begin it anew.")


def _kept_for() -> timedelta:
    return timedelta(hours=settings.UPLOAD_KEPT_HOURS)


def _kept_until() -> datetime:
    return timezone.now() + _kept_for()
