"""How each photograph lies on the sheet, in words and for the sheet view."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.urls import reverse

from survey.examination.models import Examination, Measurement, Photograph
from survey.reading.models import Alignment
from survey.reading.placement import Lie, as_numbers
from survey.reports.dossier import Noted
from survey.reports.pictures import Plate
from survey.reports.places import places_of
from survey.reports.words import moment_in_words


@dataclass(frozen=True)
class Lying:
    """One photograph: what is known of where it lies.

    can_nudge  there is another photograph of its side that it may be laid on
    """

    plate: Plate
    sentences: tuple[str, ...]
    can_nudge: bool

    @property
    def photograph(self) -> Photograph:
        return self.plate.photograph

    @property
    def name(self) -> str:
        return self.plate.name

    @property
    def can_place(self) -> bool:
        return self.plate.is_here and not self.plate.trouble


def lying(
    plates: Iterable[Plate],
    lies: Mapping[UUID, Lie],
    alignments: Mapping[UUID, Alignment],
    failures: Mapping[str, str],
) -> list[Lying]:
    """failures  the sentence of an alignment that failed, by the photograph's key as text"""
    plates = list(plates)
    base = base_of(plates)
    return [
        Lying(
            plate,
            tuple(_sentences(plate, lies, alignments, failures)),
            can_nudge=base is not None and plate is not base,
        )
        for plate in plates
    ]


def base_of(plates: Iterable[Plate]) -> Plate | None:
    """The photograph that the others of one side are laid on: in normal light, the newest."""
    found = [plate for plate in plates if plate.photograph.light == "normal" and plate.is_here]
    return max(found, key=lambda plate: plate.photograph.taken_at, default=None)


def _sentences(
    plate: Plate,
    lies: Mapping[UUID, Lie],
    alignments: Mapping[UUID, Alignment],
    failures: Mapping[str, str],
) -> Iterable[str]:
    if not plate.is_here:
        yield "Not yet sent from the tablet."
        return
    if plate.trouble:
        yield plate.trouble
        return
    photograph = plate.photograph
    alignment = alignments.get(photograph.pk)
    lie = lies.get(photograph.pk)
    if alignment:
        yield _aligned(alignment)
    elif failure := failures.get(str(photograph.pk)):
        yield failure
    if lie is None:
        yield "Not placed: set the corners."
    elif not lie.aligned:
        yield f"Placed on the sheet{_within(lie.uncertainty_mm)}."
    elif lie.compared:
        within = _within(lie.uncertainty_mm)
        yield f"Placed through a photograph of an earlier examination{within}."
    else:
        yield f"Placed through the other photograph{_within(lie.uncertainty_mm)}."


def _aligned(alignment: Alignment) -> str:
    if alignment.nudged_by is not None:
        return f"Moved by hand by {alignment.nudged_by.name}, {moment_in_words(alignment.at)}."
    if alignment.residual_mm is None:
        return "Aligned with normal light; how closely is told once its corners are set."
    most = alignment.residual_95_mm
    return f"Aligned with normal light, within {_hundredths(alignment.residual_mm)}" + (
        f" (95 % of places within {_hundredths(most)})." if most is not None else "."
    )


def _hundredths(mm: float) -> str:
    """Rounded up to the hundredth: nothing is within 0.00 mm."""
    return f"{max(0.01, math.ceil(100 * mm) / 100):.2f} mm"


def _within(uncertainty_mm: float | None) -> str:
    return f", ± {uncertainty_mm:.2f} mm" if uncertainty_mm is not None else ""


def for_sheet_view(
    plates: Iterable[Plate], lies: Mapping[UUID, Lie], sizes: Mapping[UUID, tuple[int, int]]
) -> list[dict[str, Any]]:
    """The photographs that can be shown, as the sheet view takes them."""
    shown = []
    for plate in plates:
        photograph = plate.photograph
        if not plate.is_here or plate.trouble:
            continue
        lie = lies.get(photograph.pk)
        width, height = sizes[photograph.pk]
        shown.append(
            {
                "id": str(photograph.pk),
                "light": photograph.light,
                "azimuth_deg": photograph.azimuth_deg,
                "side": photograph.side,
                "name": plate.name,
                "width_px": width,
                "height_px": height,
                "preview": reverse("api-preview", args=[photograph.sha256]),
                "original": reverse("api-region", args=[photograph.sha256]),
                "homography": as_numbers(lie.matrix) if lie else None,
                "by_scale": lie is not None and lie.by_scale,
            }
        )
    return shown


def outlines(
    observations: Iterable[Noted], lies: Mapping[UUID, Lie], sizes: Mapping[UUID, tuple[int, int]]
) -> list[dict[str, Any]]:
    """The observations that have a place on the sheet, as the sheet view takes them: an outline,
    or the one point that was marked on a photograph."""
    return [
        {
            "id": str(noted.observation.pk),
            "number": noted.number,
            "name": noted.observation.term.name,
            "side": noted.observation.side,
            "nature": noted.observation.nature,
            "points": points,
        }
        for noted in observations
        if (points := places_of(noted.observation, lies, sizes))
    ]


def lines(measurements: Iterable[Measurement]) -> list[dict[str, Any]]:
    """What was measured by taps on a photograph, as the sheet view takes it."""
    return [
        {
            "id": str(one.pk),
            "name": one.what,
            "label": f"{one.value:g} ± {one.uncertainty:g} {one.get_unit_display()}",
            "side": one.photograph.side,
            "open": one.unit == Measurement.Unit.MM,
            "points": one.points,
        }
        for one in measurements
        if one.points and one.photograph
    ]


def sheet_of(examination: Examination) -> dict[str, float] | None:
    """The sheet's size, as it was measured on this examination, else as the catalogue has it."""
    item = examination.object
    for width, height in (
        (examination.sheet_width_mm, examination.sheet_height_mm),
        (item.width_mm, item.height_mm),
    ):
        if width and height:
            return {"width_mm": width, "height_mm": height}
    return None
