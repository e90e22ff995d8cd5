"""The hybrid logical clock: an order of events that outlives clocks which disagree.

After Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical Physical Clocks" (OPODIS 2014):
wall time in milliseconds, and a counter for what happens within one of them or while the
wall clock stands behind what was already heard.
"""

import re
from dataclasses import dataclass
from typing import Self

COUNTER_BITS = 16
# How far ahead of the server a device's clock may be before its changes are set to server time.
TOLERATED_AHEAD_MS = 5 * 60 * 1000

_WRITTEN = re.compile(r"(\d{13})-([0-9a-f]{4})-([0-9a-z][0-9a-z-]{0,35})", re.ASCII)


@dataclass(frozen=True, order=True)
class Stamp:
    """One moment by one clock. As text, plain string order is time order.

    ms       Unix time in milliseconds
    counter  0 to 65,535, for moments within one millisecond
    node     id of the device, or "server"
    """

    ms: int
    counter: int
    node: str

    @classmethod
    def parse(cls, text: str) -> Self:
        """Raises ValueError with a sentence when the text is not a stamp."""
        match = _WRITTEN.fullmatch(text)
        if match is None:
            raise ValueError(
                f"“{text}” is not a time of this clock: thirteen digits of milliseconds, "
                "four hexadecimal digits and a device, joined by hyphens."
            )
        return cls(int(match[1]), int(match[2], 16), match[3])

    @classmethod
    def from_ticks(cls, ticks: int, node: str) -> Self:
        return cls(ticks >> COUNTER_BITS, ticks & (2**COUNTER_BITS - 1), node)

    @property
    def ticks(self) -> int:
        """Milliseconds and counter as one number: one more is the next moment."""
        return self.ms << COUNTER_BITS | self.counter

    def __str__(self) -> str:
        return f"{self.ms:013d}-{self.counter:04x}-{self.node}"


def next_ticks(latest: int, now_ms: int) -> int:
    """The next moment: never behind the wall clock, always after the latest one known."""
    return max(latest + 1, now_ms << COUNTER_BITS)


def is_too_far_ahead(stamp: Stamp, now_ms: int) -> bool:
    return stamp.ms > now_ms + TOLERATED_AHEAD_MS
