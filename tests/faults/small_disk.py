"""A disk that can be filled to its last byte, and given room again."""

import os
from dataclasses import dataclass
from pathlib import Path


@dataclass
class SmallDisk:
    folder: Path
    SIZE_MB = 120

    def fill(self) -> None:
        """Let another file take all the room there is."""
        descriptor = os.open(self._other_file, os.O_CREAT | os.O_WRONLY | os.O_APPEND)
        try:
            for size in (1 << 20, 4096, 1):
                while True:
                    try:
                        os.write(descriptor, bytes(size))
                    except OSError:
                        break
        finally:
            os.close(descriptor)

    def make_room(self) -> None:
        self._other_file.unlink()

    @property
    def _other_file(self) -> Path:
        return self.folder / "another-file"
