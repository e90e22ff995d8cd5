"""The collection: objects as the catalogue tells them, and as the renderer could draw them."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from survey.demo.museum.makers import Maker, makers
from survey.demo.museum.names import Tongue, pick, place_name
from survey.demo.museum.places import (
    COLD_ROOM,
    FRAME_STORE,
    GALLERIES,
    MUSEUM,
    NORTH_BAY,
    PAPER_STORE,
    SOUTH_BAY,
    STUDIO,
    STUDY_ROOM,
    shelves_within,
)
from survey.demo.sheet.noise import stream


@dataclass(frozen=True)
class Kind:
    """A way of working: its words in the catalogue, its years, its usual size, its share.

    code       medium of the renderer; "" for what it does not draw
    longest_mm range of the longer edge
    """

    code: str
    media: str
    years: tuple[int, int]
    longest_mm: tuple[int, int]
    subjects: tuple[str, ...]
    share: float
    studio: str = "paper"
    support: str = ""


KINDS = (
    Kind("pen-brown-ink", "Pen and brown ink", (1480, 1830), (120, 330),
         ("landscape", "plant", "figure", "head"), 9),
    Kind("pen-brown-ink", "Iron gall ink", (1500, 1860), (190, 330), ("letter",), 4),
    Kind("pen-and-wash", "Pen and brown ink, brown wash", (1500, 1850), (150, 390),
         ("landscape", "harbour", "facade", "figure"), 9),
    Kind("pen-grey-wash", "Pen and black ink, grey wash", (1600, 1880), (180, 420),
         ("facade", "harbour", "landscape", "vessels"), 7),
    Kind("black-chalk", "Black chalk", (1500, 1950), (180, 420), ("figure", "head",
        "landscape"), 7),
    Kind("red-chalk", "Red chalk", (1520, 1840), (160, 380), ("head", "figure"), 6),
    Kind("graphite", "Graphite", (1680, 1985), (130, 360),
         ("head", "landscape", "plant", "vessels", "figure"), 9),
    Kind("watercolour", "Watercolour over graphite", (1760, 1985), (160, 420),
         ("landscape", "harbour", "plant", "vessels", "facade"), 14),
    Kind("etching", "Etching", (1530, 1985), (90, 360), ("landscape", "harbour", "facade",
        "vessels"), 12),
    Kind("engraving", "Engraving", (1480, 1860), (90, 400), ("plant", "facade", "figure",
        "vessels"), 8),
    Kind("woodcut", "Woodcut", (1490, 1985), (110, 340), ("harbour", "vessels", "plant"), 4),
    Kind("lithograph", "Lithograph", (1812, 1985), (200, 480), ("head", "landscape",
        "composition"), 5),
    Kind("colour-lithograph", "Lithograph in colours", (1925, 1985), (280, 520),
        ("composition",), 4),
    Kind("", "Pastel", (1740, 1960), (220, 620), ("head", "landscape"), 2),
    Kind("", "Albumen print", (1858, 1895), (140, 300), ("photograph",), 3, "photographs",
         "Photographic paper, albumen"),
    Kind("", "Gelatine silver print", (1895, 1980), (120, 400), ("photograph",), 3, "photographs",
         "Photographic paper, gelatine on baryta"),
    Kind("", "Oil on paper laid on canvas", (1780, 1900), (220, 560), ("landscape",), 1.2,
        "paintings",
         "Paper mounted on textile"),
    Kind("", "Hand-coloured engraved globe gores on a papier-mâché sphere", (1640, 1850), (150,
        420),
         ("globe",), 0.5, "objects", "Paper on board"),
    Kind("", "Printed cotton, paper pattern attached", (1780, 1870), (300, 700), ("pattern",), 0.5,
         "textiles", "Paper mounted on textile"),
)  # fmt: skip

MOST_WORKS = 4000
LATEST_YEAR = 1985
# A gift holds nothing newer than this many years before it came.
NEWEST_IN_GIFT = 4

CENTURIES = {14: "15th", 15: "16th", 16: "17th", 17: "18th", 18: "19th", 19: "20th"}

UPRIGHT = frozenset({"plant", "figure", "head", "letter", "composition"})


@dataclass(frozen=True)
class Work:
    """One object. ``number`` is its place in the collection, from 0; ``place`` a path."""

    number: int
    accession_number: str
    title: str
    maker: str
    date_text: str
    earliest_year: int
    latest_year: int
    width_mm: float
    height_mm: float
    support: str
    media: str
    studio: str
    significance: str
    value_band: str
    mounts: str
    place: str
    off_site_place: str
    subject: str
    medium: str


@cache
def works(seed: int, count: int) -> tuple[Work, ...]:
    """The first ``count`` objects; a longer collection begins with the shorter one.

    Raises ValueError for more than MOST_WORKS.
    """
    if count > MOST_WORKS:
        raise ValueError(f"The invented museum has no more than {MOST_WORKS:,} objects.")
    everybody = makers(seed)
    return tuple(_work(seed, number, everybody) for number in range(count))


def moved_to(work: Work, place: str, off_site_place: str) -> Work:
    """The same work elsewhere: framed where it hangs on a wall, out of its frame in a drawer."""
    hangs = place.startswith(f"{MUSEUM}/Gallery")
    mounts = work.mounts
    if hangs != mounts.startswith("Framed"):
        mounts = "Framed behind glass" if hangs else "Window mount, hinged"
    return replace(work, place=place, off_site_place=off_site_place, mounts=mounts)


def _work(seed: int, number: int, everybody: list[Maker]) -> Work:
    random = stream(seed, "work", str(number))
    accession = _gifts(seed)[number]
    newest = min(accession[0] - NEWEST_IN_GIFT, LATEST_YEAR)
    shares = np.array([kind.share * (kind.years[0] + 10 < newest) for kind in KINDS])
    kind = KINDS[int(random.choice(len(KINDS), p=shares / shares.sum()))]
    first, last = kind.years[0], min(kind.years[1], newest)
    # More is kept from the later centuries, as everywhere.
    year = int(first + (last - first) * random.random() ** 0.7)
    date_text, earliest, latest = _dated(random, year, newest)
    able = [maker for maker in everybody if maker.was_working(earliest, latest)]
    maker = able[int(random.integers(len(able)))]
    subject = pick(random, kind.subjects)
    width, height = _sized(random, kind, subject)
    significance = str(
        random.choice(
            ["exceptional", "high", "medium", "low", "unassessed"], p=(0.02, 0.12, 0.40, 0.26, 0.20)
        )
    )
    place, off_site = _kept(random, kind, significance, latest)
    return Work(
        number=number,
        accession_number=".".join(map(str, accession)),
        title=_title(random, subject, maker.tongue, kind),
        maker=_attributed(random, maker),
        date_text=date_text,
        earliest_year=earliest,
        latest_year=latest,
        width_mm=width,
        height_mm=height,
        support=kind.support or _support(random, earliest, kind.code),
        media=kind.media,
        studio=kind.studio,
        significance=significance,
        value_band=_band(random, significance),
        mounts=_mounted(random, kind, place),
        place=place,
        off_site_place=off_site,
        subject=subject if kind.code else "",
        medium=kind.code,
    )


@cache
def _gifts(seed: int) -> list[tuple[int, int, int]]:
    """Accession numbers: year, which gift of that year, which piece of it, as in 1931.24.7.

    Gifts come in runs of one to forty pieces; a run's numbers go on from one work to the next.
    """
    random = stream(seed, "gifts")
    given: dict[int, int] = {}
    numbers: list[tuple[int, int, int]] = []
    while len(numbers) < MOST_WORKS:
        year = int(
            random.integers(1986, 2020) if random.random() < 0.3 else random.integers(1894, 1986)
        )
        given[year] = given.get(year, 0) + int(random.integers(1, 9))
        pieces = 1 + int(random.geometric(0.12))
        numbers += [(year, given[year], piece) for piece in range(1, min(pieces, 40) + 1)]
    return numbers


def _dated(random: np.random.Generator, year: int, newest: int) -> tuple[str, int, int]:
    """The date in words, its earliest and its latest year; none later than ``newest``."""
    way = random.random()
    if way < 0.34:
        return str(year), year, year
    near, decade, half = 5 * round(year / 5), year - year % 10, year - year % 50
    until = year + int(random.integers(2, 9))
    if way < 0.66 and near + 5 <= newest:
        return f"about {near}", near - 5, near + 5
    if way < 0.82 and decade + 9 <= newest:
        return f"{decade}s", decade, decade + 9
    if way < 0.93 and until <= newest:
        return f"{year}–{until}", year, until
    if half + 49 <= newest:
        which = "first" if half % 100 == 0 else "second"
        century = CENTURIES[half // 100]
        return f"{which} half of the {century} century", half, half + 49
    return str(year), year, year


def _sized(random: np.random.Generator, kind: Kind, subject: str) -> tuple[float, float]:
    low, high = kind.longest_mm
    longer = int(low + (high - low) * random.beta(2, 2.6))
    shorter = int(longer * random.uniform(0.66, 0.84))
    upright = subject in UPRIGHT or (subject == "vessels" and random.random() < 0.2)
    return (float(shorter), float(longer)) if upright else (float(longer), float(shorter))


def _support(random: np.random.Generator, year: int, medium: str) -> str:
    if medium in ("black-chalk", "red-chalk") and random.random() < 0.22 and year < 1850:
        return "Laid paper, blue"
    if year < 1757:
        # Wove paper was first made in the West in the 1750s; from memory.
        return "Laid paper"
    if year < 1800:
        return "Laid paper" if random.random() < 0.75 else "Wove paper"
    if year < 1850:
        return "Wove paper" if random.random() < 0.7 else "Laid paper"
    way = random.random()
    if way < 0.34:
        return "Wove paper"
    if way < 0.66:
        return "Machine-made paper"
    if way < 0.78 and year > 1870:
        return "Paper with mechanical wood pulp"
    if way < 0.86:
        return "Japanese paper"
    return "Laid paper"


def _attributed(random: np.random.Generator, maker: Maker) -> str:
    way = random.random()
    if way < 0.72:
        return maker.in_words
    if way < 0.80:
        return f"Attributed to {maker.in_words}"
    if way < 0.86:
        return f"After {maker.in_words}"
    if way < 0.91:
        return f"Workshop of {maker.in_words}"
    return f"Unknown artist, {maker.tongue.adjective}"


def _band(random: np.random.Generator, significance: str) -> str:
    chances = {
        "exceptional": (0.7, 0.3, 0.0, 0.0),
        "high": (0.15, 0.55, 0.3, 0.0),
        "medium": (0.0, 0.2, 0.6, 0.2),
        "low": (0.0, 0.0, 0.3, 0.7),
        "unassessed": (0.0, 0.05, 0.35, 0.6),
    }[significance]
    return "" if random.random() < 0.15 else str(random.choice(["a", "b", "c", "d"], p=chances))


def _kept(
    random: np.random.Generator, kind: Kind, significance: str, latest: int
) -> tuple[str, str]:
    """Where it is: a path in the tree, or a place outside it in words."""
    way = random.random()
    if way < 0.006:
        return "", pick(random, ("On loan to Northmere Hall", "On loan to the Kelpstrand Library"))
    rooms: tuple[str, ...]
    if kind.studio == "photographs":
        rooms = (COLD_ROOM,)
    elif kind.studio != "paper":
        rooms = (SOUTH_BAY, NORTH_BAY)
    elif way < (0.16 if significance in ("exceptional", "high") else 0.035):
        rooms = (f"{MUSEUM}/{_gallery(kind, latest)}",)
    elif way < 0.06:
        rooms = (FRAME_STORE,)
    elif way < 0.075:
        rooms = (STUDIO, STUDY_ROOM)
    elif way < 0.30:
        rooms = (NORTH_BAY, SOUTH_BAY)
    else:
        rooms = (PAPER_STORE,)
    shelves = _shelves(rooms)
    return shelves[int(random.integers(len(shelves)))], ""


def _gallery(kind: Kind, latest: int) -> str:
    if latest >= 1900:
        return GALLERIES[3]
    if kind.code in ("etching", "engraving", "woodcut", "lithograph"):
        return GALLERIES[1]
    return GALLERIES[0] if latest < 1700 else GALLERIES[2]


@cache
def _shelves(rooms: tuple[str, ...]) -> list[str]:
    return [shelf for room in rooms for shelf in shelves_within(room)]


def _mounted(random: np.random.Generator, kind: Kind, place: str) -> str:
    if place.startswith((MUSEUM + "/Gallery", FRAME_STORE)):
        return pick(random, ("Framed behind glass", "Framed behind acrylic"))
    if kind.studio in ("objects", "textiles"):
        return "Not mounted"
    return str(
        random.choice(
            ["Window mount, hinged", "Paper folder", "Not mounted", "Polyester sleeve",
             "Historic or collector's mount", "Laid down on paper or board",
             "Backboard only, hinged"],
            p=(0.36, 0.20, 0.18, 0.08, 0.06, 0.07, 0.05),
        )
    )  # fmt: skip


PLANTS = (
    "hellebore", "marsh marigold", "field scabious", "burnet rose", "sea holly", "ox-eye daisy",
    "meadow cranesbill", "flowering rush", "water avens", "corn cockle", "sea aster", "tansy",
)  # fmt: skip
BUILDINGS = (
    "a customs house", "a corn exchange", "a bath house", "an orangery", "a guildhall",
    "a garden pavilion", "a library", "a ferry office", "an almshouse",
)  # fmt: skip


def _title(random: np.random.Generator, subject: str, tongue: Tongue, kind: Kind) -> str:
    place = place_name(random, tongue)
    plant, building = pick(random, PLANTS), pick(random, BUILDINGS)
    titles = {
        "landscape": (
            f"Farm beside a lane near {place}", f"View towards {place}",
            f"Meadows at {place}, evening",
            f"Hills above {place}", f"The old road to {place}", f"Trees and cottages, {place}",
        ),
        "plant": (
            f"Study of {plant}", f"{plant.capitalize()}, with petal and seeds",
            f"{plant.capitalize()} from the garden at {place}",
        ),
        "facade": (
            f"Elevation of {building} for {place}", f"Design for {building}",
            f"Front of {building}, with its scale", f"{place}: {building}, principal front",
        ),
        "figure": (
            "Standing figure in a long cloak", "Drapery study", "Figure with folded arm",
            f"Woman of {place}, standing", "Study for a procession",
        ),
        "head": (
            "Head in profile", "Study of a head with gathered hair", "Profile of a young woman",
            f"Head of a net-mender, {place}",
        ),
        "harbour": (
            f"Shipping off {place}", f"Three-masters in {place} roads", f"The anchorage at {place}",
            f"Calm morning, {place}", "Merchantmen becalmed",
        ),
        "vessels": (
            "Jars and fruit on a table", "Three vessels", "Still life with a stoneware jar",
            f"Pots from {place}",
        ),
        "composition": (
            "Untitled (bars and disc)", f"Composition no. {int(random.integers(2, 40))}",
            "Crossing", f"Signal, {place}", "Balance in three colours",
        ),
        "letter": (
            f"Letter written from {place}", "Letter to a paper merchant",
            f"Letter concerning a harbour light at {place}", "Letter to a brother",
        ),
        "photograph": (
            f"Fish quay, {place}", f"The rope walk, {place}", f"Group before a chapel, {place}",
            "Studio portrait of two sisters", f"Tide mill at {place}",
        ),
        "globe": (f"Terrestrial globe, {place}", "Celestial globe for the table"),
        "pattern": (f"Printed cotton with paper pattern, {place}", "Sampler of printed borders"),
    }[subject]  # fmt: skip
    return pick(random, titles)
