"""The head of the change log: the next number, and the server's own clock.

Both are rows of Counter and not database sequences: a sequence skips numbers and lets a
later number commit before an earlier one, and a pull between the two would miss a row.
Whoever holds the locked row is the only writer, so number order is commit order.
"""

import time
from dataclasses import dataclass

from survey.sync.clock import Stamp, next_ticks
from survey.sync.models import Counter, Restoration

CHANGES = "change"
CLOCK = "clock"
SERVER = "server"


def _held(name: str) -> Counter:
    return Counter.objects.select_for_update().get_or_create(name=name)[0]


def lock() -> None:
    """Wait until no other transaction writes to the log. Only inside a transaction."""
    _held(CHANGES)


def take_numbers(count: int = 1) -> int:
    """The first of ``count`` numbers in a row. Only inside a transaction."""
    counter = _held(CHANGES)
    counter.value += count
    counter.save(update_fields=["value"])
    return counter.value - count + 1


def last_number() -> int:
    """The number of the last change that was committed, 0 before the first."""
    return Counter.objects.filter(name=CHANGES).values_list("value", flat=True).first() or 0


@dataclass(frozen=True)
class History:
    """Which numbers this server's log has given out.

    newest  the last one
    lost    the numbers on either side of each span that went when the server was set back
    """

    newest: int
    lost: list[tuple[int, int]]

    def has(self, number: int) -> bool:
        """False for a number that only a log knew which is no longer this server's."""
        return number <= self.newest and not any(low < number < high for low, high in self.lost)


def history() -> History:
    spans = Restoration.objects.values_list("last_number", "next_number")
    return History(last_number(), list(spans))


def set_back() -> None:
    """Go on with numbers that no log before can have given. Only inside a transaction.

    Tablets may have seen more than the copy has. Were the same numbers given again to other
    changes, such a tablet would take those for the ones it knows, and never pull them.
    """
    counter = _held(CHANGES)
    # By the clock: a million numbers a second is more than any log gives.
    following = max(counter.value + 1, wall_clock_ms() // 1000 * 1_000_000)
    Restoration.objects.create(last_number=counter.value, next_number=following)
    counter.value = following - 1
    counter.save(update_fields=["value"])


def wall_clock_ms() -> int:
    return time.time_ns() // 1_000_000


def tick(node: str = SERVER, heard: Stamp | None = None) -> Stamp:
    """Move the server's clock on, past what was heard, and read it. Only inside a transaction."""
    counter = _held(CLOCK)
    latest = max(counter.value, heard.ticks if heard else 0)
    counter.value = next_ticks(latest, wall_clock_ms())
    counter.save(update_fields=["value"])
    return Stamp.from_ticks(counter.value, node)
