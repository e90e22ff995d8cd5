"""Readings as the worker leaves them, for the desk's pages to show."""

from functools import cache
from io import BytesIO
from itertools import pairwise
from typing import Any

from PIL import Image

from survey.examination.models import Examination, Photograph
from survey.reading.models import Reading
from survey.sync.files import stored_path
from survey.sync.models import StoredFile
from tests.factories import PhotographFactory, examined

# A photograph of 3100 × 2250 px of a sheet of 310 × 225 mm, edge to edge.
TENTH_MM = [0.1, 0.0, 0.0, 0.0, 0.1, 0.0, 0.0, 0.0, 1.0]


def photographed(
    *lights: str, signed: bool = False, placed: bool = True, **values: Any
) -> Examination:
    """An examination with these photographs, all here; the first lies on the sheet."""
    examination = examined(signed=signed, **values)
    for number, light in enumerate(lights):
        photograph = PhotographFactory(
            examination=examination,
            light=light,
            azimuth_deg=45.0 + 120 * number if light == "raking" else None,
            width_px=3100,
            height_px=2250,
            homography=TENTH_MM if placed and number == 0 else None,
        )
        path = stored_path(photograph.sha256)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(grey())
        StoredFile.objects.create(sha256=photograph.sha256, size_bytes=len(grey()))
    return examination


@cache
def grey() -> bytes:
    """A plain photograph of that size."""
    file = BytesIO()
    Image.new("L", (3100, 2250), 128).save(file, "JPEG")
    return file.getvalue()


def read(examination: Examination, kind: str, **values: Any) -> Reading:
    """A reading that is done, unless told otherwise, of all the examination's photographs."""
    photographs = Photograph.objects.filter(examination=examination).order_by("taken_at", "pk")
    return Reading.objects.create(
        examination=examination,
        kind=kind,
        **{
            "state": Reading.State.DONE,
            "photographs": [str(one.pk) for one in photographs],
            "sentence": "Read.",
            "made_with": f"Fieldleaf, {kind} 1",
            **values,
        },
    )


def colour(photograph: Photograph, **values: Any) -> dict[str, Any]:
    """The result of a colour reading of this photograph."""
    differences = {"mean": 6.21, "p95": 11.4, "worst": 12.0, "worst_patch": "Red"}
    patch = {"name": "Red", "before": 12.0, "after": 1.9}
    return {
        "photograph": str(photograph.pk),
        "chart": "Port Ellery card",
        "exposure_stops": 0.31,
        "exposure_uncertainty_stops": 0.04,
        "before": differences,
        "after": differences | {"mean": 1.34, "p95": 2.6},
        "uncertainty": 0.22,
        "patches": [patch, {"name": "White", "before": None, "after": None}],
        **values,
    }


def measured(value: float, u: float) -> dict[str, float]:
    return {"value": value, "u": u}


def paper(*offsets_mm: float, **values: Any) -> dict[str, Any]:
    """The result of a paper reading with these chain lines, upright on the sheet."""
    gaps = [b - a for a, b in pairwise(offsets_mm)]
    return {
        "make": "laid",
        "why": "Laid lines were counted in 40 parts of the sheet.",
        "light": "transmitted",
        "azimuth_deg": None,
        "width_mm": 310.0,
        "height_mm": 225.0,
        "corner_mm": 0.3,
        "laid_per_cm": measured(9.42, 0.03),
        "laid_per_20mm": measured(18.84, 0.06),
        "laid_angle_deg": measured(90.2, 0.1),
        "chains": [
            {"offset_mm": one, "u_mm": 0.2, "own_u_mm": 0.1, "by": "picture"} for one in offsets_mm
        ],
        "chains_why": "",
        "chain_angle_deg": measured(0.0, 0.1),
        "intervals": [{"mm": gap, "u_mm": 0.21, "whole": gap < 40} for gap in gaps],
        "mean_mm": measured(25.5, 0.08) if gaps else None,
        "spread_mm": measured(0.6, 0.1) if gaps else None,
        "overlay": [
            {"kind": "chain", "points": [[one, 0.0], [one, 225.0]], "label": str(number)}
            for number, one in enumerate(offsets_mm, start=1)
        ],
        **values,
    }
