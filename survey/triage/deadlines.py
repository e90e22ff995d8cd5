"""What is due when: exhibitions, loans, research, and work that comes back from hold."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from survey.catalogue.models import Object
from survey.loans.models import Loan
from survey.triage.board import Board, Row
from survey.triage.models import Need

# Names what the keys below are keys of; not an address that opens anything.
KEYS_OF = "fieldleaf/deadline"
# A loan whose last day passed so long ago is told no more.
PASSED_SHOWN = timedelta(weeks=26)


@dataclass(frozen=True)
class Deadline:
    """Something that is due on a day, and the open work on its objects.

    key    the same as long as it is the same thing, though its day may change
    what   ``Exhibition “Paper and Water”``, ``Loan L.2026.3 “Seven Ships” leaves``
    kind   exhibition, loan, research or hold
    """

    key: UUID
    kind: str
    what: str
    due: date
    objects: tuple[Object, ...]
    rows: tuple[Row, ...]
    loan: Loan | None = None

    @property
    def hours(self) -> float:
        """Of the open work that has an estimate."""
        return sum(row.hours or 0 for row in self.rows)

    @property
    def without_hours(self) -> int:
        return sum(row.hours is None for row in self.rows)


def deadlines(
    board: Board, today: date, *, until: date | None = None, with_holds: bool = False
) -> list[Deadline]:
    """All deadlines, the nearest first; three queries.

    Those that passed stay until somebody gives them a new date or takes them away; loans' days
    that passed are told only while anything is open on their objects.

    until       the last day that is asked for
    with_holds  the days on which work comes back from hold, too
    """
    rows_of: dict[UUID, list[Row]] = defaultdict(list)
    for row in board.by_key.values():
        for item in {standing.object.pk for standing, _ in row.members}:
            rows_of[item].append(row)
    found = [*_needs(rows_of), *_loans(rows_of, today)]
    if with_holds:
        found += [_from_hold(row) for row in board.held if row.hold and row.hold.after_id is None]
    return sorted(
        (one for one in found if until is None or one.due <= until),
        key=lambda one: (one.due, one.what, one.key),
    )


def nearest_due(row: Row) -> date | None:
    """The nearest day on which any of the objects of a piece of work is wanted."""
    return min(
        (need.due for standing, _ in row.members for need in standing.facts.needs if need.due),
        default=None,
    )


def _needs(rows_of: dict[UUID, list[Row]]) -> Iterable[Deadline]:
    """A deadline for each title and day: an exhibition wants many objects at once."""
    groups: dict[tuple[str, str], dict[date, list[Need]]] = defaultdict(lambda: defaultdict(list))
    for need in (
        Need.objects.filter(object__deleted_at=None)
        .exclude(due=None)
        .select_related("object")
        .order_by("object__accession_number")
    ):
        if need.due is not None:
            groups[need.kind, need.title][need.due].append(need)
    for (kind, title), by_day in groups.items():
        for number, (due, needs) in enumerate(sorted(by_day.items())):
            objects = tuple({need.object_id: need.object for need in needs}.values())
            yield Deadline(
                _key("need", kind, title, number),
                kind,
                f"{needs[0].get_kind_display()} “{title}”",
                due,
                objects,
                _rows(objects, rows_of),
            )


def _loans(rows_of: dict[UUID, list[Row]], today: date) -> Iterable[Deadline]:
    """The day on which a loan begins, and the one on which it ends."""
    for loan in Loan.objects.filter(
        deleted_at=None, last_day__gte=today - PASSED_SHOWN
    ).prefetch_related("loaned__object"):
        objects = tuple(
            one.object
            for one in loan.loaned.all()
            if one.deleted_at is None and one.object.deleted_at is None
        )
        rows = _rows(objects, rows_of)
        for verb, day in (("begins", loan.first_day), ("ends", loan.last_day)):
            if day >= today or (rows and verb == "begins" and loan.last_day >= today):
                said = verb if day >= today else "began"
                yield Deadline(
                    _key("loan", str(loan.pk), verb),
                    "loan",
                    f"Loan {loan.reference} “{loan.title}” {said}",
                    day,
                    objects,
                    rows,
                    loan,
                )


def _from_hold(row: Row) -> Deadline:
    assert row.hold is not None, "only of held work"
    objects = (row.object, *row.others)
    return Deadline(
        _key("hold", str(row.hold.pk)),
        "hold",
        f"Back from hold: {row.name}",
        row.hold.until,
        objects,
        (row,),
    )


def _rows(objects: Sequence[Object], rows_of: dict[UUID, list[Row]]) -> tuple[Row, ...]:
    """The open work on these objects, each piece once."""
    return tuple({row.key: row for item in objects for row in rows_of[item.pk]}.values())


def _key(*names: Any) -> UUID:
    return uuid5(NAMESPACE_URL, "/".join([KEYS_OF, *map(str, names)]))
