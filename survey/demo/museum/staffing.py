"""Who has how many hours for what, and when somebody is away."""

from dataclasses import dataclass

from survey.demo.museum.rounds import CONSERVATOR, HEAD, SECOND


@dataclass(frozen=True)
class Post:
    """hours   for work on objects, Monday to Friday
    skills  kinds of work, in the paper studio
    """

    person: str
    hours: tuple[float, float, float, float, float]
    skills: tuple[str, ...]


@dataclass(frozen=True)
class Away:
    """``weeks`` after the week of seeding; days of that week, Monday being 0, both counted."""

    person: str
    weeks: int
    first: int
    last: int
    reason: str


POSTS = (
    Post(
        CONSERVATOR,
        (4, 4, 4, 4, 3),
        ("stabilise", "treat", "image-or-analyse", "isolate", "monitor"),
    ),
    Post(
        SECOND, (4, 0, 4, 4, 4), ("mount-and-frame", "rehouse", "stabilise", "isolate", "monitor")
    ),
    Post(HEAD, (0, 2, 0, 2, 0), ("stabilise", "image-or-analyse", "monitor")),
)

AWAY = (
    Away(SECOND, 1, 0, 4, "Framing course, Aldermere"),
    Away(CONSERVATOR, 3, 0, 4, "Leave"),
)

# Work of so many hours or more is estimated at the bench: as shares of the likely hours.
ESTIMATED_FROM = 4.0
LOW, HIGH = 0.75, 1.75
# Days of framing, drying and transport before it is wanted, by kind of work.
SETTING_DAYS = {"treat": 4, "stabilise": 2, "mount-and-frame": 3}
