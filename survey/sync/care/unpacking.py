"""Takes a ZIP apart that came from outside: nothing leaves its folder, nothing fills the disk."""

import shutil
import zipfile
import zlib
from pathlib import Path, PurePosixPath

# Beyond a bag's own few files there is one entry a photograph.
MOST_ENTRIES = 100_000
# What stays free on the disk, so that the server can go on.
SPARE_BYTES = 256 * 1024**2


class BadZip(ValueError):
    """Carries a sentence: nothing of this ZIP can be taken."""


def unpack(source: Path, folder: Path) -> list[str]:
    """Unpack a ZIP into an empty folder. Returns the names of entries whose bytes are damaged.

    Raises BadZip, and OSError when the disk fails.
    """
    try:
        with zipfile.ZipFile(source) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            _check(entries, folder)
            return [entry.filename for entry in entries if not _is_taken(archive, entry, folder)]
    except (zipfile.BadZipFile, EOFError, NotImplementedError) as error:
        raise BadZip(
            f"{source.name} is not a whole ZIP file. Save the unsent work on the tablet once "
            "more, and copy the file again."
        ) from error


def _check(entries: list[zipfile.ZipInfo], folder: Path) -> None:
    if len(entries) > MOST_ENTRIES:
        raise BadZip(f"This ZIP holds {len(entries):,} files, which no tablet ever saves.")
    for entry in entries:
        path = PurePosixPath(entry.filename)
        if path.is_absolute() or ".." in path.parts or "\\" in entry.filename:
            raise BadZip(
                f"This ZIP holds “{entry.filename}”, a name that leads out of its folder. It was "
                "not saved by Fieldleaf: do not trust it."
            )
        if entry.flag_bits & 1:
            raise BadZip("This ZIP is locked by a password. Save it without one.")
    size = sum(entry.file_size for entry in entries)
    free = shutil.disk_usage(folder).free - SPARE_BYTES
    if size > free:
        raise BadZip(
            f"Unpacked, this ZIP takes {size / 1e6:,.0f} MB, and only {max(free, 0) / 1e6:,.0f} MB "
            "are free for it on the server’s disk. Make room, then run the command again."
        )


def _is_taken(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, folder: Path) -> bool:
    """Write one entry; never more than the bytes it announced, which were weighed before."""
    target = folder / entry.filename
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        with archive.open(entry) as packed, target.open("wb") as file:
            shutil.copyfileobj(packed, file, 1024**2)
    except (zipfile.BadZipFile, zlib.error, EOFError):
        target.unlink(missing_ok=True)
        return False
    return True
