"""What waits for what, whether a hold says so or an estimate does in the week plan; and circles."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.core.exceptions import ValidationError

from survey.access.models import Person
from survey.sync import log
from survey.triage.board import Board, Row, standing_for
from survey.triage.pieces import DeskWork
from survey.triage.week import Estimate


@dataclass(frozen=True)
class Wait:
    """One piece of open work that another waits for, and who said so when."""

    other: Row
    by: Person
    at: datetime


# By the key of what waits.
Waits = dict[UUID, list[Wait]]


def one_at_a_time() -> None:
    """Within a transaction: or two people could close a circle that neither sees."""
    log.lock()


def waits_of(board: Board, desk: DeskWork, estimates: Iterable[Estimate] | None = None) -> Waits:
    """All waiting of open work for open work.

    estimates  where they were read before, with ``after`` and ``set_by``; else one query
    """
    if estimates is None:
        estimates = Estimate.objects.exclude(after=None).select_related("after", "set_by")
    rows = board.by_key
    found: Waits = {}
    for row in rows.values():
        hold = row.hold
        if hold is not None:
            for other in board.waits_for(hold, desk):
                found.setdefault(row.key, []).append(Wait(other, hold.by, hold.at))
    for estimate in estimates:
        key = estimate.piece_id
        for other in standing_for(estimate.after, rows, desk) if key in rows else ():
            if other.key not in [key, *(wait.other.key for wait in found.get(key, ()))]:
                found.setdefault(key, []).append(Wait(other, estimate.set_by, estimate.set_at))
    return found


def check_no_circle(row: Row, other: Row, waits: Waits) -> None:
    """Raises ValidationError where ``row`` cannot wait for ``other``, which waits for it already
    or is the same."""
    if other.key == row.key:
        raise ValidationError({"after": f"{row.name}, cannot wait for itself."})
    back = chain(other, row, waits)
    if back is not None:
        raise ValidationError(
            {
                "after": f"These would wait for each other in a circle: "
                f"{in_a_circle([row, *back])}. Let one of them wait no longer (take its hold "
                "away, or change what its estimate waits for), or choose other work."
            }
        )


def chain(start: Row, goal: Row, waits: Waits) -> list[Row] | None:
    """The work by way of which ``start`` waits for ``goal``, both at its ends; None if it does not.

    The shortest one: each next piece is what the one before waits for.
    """
    came_from: dict[UUID, Row | None] = {start.key: None}
    waiting = [start]
    for row in waiting:
        if row.key == goal.key:
            found = [row]
            while (before := came_from[found[-1].key]) is not None:
                found.append(before)
            return found[::-1]
        for wait in waits.get(row.key, ()):
            if wait.other.key not in came_from:
                came_from[wait.other.key] = row
                waiting.append(wait.other)
    return None


def circles(board: Board, waits: Waits) -> list[list[Row]]:
    """Work that waits for itself by way of others, each circle once, its first piece at both
    ends: none can be made at the desk, but work that was put together after may close one."""
    found: dict[frozenset[UUID], list[Row]] = {}
    for key, row in board.by_key.items():
        for wait in waits.get(key, ()):
            back = chain(wait.other, row, waits)
            if back is not None:
                found.setdefault(frozenset(one.key for one in back), [row, *back])
    return list(found.values())


def in_a_circle(rows: Iterable[Row]) -> str:
    """``PE.1, treat, waits for PE.2, rehouse, waits for PE.1, treat``."""
    return ", waits for ".join(row.name for row in rows)
