"""Says now and then how far a long job has come."""

import time
from typing import Any

EVERY_SECONDS = 2.0


class Progress:
    """Writes a line every two seconds, so that a short job writes none.

    total  how much there is in all
    unit   what is counted, such as "photographs"; without one they are bytes
    """

    def __init__(self, out: Any, total: int, unit: str = "") -> None:
        self.out = out
        self.total = total
        self.unit = unit
        self.done = 0
        self.said_at = time.monotonic()

    def add(self, more: int) -> None:
        self.done += more
        if time.monotonic() - self.said_at >= EVERY_SECONDS:
            self.said_at = time.monotonic()
            self.out.write(f"  {self._so_far()}")
            self.out.flush()

    def _so_far(self) -> str:
        if self.unit:
            return f"{self.done:,} of {self.total:,} {self.unit}"
        return f"{in_units(self.done)} of {in_units(self.total)}"


def count(number: int, one: str) -> str:
    """A number of things in words: "1 photograph", "2,000 photographs"."""
    return f"{number:,} {one}" if number == 1 else f"{number:,} {one}s"


def in_units(size_bytes: int) -> str:
    """A size in words: 12 kB, 3.4 MB, 5.6 GB."""
    if size_bytes < 1000:
        return f"{size_bytes} bytes"
    for unit, scale in (("kB", 1e3), ("MB", 1e6)):
        if size_bytes < scale * 1000:
            return f"{size_bytes / scale:.3g} {unit}"
    return f"{size_bytes / 1e9:,.1f} GB"
