"""What went out on loan, what is out, and what is to go: the conditions, and the checks made."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from survey.demo.museum.before import Before, seen_before, sitting_before
from survey.demo.museum.photographs import Sitting
from survey.demo.museum.rounds import CASES, CONSERVATOR, COURIER, HEAD, SECOND, Case
from survey.demo.museum.sheets import Sighting

LENDER = "Port Ellery Museum of Works on Paper"
SALT_QUAY, NORTHMERE = "Gallery of the Salt Quay", "Northmere Hall"


@dataclass(frozen=True)
class Travelling:
    """How the sheet of one case goes."""

    case: Case
    crate: str
    frame: str = "Oak moulding, dust sealed"
    glazing: str = "Acrylic, 3 mm"


@dataclass(frozen=True)
class Stop:
    """One check of one sheet.

    days_ago   of the check; an examination of the case's own round keeps its own day
    is_own     the state is an examination made at this stop, else that of the case's round
    lights     of the photographs taken at it
    not_yet    terms of the case that had not come by then
    unseen     terms that could not be seen, and why
    packed     fields of the check, by wire name
    hands      who signed: role, name, and the house they signed for
    """

    case: Case
    stage: str
    days_ago: int
    person: str
    venue: str
    hands: tuple[tuple[str, str, str], ...]
    is_own: bool = False
    lights: tuple[str, ...] = ()
    not_yet: frozenset[str] = frozenset()
    unseen: Mapping[str, str] = field(default_factory=dict)
    packed: Mapping[str, str | float] = field(default_factory=dict)
    place: str = ""

    @property
    def before(self) -> Before:
        """The same sheet before some of its terms had come, for its photographs."""
        return Before(self.case, 0, self.person, "", self.not_yet, self.case.grade, self.lights)

    def sitting(self, now: Sitting) -> Sitting:
        return sitting_before(self.before, now)

    def seen(self, sightings: list[Sighting]) -> list[Sighting]:
        """What was seen of these at the stop."""
        return [one for one in seen_before(self.before, sightings) if one.term not in self.unseen]


@dataclass(frozen=True)
class Lending:
    """One loan. Days count from the day of seeding; ``venues``: name, first and last day."""

    reference: str
    title: str
    borrower: str
    first_day: int
    last_day: int
    objects: tuple[Travelling, ...]
    conditions: Mapping[str, str | float]
    venues: tuple[tuple[str, int, int], ...] = ()
    couriers: tuple[str, ...] = ()
    stops: tuple[Stop, ...] = ()
    note: str = ""


CONDITIONS: dict[str, str | float] = {
    "most_lux": 50.0,
    "most_ultraviolet_uw_lm": 10.0,
    "coolest_c": 18.0,
    "warmest_c": 22.0,
    "driest_percent": 45.0,
    "dampest_percent": 55.0,
    "steepest_display_deg": 90.0,
    "hours_to_acclimatise": 24.0,
    "handling": "Two people at each crate. Nobody opens a frame but a conservator of the lender.",
    "framing": "In the lender's frames, glazed, with security plates; not to be taken out.",
}
MAREN = ("conservator", "Maren Askerby", LENDER)
RUTH = ("courier", "Ruth Pennarrow", LENDER)
CLOSED = "In its sealed frame: the verso and the light from behind were out of reach."

# Red chalk, a watercolour and an engraving that were at Northmere Hall.
CHALK, WATERCOLOUR, ENGRAVING = CASES[21:24]
ARRIVED: dict[str, str | float] = {
    "crate": "Crate NH 1",
    "seals": "PE 0417, PE 0418",
    "seals_whole": "yes",
    "hours_acclimatised": 26.0,
    "logger": "Logger 12: 17.9 to 20.4 °C, 47 to 53 % on the way",
    "temperature_c": 20.1,
    "humidity_percent": 51.0,
    "glazing": "whole",
}
RETURNED: dict[str, str | float] = {
    "crate": "Crate NH 1",
    "seals": "NH 221, NH 222",
    "seals_whole": "yes",
    "hours_acclimatised": 24.0,
    "temperature_c": 19.4,
    "humidity_percent": 57.0,
    "glazing": "whole",
    "note": "A wet crossing: the crate stood a night on deck, under cover.",
}
OSWIN = ("receiver", "Oswin Tarrow", NORTHMERE)


def _chain(case: Case, *, not_yet: tuple[str, ...]) -> tuple[Stop, ...]:
    """A sheet's whole way to Northmere Hall and back."""
    lights = ("normal",)
    out: dict[str, str | float] = {
        "crate": "Crate NH 1",
        "seals": "PE 0417, PE 0418",
        "seals_whole": "yes",
    }
    there = "Crate room, Northmere Hall"
    return (
        Stop(case, "outgoing", 85, CONSERVATOR, LENDER, (MAREN, RUTH), is_own=True, lights=lights,
             not_yet=frozenset(not_yet), packed=out | {"glazing": "whole"}, place="Paper studio"),
        Stop(case, "arrival", 68, COURIER, NORTHMERE, (RUTH, OSWIN), packed=ARRIVED, place=there),
        Stop(case, "return", 19, SECOND, LENDER,
             (("conservator", "Teodor Lindqvale", LENDER), RUTH), is_own=True, lights=lights,
             unseen={"hinge": CLOSED, "watermark": CLOSED}, packed=RETURNED, place="Paper studio"),
    )  # fmt: skip


# Seen four weeks ago in galleries 1 and 2, and packed from the wall.
ON_THE_WAY = CASES[29:32]

LOANS = (
    Lending(
        "L.9",
        "Line and Wash",
        NORTHMERE,
        -86,
        -20,
        tuple(Travelling(case, "Crate NH 1") for case in (CHALK, WATERCOLOUR, ENGRAVING)),
        CONDITIONS,
        couriers=("Ruth Pennarrow",),
        stops=(
            *_chain(CHALK, not_yet=()),
            *_chain(WATERCOLOUR, not_yet=("tear",)),
            *_chain(ENGRAVING, not_yet=()),
        ),
    ),
    Lending(
        "L.12",
        "Ink, Chalk and Air",
        SALT_QUAY,
        -5,
        95,
        tuple(
            Travelling(case, f"Crate SQ {number}")
            for case, number in zip(ON_THE_WAY, (1, 1, 2), strict=True)
        ),
        CONDITIONS | {"steepest_display_deg": 45.0},
        venues=((SALT_QUAY, 3, 58), ("Tarnmouth Print Room", 64, 95)),
        couriers=("Ruth Pennarrow",),
        stops=tuple(
            Stop(
                case,
                "outgoing",
                4,
                CONSERVATOR,
                LENDER,
                (MAREN, RUTH),
                packed={
                    "crate": f"Crate SQ {number}",
                    "seals": f"PE 052{place}",
                    "seals_whole": "yes",
                    "glazing": "whole",
                    "temperature_c": 19.8,
                    "humidity_percent": 49.0,
                },
            )
            for place, (case, number) in enumerate(zip(ON_THE_WAY, (1, 1, 2), strict=True))
        ),
        note="The crates left by ferry four days ago and are opened at the Salt Quay this week.",
    ),
    Lending(
        "L.14",
        "Seven Ships",
        NORTHMERE,
        19,
        120,
        (Travelling(CASES[32], "Crate NH 2"), Travelling(CASES[1], "Crate NH 2")),
        CONDITIONS,
    ),
)
ARRANGED_BY = HEAD
