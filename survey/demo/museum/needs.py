"""Why some of the objects are wanted, and by when."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Wish:
    """``in_days`` from the day of seeding; None has no date. ``cases`` are places in CASES.

    more      how many others of the collection are wanted too
    subjects  of those others
    """

    kind: str
    title: str
    in_days: int | None
    cases: tuple[int, ...]
    subjects: tuple[str, ...]
    more: int


WISHES = (
    Wish("exhibition", "Paper and Water", 33, (1, 5, 18, 19, 20, 25, 30), ("harbour",), 9),
    Wish("loan", "Kelpstrand Library, Written by Hand", 75, (4, 24), ("letter",), 3),
    Wish("exhibition", "Lines under Lines", 148, (0, 9, 36), ("facade",), 6),
    Wish("exhibition", "Gallery 4, new hang", 26, (33, 34), ("composition",), 5),
    Wish("research", "Twins from one mould", None, (0, 9, 19, 29), ("head", "figure"), 4),
)
