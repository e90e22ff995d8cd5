"""What changed on one side of the sheet since an earlier examination, under one light.

A person says which light, and may say which earlier photograph: ``{"light": code, "earlier": key
of a photograph}``. Without a word it is normal light, and the last earlier examination that has
a placed photograph of that side and light.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from survey.examination.models import Measurement, Observation, Photograph
from survey.examination.shapes import is_key
from survey.imaging.align import NotAligned
from survey.imaging.changes import PX_PER_MM, Changes, find_changes
from survey.imaging.geometry import Matrix, WrongPoints, inverse
from survey.imaging.growth import together
from survey.imaging.opened import CannotRead
from survey.imaging.rectified import NotReadable
from survey.reading.kinds.grown import Noted, places_of
from survey.reading.kinds.job import Found, Job, Kind, dismissing
from survey.reading.placement import as_numbers, size_of
from survey.reading.trouble import CannotAsk, NotRead
from survey.vocabulary.queries import lights

# The later photograph is read this large; the sheet itself is compared at a few pixels a mm.
LONGEST_PX = 3500
MOST_PX = 4e6
LIGHT = "normal"
# Raking light from directions further apart than this draws another relief.
SAME_AZIMUTH_DEG = 10.0
# Sizes of the sheet that differ by more than this share are not those of one sheet.
SAME_SIZE = 0.03
# How well a photograph lies on another after alignment, mm: see tests/benchmarks/alignment.py.
ALIGNED_MM = 0.15
# No more of what was noted before is measured again.
MOST_NOTED = 20


def check(given: Mapping[str, Any]) -> None:
    codes = [light["code"] for light in lights()]
    if not set(given) <= {"light", "earlier"} or given.get("light", LIGHT) not in codes:
        raise CannotAsk(f"Say under which light to compare: one of {', '.join(codes)}.")
    if "earlier" in given and not is_key(given["earlier"]):
        raise CannotAsk("Name the earlier photograph to compare with by its key.")


def choose(
    photographs: Sequence[Photograph],
    before: Callable[[], Sequence[Photograph]],
    given: Mapping[str, Any],
) -> list[Photograph]:
    """The earlier photograph, then the later one."""
    light = given.get("light", LIGHT)
    taken = [one for one in reversed(photographs) if one.light == light]
    if not taken:
        raise CannotAsk(f"This side has no photograph under {light} light on this examination.")
    wanted = given.get("earlier")
    earlier = [one for one in reversed(before()) if wanted in (None, str(one.pk))]
    if not earlier and wanted is not None:
        raise CannotAsk(
            "That earlier photograph is not here, or nothing says how it lies on the sheet. Choose "
            "another one, or set its corners on the page of its examination’s lights."
        )
    for first in earlier:
        for second in taken:
            if is_alike(first, second):
                return [first, second]
    raise CannotAsk(
        f"No earlier examination of this object has a photograph of this side under {light} light "
        "that lies on the sheet"
        + (", with the lamp at the same place." if light == "raking" else ".")
        + " If one was taken, set its corners on the page of that examination’s lights."
    )


def is_alike(one: Photograph, other: Photograph) -> bool:
    """Whether both were taken under one light, from one direction where it has one."""
    if one.light != other.light:
        return False
    if one.azimuth_deg is None or other.azimuth_deg is None:
        return one.azimuth_deg == other.azimuth_deg
    apart = abs(one.azimuth_deg - other.azimuth_deg) % 360
    return min(apart, 360 - apart) <= SAME_AZIMUTH_DEG


def read(job: Job) -> Found:
    earlier, later = job.photographs
    lie = job.placed.get(earlier.pk)
    if lie is None:
        raise NotRead(
            "Nothing says any more how the earlier photograph lies on the sheet. Set its corners "
            "on the page of its examination’s lights."
        )
    job.say(0.0, "Straightening the earlier photograph")
    matrix = _now(job, earlier) @ lie.matrix
    sheet = job.sheet_at(earlier, matrix, min(PX_PER_MM, job.px_per_mm(earlier, matrix, MOST_PX)))
    opened = job.opened(later, LONGEST_PX)
    own = job.placed.get(later.pk)
    to_full = np.diag([1 / opened.scale, 1 / opened.scale, 1.0])
    lies = own.matrix @ to_full if own else None

    def say(share: float, step: str) -> None:
        job.say(0.15 + 0.8 * share, step)

    found = find_changes(sheet, opened.pixels, lies, say)
    width_mm, height_mm = job.size()
    job.say(0.95, "Measuring what grew")
    scale_share = later.examination.sheet_uncertainty_mm / min(width_mm, height_mm)
    pictures = together(found.earlier, found.later, found.px_per_mm, ALIGNED_MM)
    places = places_of(pictures, found.regions, noted_before(job, earlier), scale_share)
    result = {
        "width_mm": width_mm,
        "height_mm": height_mm,
        "px_per_mm": found.px_per_mm,
        "light": later.light,
        "azimuth_deg": later.azimuth_deg,
        "earlier": str(earlier.pk),
        "later": str(later.pk),
        "apart_mm": found.apart_mm,
        "laid": _laid(found, inverse(matrix), to_full),
        "regions": places,
    }
    shown = {"earlier": found.earlier, "later": found.later, "map": found.map}
    return Found(result, found.sentence, shown)


def _laid(found: Changes, to_earlier: Matrix, to_full: Matrix) -> dict[str, Any] | None:
    """How the later photograph lies on the earlier one, both at full size; see
    ``placement.by_comparison``."""
    if found.laid is None:
        return None
    onto = to_earlier @ found.laid.matrix @ inverse(to_full)
    return {"matrix": as_numbers(onto), "residual_mm": found.laid.residual_mm}


def noted_before(job: Job, earlier: Photograph) -> list[Noted]:
    """What the earlier examination observed or measured on this side, in mm as they count now."""
    if job.size_mm is None or (before := size_of(earlier.examination)) is None:
        return []
    scale = np.array(job.size_mm) / before
    observations = Observation.objects.filter(
        examination=earlier.examination, side=job.side, deleted_at=None
    ).exclude(nature=Observation.Nature.FEATURE)
    found = []
    for one in observations.select_related("term").prefetch_related("measurements__photograph"):
        line = next((row for row in one.measurements.all() if _is_tapped_on(row, job.side)), None)
        points = line.points if line else (one.region or {}).get("points")
        if not points:
            continue
        found.append(
            Noted(
                str(one.pk),
                one.term.name,
                np.asarray(points, dtype=np.float64) * scale,
                is_outline=line is None or line.unit == Measurement.Unit.MM2,
                kind={"mm": "line", "mm2": "area"}[line.unit] if line else None,
            )
        )
    alone = Measurement.objects.filter(
        examination=earlier.examination, observation=None, deleted_at=None
    )
    for row in alone.select_related("photograph"):
        if _is_tapped_on(row, job.side):
            is_area = row.unit == Measurement.Unit.MM2
            points = np.asarray(row.points, dtype=np.float64) * scale
            found.append(Noted("", row.what, points, is_area, "area" if is_area else "line"))
    return found[:MOST_NOTED]


def _is_tapped_on(row: Measurement, side: str) -> bool:
    return bool(
        row.points and row.deleted_at is None and row.photograph and row.photograph.side == side
    )


def _now(job: Job, earlier: Photograph) -> Matrix:
    """From the millimetres of the earlier examination to this one's: two rulers never agree."""
    width_mm, height_mm = job.size()
    before = size_of(earlier.examination)
    if before is None:
        raise NotRead("Measure the sheet’s width and height first: all is told in mm.")
    across, down = width_mm / before[0], height_mm / before[1]
    if max(abs(across - 1), abs(down - 1)) > SAME_SIZE:
        raise NotRead(
            f"The sheet was {before[0]:g} × {before[1]:g} mm on the earlier examination and is "
            f"{width_mm:g} × {height_mm:g} mm now. Look whether both measured the same sheet, "
            "without its mount, and mend the size that is wrong."
        )
    return np.diag([across, down, 1.0])


KIND = Kind(
    version=3,
    choose=choose,
    read=read,
    troubles=(NotAligned, NotReadable, CannotRead, WrongPoints),
    correct=dismissing("regions"),
    placed=False,
    check=check,
)
