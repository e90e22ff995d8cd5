"""How each photograph lies on its sheet: by its own placing, or by way of another photograph."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any
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
    compared        that other one is of an earlier examination, with which it was compared
    by_scale        it is known how large the sheet is on it, but not where: a scale alone was set
    """

    matrix: Matrix
    uncertainty_mm: float | None
    aligned: bool = False
    compared: bool = False
    by_scale: bool = False


def as_matrix(numbers: object) -> Matrix:
    return np.asarray(numbers, dtype=np.float64).reshape(3, 3)


def as_numbers(matrix: Matrix) -> list[float]:
    """Row by row, scaled so that the last one is 1, as records hold it."""
    return [float(number) for number in (matrix / matrix[2, 2]).reshape(-1)]


def lies(
    photographs: "list[Photograph]",
    alignments: Mapping[UUID, Alignment],
    later: Mapping[UUID, LaterPlacing],
    found_beside: Mapping[UUID, Lie] = MappingProxyType({}),
    *,
    together: bool = False,
) -> dict[UUID, Lie]:
    """How each of these photographs lies on its side of the sheet, where that is known.

    found_beside  how some lie by what a reading found: counts after everything else
    together  rather than by its own placing, a photograph lies where it was aligned: two lights
              then agree better with each other than corners that were tapped twice
    """
    placed = {one.pk: lie for one in photographs if (lie := _own(one, later.get(one.pk)))}
    own = {**found_beside, **placed}
    bases = dict(own)
    for key, alignment in alignments.items():
        # Where a placed photograph lies on another one, that one is placed as well.
        if key in own and alignment.onto_id not in bases:
            back = inverse(as_matrix(alignment.matrix))
            bases[alignment.onto_id] = _through(own[key], back, alignment.residual_mm)
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
    return _through(base, as_matrix(alignment.matrix), alignment.residual_mm)


def _own(photograph: Photograph, later: LaterPlacing | None) -> Lie | None:
    homography = later.homography if later else photograph.homography
    if homography is None:
        return None
    placing = (later.placing if later else photograph.placing) or {}
    return Lie(
        as_matrix(homography),
        placing.get("uncertainty_mm"),
        by_scale=placing.get("kind") == "scale",
    )


def _through(base: Lie, matrix: Matrix, residual_mm: float | None) -> Lie:
    uncertainty = base.uncertainty_mm
    if uncertainty is not None and residual_mm is not None:
        uncertainty = float(np.hypot(uncertainty, residual_mm))
    return replace(base, matrix=base.matrix @ matrix, uncertainty_mm=uncertainty, aligned=True)


def by_comparison(
    earlier: Lie,
    laid: Mapping[str, Any],
    before_mm: tuple[float, float] | None,
    now_mm: tuple[float, float] | None,
) -> Lie:
    """How a photograph lies that was compared with one of an earlier examination.

    earlier            how that one lies on the sheet of its examination
    laid               what the comparison found: see ``kinds.changes``
    before_mm, now_mm  the sheet's size on both: two rulers never agree
    """
    lie = _through(earlier, as_matrix(laid["matrix"]), laid["residual_mm"])
    scale = np.eye(3)
    if before_mm is not None and now_mm is not None:
        scale = np.diag([now_mm[0] / before_mm[0], now_mm[1] / before_mm[1], 1.0])
    return replace(lie, matrix=scale @ lie.matrix, compared=True)


def size_of(examination: Examination) -> tuple[float, float] | None:
    """(width, height) of the sheet in mm: as examined, else as the catalogue has it."""
    for width, height in (
        (examination.sheet_width_mm, examination.sheet_height_mm),
        (examination.object.width_mm, examination.object.height_mm),
    ):
        if width and height:
            return width, height
    return None
