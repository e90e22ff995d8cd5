"""What the department did with recommended work in the weeks before: moved, held, split, handed.

A piece of work is named by its case and by the place of the recommendation in it.
"""

from dataclasses import dataclass

from survey.demo.museum.rounds import CONSERVATOR, HEAD, SECOND

Work = tuple[int, int]


@dataclass(frozen=True)
class Split:
    """``parts``: words, hours, and kind of work where it is another."""

    work: Work
    by: str
    days_ago: int
    parts: tuple[tuple[str, float, str], ...]


@dataclass(frozen=True)
class Moved:
    work: Work
    by: str
    days_ago: int
    place: int
    reason: str


@dataclass(frozen=True)
class Held:
    """``until_in_days`` from the day of seeding, below zero where it has passed."""

    work: Work
    by: str
    days_ago: int
    until_in_days: int
    reason: str
    after: Work | None = None


@dataclass(frozen=True)
class Handed:
    """To a person, or to a studio by its code. ``part`` counts from 1 where it was split.

    answer  None is not answered yet, "" accepted, else why it was sent back
    """

    work: Work
    by: str
    days_ago: int
    to: str
    reason: str
    answer: str | None = None
    part: int = 0


@dataclass(frozen=True)
class Kept:
    """A filter under a name, as in the address of the queues."""

    by: str
    name: str
    query: str
    is_shared: bool


SPLITS = (
    Split((20, 0), HEAD, 16, (
        ("Wash, after a test of the ink.", 5, ""),
        ("Mend the tears and fill the lower corner.", 8, ""),
        ("New mount.", 3, "mount-and-frame"),
    )),
)  # fmt: skip

MOVES = (
    Moved((9, 0), HEAD, 5, 2, "The lender of its twin comes next week and will want to see it."),
    Moved((19, 0), CONSERVATOR, 2, 8, "The filling needs the paper that is on order."),
)

HOLDS = (
    Held((10, 0), HEAD, 12, 23, "Aqueous treatment is discussed at the studio's next meeting."),
    Held((4, 1), CONSERVATOR, 40, -6, "Once the lettering is supported, not before.", (4, 0)),
    Held((30, 0), SECOND, 8, 9, "Rag board ordered; it comes with the next delivery."),
)

HAND_OVERS = (
    Handed((4, 0), HEAD, 44, CONSERVATOR, "You know the ink and the paper.", ""),
    Handed((18, 0), HEAD, 30, CONSERVATOR, "Before anything else of these three.", ""),
    Handed((1, 0), HEAD, 20, CONSERVATOR, "For Seven Ships; test the wash first.", ""),
    Handed((20, 0), HEAD, 15, SECOND, "The washing and the mending are yours.", "", part=1),
    Handed((35, 0), HEAD, 9, SECOND, "Consolidate where it lies; it is not to be moved.", ""),
    Handed((24, 0), HEAD, 9, SECOND, "Needed for Written by Hand.", ""),
    Handed((34, 0), HEAD, 6, SECOND, "For the new hang, if the patch lets go."),
    Handed((33, 0), SECOND, 5, "paintings", "The varnish is more your matter than ours."),
    Handed((26, 0), HEAD, 4, CONSERVATOR, "Together with its neighbour in the drawer.",
           "Not before June: the suction table is taken until then."),
)  # fmt: skip

FILTERS = (
    Kept(HEAD, "Nobody's yet, needed within eight weeks", "person=nobody&weeks=8", True),
    Kept(HEAD, "Treat, graded poor", "studio=paper&kind=treat&grade=poor", False),
)
