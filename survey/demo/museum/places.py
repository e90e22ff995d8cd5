"""Where things stand: two sites, from building down to shelf, drawer and wall."""

from collections.abc import Iterator
from dataclasses import dataclass

WALLS = ("North wall", "East wall", "South wall", "West wall")


@dataclass(frozen=True)
class Place:
    """One place; ``above`` is the path of the place it is in, "" for a site."""

    path: str
    kind: str
    name: str
    above: str
    order: int


def _branch(above: str, kind: str, names: list[str]) -> Iterator[Place]:
    for order, name in enumerate(names):
        yield Place(f"{above}/{name}" if above else name, kind, name, above, order)


def _numbered(word: str, count: int) -> list[str]:
    return [f"{word} {number}" for number in range(1, count + 1)]


SITE, STORE_SITE = "Custom House Quay", "Saltmarsh Store"
MUSEUM, ANNEXE = f"{SITE}/Old Custom House", f"{SITE}/Ropewalk Wing"
WAREHOUSE = f"{STORE_SITE}/Warehouse 3"

GALLERIES = [
    "Gallery 1, Drawings before 1700",
    "Gallery 2, Prints and their makers",
    "Gallery 3, Water and shore",
    "Gallery 4, Paper since 1900",
]
PAPER_STORE = f"{ANNEXE}/Paper store"
FRAME_STORE = f"{ANNEXE}/Frame store"
STUDIO = f"{ANNEXE}/Conservation studio"
CRATES = f"{MUSEUM}/Crate room"
STUDY_ROOM = f"{MUSEUM}/Study room"
NORTH_BAY, SOUTH_BAY = f"{WAREHOUSE}/North bay", f"{WAREHOUSE}/South bay"
COLD_ROOM = f"{WAREHOUSE}/Cold room"


def places() -> list[Place]:
    """The whole tree, each place after the one it is in."""
    tree = [*_branch("", "site", [SITE, STORE_SITE])]
    tree += _branch(SITE, "building", ["Old Custom House", "Ropewalk Wing"])
    tree += _branch(STORE_SITE, "building", ["Warehouse 3"])
    tree += _branch(MUSEUM, "room", [*GALLERIES, "Study room", "Crate room"])
    for gallery in GALLERIES:
        tree += _branch(f"{MUSEUM}/{gallery}", "wall", list(WALLS))
    tree += _branch(STUDY_ROOM, "unit", ["Reading cabinet"])
    tree += _branch(f"{STUDY_ROOM}/Reading cabinet", "shelf", _numbered("Shelf", 3))
    tree += _branch(CRATES, "unit", ["Incoming", "Outgoing"])
    tree += _branch(ANNEXE, "room", ["Paper store", "Frame store", "Conservation studio"])
    tree += _branch(PAPER_STORE, "unit", [*_numbered("Plan chest", 5), *_numbered("Box rack", 6)])
    for chest in _numbered("Plan chest", 5):
        tree += _branch(f"{PAPER_STORE}/{chest}", "shelf", _numbered("Drawer", 8))
    for rack in _numbered("Box rack", 6):
        tree += _branch(f"{PAPER_STORE}/{rack}", "shelf", _numbered("Shelf", 6))
    tree += _branch(FRAME_STORE, "unit", _numbered("Screen", 6))
    tree += _branch(STUDIO, "unit", ["Bench 1", "Bench 2", "Holding cupboard"])
    tree += _branch(f"{STUDIO}/Holding cupboard", "shelf", _numbered("Shelf", 4))
    tree += _branch(WAREHOUSE, "room", ["North bay", "South bay", "Cold room"])
    for bay in (NORTH_BAY, SOUTH_BAY):
        tree += _branch(bay, "unit", _numbered("Rack", 4))
        for rack in _numbered("Rack", 4):
            tree += _branch(f"{bay}/{rack}", "shelf", _numbered("Shelf", 5))
    tree += _branch(COLD_ROOM, "unit", ["Cabinet 1", "Cabinet 2"])
    for cabinet in ("Cabinet 1", "Cabinet 2"):
        tree += _branch(f"{COLD_ROOM}/{cabinet}", "shelf", _numbered("Shelf", 4))
    return tree


def shelves_within(path: str) -> list[str]:
    """The places at the end of a branch: where an object can lie or hang."""
    tree = places()
    inner = {place.above for place in tree}
    return [
        place.path
        for place in tree
        if place.path not in inner and f"{place.path}/".startswith(f"{path}/")
    ]
