"""Photographs as the desk shows them: in the order of the lights, with the marks drawn on them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from survey.examination.models import Observation, Photograph
from survey.imaging.decoded import upright_size
from survey.reports.drawing import gathered
from survey.reports.words import light_name
from survey.sync.files import stored_path
from survey.sync.models import StoredFile
from survey.vocabulary import queries as vocabulary

# A ring's radius, as a share of the picture's longer side: to be seen where pictures stand
# side by side, and to hide less where one stands alone.
RING_SMALL = 0.04
RING_LARGE = 0.022
# Rings closer than this many radii share one label, so that no number covers another.
SHARED_WITHIN = 2.5


@dataclass(frozen=True)
class Mark:
    """A ring on a photograph; lengths in its pixels, y downwards.

    label  the number of its observation; several where rings lie close; "" for all but the
           first of these
    """

    label: str
    x: float
    y: float
    radius: float

    @property
    def text_size(self) -> float:
        return 1.6 * self.radius

    @property
    def label_y(self) -> float:
        """The number stands above its ring; at the top edge, below it."""
        above = self.y - 2 * self.radius
        return above if above > self.radius else self.y + 2 * self.radius


@dataclass(frozen=True)
class Plate:
    """One photograph. ``is_here`` is False until the tablet has sent its bytes.

    trouble  a sentence when the file is kept but cannot be shown whole
    """

    photograph: Photograph
    is_here: bool
    trouble: str
    marks: tuple[Mark, ...]

    @property
    def name(self) -> str:
        """``Raking light from 45°, recto``."""
        photograph = self.photograph
        return f"{light_name(photograph.light, photograph.azimuth_deg)}, {photograph.side}"

    @property
    def labels(self) -> str:
        """The numbers of the observations that are marked on it: ``1, 4, 7``."""
        return ", ".join(mark.label for mark in self.marks if mark.label)

    @property
    def size(self) -> tuple[int, int]:
        return _size(self.photograph)


def plates_of(
    examinations: Iterable[Any],
    observations: Iterable[tuple[int, Observation]] = (),
    ring: float = RING_SMALL,
) -> dict[Any, list[Plate]]:
    """Plates by the key of their examination, recto first; two queries.

    observations  numbered; those with a mark are drawn on the photograph it names
    ring          radius of a mark, as a share of the picture's longer side
    """
    photographs = list(
        Photograph.objects.filter(examination__in=list(examinations), deleted_at=None)
    )
    here = dict(
        StoredFile.objects.filter(pk__in={one.sha256 for one in photographs}).values_list(
            "pk", "facts"
        )
    )
    marked: dict[str, list[tuple[int, Any]]] = defaultdict(list)
    for number, observation in observations:
        if observation.mark:
            marked[observation.mark["photograph"]].append((number, observation.mark))
    order = [light["code"] for light in vocabulary.lights()]
    photographs.sort(
        key=lambda one: (one.side, order.index(one.light), one.azimuth_deg or 0, one.taken_at)
    )
    plates: dict[Any, list[Plate]] = defaultdict(list)
    for photograph in photographs:
        plates[photograph.examination_id].append(
            Plate(
                photograph,
                is_here=photograph.sha256 in here,
                trouble=here.get(photograph.sha256, {}).get("trouble") or photograph.trouble,
                marks=_marks(marked[str(photograph.pk)], photograph, ring),
            )
        )
    return plates


def upright_sizes(plates: Iterable[Plate]) -> dict[UUID, tuple[int, int]]:
    """Width and height in pixels of each photograph as it is seen, turned by its EXIF
    orientation; a record has them as they are stored."""
    found = {}
    for plate in plates:
        photograph = plate.photograph
        size = upright_size(stored_path(photograph.sha256)) if plate.is_here else None
        found[photograph.pk] = size or _size(photograph)
    return found


def covers(examinations: Iterable[Any]) -> dict[Any, Plate]:
    """One picture to know each examination's object by; two queries."""
    return covers_among(plates_of(examinations))


def covers_among(plates_of_each: Mapping[Any, Sequence[Plate]]) -> dict[Any, Plate]:
    """Of each examination's plates the first that has arrived."""
    found = {}
    for key, plates in plates_of_each.items():
        here = [plate for plate in plates if plate.is_here]
        found[key] = (here or plates)[0]
    return found


def _marks(
    numbered: list[tuple[int, dict[str, Any]]], photograph: Photograph, ring: float
) -> tuple[Mark, ...]:
    width, height = _size(photograph)
    radius = ring * max(width, height)
    places = [(mark["x"] * width, mark["y"] * height) for _, mark in numbered]
    marks = []
    for group in gathered(places, SHARED_WITHIN * radius):
        label = ", ".join(str(numbered[place][0]) for place in group)
        marks += [
            Mark("" if place != group[0] else label, *places[place], radius) for place in group
        ]
    return tuple(marks)


def _size(photograph: Photograph) -> tuple[int, int]:
    """In pixels; where it was not read, a common shape, so that a mark still has a place."""
    return photograph.width_px or 400, photograph.height_px or 300
