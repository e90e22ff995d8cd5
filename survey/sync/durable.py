"""Files that are either whole on the disk or not there."""

import os
import shutil
from pathlib import Path


def copy(source: Path, target: Path) -> None:
    """Copy a file so that after a power cut the target is whole, or absent. Raises OSError."""
    target.parent.mkdir(parents=True, exist_ok=True)
    partial = target.with_name(f"{target.name}.partial")
    try:
        shutil.copyfile(source, partial)
        flush(partial)
        os.replace(partial, target)
    except OSError:
        partial.unlink(missing_ok=True)
        raise
    flush(target.parent)


def flush(path: Path) -> None:
    """Bring a file, or the names in a folder, to the disk."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
