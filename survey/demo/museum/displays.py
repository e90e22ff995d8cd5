"""Where some of the examined sheets hung, how brightly, and how they answer to light."""

from dataclasses import dataclass

from survey.demo.museum.rounds import CONSERVATOR, HEAD, SECOND


@dataclass(frozen=True)
class Hang:
    """One display. It begins on a day of the year so many years before that of seeding.

    years_back   0 is the year of seeding, below zero lies ahead
    begins       month and day
    hours        on a lit day; None where ``in_all`` has the hours of the whole display
    ultraviolet  µW/lm; None was not measured
    percent      standard uncertainty of the lux hours
    """

    place: str
    years_back: int
    begins: tuple[int, int]
    days: int
    lux: float
    hours: float | None
    days_a_week: float = 6
    in_all: float | None = None
    ultraviolet: float | None = None
    percent: float = 10
    person: str = CONSERVATOR
    remark: str = ""

    @property
    def is_measured(self) -> bool:
        return self.percent < 20


@dataclass(frozen=True)
class Lit:
    """The light on the sheet of one case; ``category`` "" was not set yet."""

    case: int
    category: str
    why: str
    hangs: tuple[Hang, ...]


OWN_LIMIT = (
    "medium",
    50.0,
    120_000.0,
    "Two exhibitions in three years; agreed at the department's meeting.",
)

LIT = (
    Lit(1, "medium", "Iron gall ink and a grey wash on white laid paper.", (
        Hang("Gallery 3, first hang", 9, (3, 1), 365, 80, 9, percent=35, person=HEAD,
             remark="From the hanging book; the lux is what the lamps of that year gave."),
        Hang("The Tidal Coast", 4, (5, 14), 130, 50, 8, ultraviolet=12),
        Hang("Lent to Northmere Hall", 2, (9, 20), 98, 55, 7, ultraviolet=30, percent=15,
             person=SECOND),
    )),
    Lit(0, "medium", "Brown ink, perhaps bistre; the paper has toned.", (
        Hang("Gallery 1, east wall", 6, (1, 10), 240, 50, 8, ultraviolet=20),
        Hang("Lines under Lines, first showing", 3, (10, 1), 150, 45, 8, ultraviolet=9),
    )),
    Lit(2, "low", "Red chalk, an earth, on sound rag paper.", (
        Hang("Gallery 1, south wall", 5, (4, 3), 420, 60, 8, ultraviolet=20),
    )),
    Lit(3, "medium", "Brown ink.", (
        Hang("Study room, open day", 1, (6, 8), 3, 150, None, in_all=19, percent=12,
             remark="From the room's logger."),
    )),
    Lit(5, "medium", "Watercolour with indigo in the sky.", (
        Hang("Gallery 3, west wall", 7, (2, 1), 180, 50, 8, ultraviolet=25),
        Hang("Paper and Water, preview", 0, (1, 5), 90, 50, 8, ultraviolet=10),
    )),
    Lit(6, "medium", "Watercolour; the yellow was not identified.", (
        Hang("Gallery 3, north wall", 5, (7, 1), 300, 70, 9, ultraviolet=95, percent=30,
             remark="Below a skylight, before the blinds."),
    )),
    Lit(13, "high", "The petals are a pink lake, carmine by its glow.", (
        Hang("Flowers on the Quay", 2, (4, 10), 42, 45, 7, ultraviolet=8),
        # The whole year's light, and more, before the spring.
        Hang("Gallery 2, winter hang", 0, (1, 1), 45, 50, 8, 7, ultraviolet=10),
    )),
    Lit(18, "medium", "Watercolour, mostly earths.", (
        Hang("Gallery 3, west wall", 8, (1, 15), 500, 60, 9, percent=30, person=HEAD),
        Hang("Paper and Water", -1, (2, 1), 110, 50, 8, ultraviolet=10, remark="Planned."),
    )),
    Lit(20, "low", "Carbon black ink on rag paper.", (
        Hang("Gallery 2, long wall", 3, (1, 20), 700, 80, 9, ultraviolet=40),
    )),
    Lit(22, "high", "Pink and violet washes that have faded at the mount's edge.", (
        Hang("Lent to Northmere Hall", 1, (3, 1), 60, 50, 6, ultraviolet=15, person=SECOND),
    )),
    Lit(24, "", "", (
        Hang("Reading cabinet, letters shown in turn", 2, (9, 1), 30, 40, 5, 5, percent=40),
    )),
    Lit(33, "high", "Colour lithograph; the red is an aniline by its date.", (
        Hang("Gallery 4, new hang, trial", 1, (11, 10), 70, 48, 8, ultraviolet=9),
    )),
    Lit(35, "medium", "Watercolour on machine-made paper.", (
        Hang("Gallery 4, east wall", 4, (3, 3), 365, 50, 9, ultraviolet=22),
    )),
)  # fmt: skip
