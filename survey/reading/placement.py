"""How each photograph lies on its sheet: by its own placing, or by way of another photograph."""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

import numpy as np

from survey.examination.models import Examination, Photograph
from survey.imaging.geometry import Matrix, inverse
from survey.reading.models import Alignment, LaterPlacing


@dataclass(frozen=True)
class Lie:
    """Where a photograph lies.

    matrix          3 × 3: pixels of the upright picture at full size → sheet mm on its side
    uncertainty_mm  standard uncertainty of a place on the sheet; None when nobody said
    aligned         whether it is known only by way of another photograph
    """

    matrix: Matrix
    uncertainty_mm: float | None
    aligned: bool = False


def as_matrix(numbers: object) -> Matrix:
    return np.asarray(numbers, dtype=np.float64).reshape(3, 3)


def as_numbers(matrix: Matrix) -> list[float]:
    """Row by row, scaled so that the last one is 1, as records hold it."""
    return [float(number) for number in (matrix / matrix[2, 2]).reshape(-1)]


def lies(
    photographs: "list[Photograph]",
    alignments: Mapping[UUID, Alignment],
    later: Mapping[UUID, LaterPlacing],
    *,
    together: bool = False,
) -> dict[UUID, Lie]:
    """How each of these photographs lies on its side of the sheet, where that is known.

    together  rather than by its own placing, a photograph lies where it was aligned: two lights
              then agree better with each other than corners that were tapped twice
    """
    own = {one.pk: lie for one in photographs if (lie := _own(one, later.get(one.pk)))}
    bases = dict(own)
    for key, alignment in alignments.items():
        # Where a placed photograph lies on another one, that one is placed as well.
        if key in own and alignment.onto_id not in bases:
            back = inverse(as_matrix(alignment.matrix))
            bases[alignment.onto_id] = _through(own[key], back, alignment)
    found = {}
    for one in photographs:
        directly, by_way = bases.get(one.pk), _by_way(alignments.get(one.pk), bases)
        lie = (by_way or directly) if together else (directly or by_way)
        if lie:
            found[one.pk] = lie
    return found


def _by_way(alignment: Alignment | None, bases: Mapping[UUID, Lie]) -> Lie | None:
    base = bases.get(alignment.onto_id) if alignment else None
    if alignment is None or base is None:
        return None
    return _through(base, as_matrix(alignment.matrix), alignment)


def _own(photograph: Photograph, later: LaterPlacing | None) -> Lie | None:
    homography = later.homography if later else photograph.homography
    if homography is None:
        return None
    placing = (later.placing if later else photograph.placing) or {}
    return Lie(as_matrix(homography), placing.get("uncertainty_mm"))


def _through(base: Lie, matrix: Matrix, alignment: Alignment) -> Lie:
    uncertainty = base.uncertainty_mm
    if uncertainty is not None and alignment.residual_mm is not None:
        uncertainty = float(np.hypot(uncertainty, alignment.residual_mm))
    return Lie(base.matrix @ matrix, uncertainty, aligned=True)


def size_of(examination: Examination) -> tuple[float, float] | None:
    """(width, height) of the sheet in mm: as examined, else as the catalogue has it."""
    for width, height in (
        (examination.sheet_width_mm, examination.sheet_height_mm),
        (examination.object.width_mm, examination.object.height_mm),
    ):
        if width and height:
            return width, height
    return None
