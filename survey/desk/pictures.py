"""Photographs as the desk shows them: in the order of the lights, with the marks drawn on them."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from survey.desk.words import light_name
from survey.examination.models import Observation, Photograph
from survey.sync.models import StoredFile
from survey.vocabulary import queries as vocabulary

# A ring's radius, as a share of the picture's longer side.
RING = 0.022


@dataclass(frozen=True)
class Mark:
    """A numbered ring on a photograph; lengths in its pixels, y downwards."""

    number: int
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
    def size(self) -> tuple[int, int]:
        return _size(self.photograph)


def plates_of(
    examinations: Iterable[Any], observations: Iterable[tuple[int, Observation]] = ()
) -> dict[Any, list[Plate]]:
    """Plates by the key of their examination, recto first; two queries.

    ``observations`` are numbered; those with a mark are drawn on the photograph it names.
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
                marks=tuple(
                    _mark(number, mark, photograph) for number, mark in marked[str(photograph.pk)]
                ),
            )
        )
    return plates


def covers(examinations: Iterable[Any]) -> dict[Any, Plate]:
    """One picture to know each examination's object by: the first that has arrived."""
    found = {}
    for key, plates in plates_of(examinations).items():
        here = [plate for plate in plates if plate.is_here]
        found[key] = (here or plates)[0]
    return found


def _mark(number: int, mark: dict[str, Any], photograph: Photograph) -> Mark:
    width, height = _size(photograph)
    return Mark(number, mark["x"] * width, mark["y"] * height, RING * max(width, height))


def _size(photograph: Photograph) -> tuple[int, int]:
    """In pixels; where it was not read, a common shape, so that a mark still has a place."""
    return photograph.width_px or 400, photograph.height_px or 300
