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
        (6, 6, 6, 6, 4),
        ("stabilise", "treat", "image-or-analyse", "isolate", "monitor"),
    ),
    Post(SECOND, (6, 0, 6, 6, 6), ("treat", "mount-and-frame", "rehouse", "isolate", "monitor")),
    Post(HEAD, (0, 3, 0, 3, 0), ("stabilise", "image-or-analyse", "monitor")),
)

AWAY = (
    Away(SECOND, 1, 0, 2, "Framing course, Aldermere"),
    Away(CONSERVATOR, 4, 0, 4, "Leave"),
)

# Work of so many hours or more is estimated at the bench: as shares of the likely hours.
ESTIMATED_FROM = 4.0
LOW, HIGH = 0.75, 1.75
# Days of framing, drying and transport before it is wanted, by kind of work.
SETTING_DAYS = {"treat": 3, "stabilise": 2, "mount-and-frame": 2}
