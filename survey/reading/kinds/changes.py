"""What changed on one side of the sheet since an earlier examination, under one light.

A person says which light, and may say which earlier photograph: ``{"light": code, "earlier": key
of a photograph}``. Without a word it is normal light, and the last earlier examination that has
a placed photograph of that side and light.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from survey.examination.models import Photograph
from survey.examination.shapes import is_key
from survey.imaging.align import NotAligned
from survey.imaging.changes import PX_PER_MM, find_changes
from survey.imaging.geometry import Matrix, WrongPoints
from survey.imaging.opened import CannotRead
from survey.imaging.rectified import NotReadable
from survey.reading.kinds.job import Found, Job, Kind, dismissing
from survey.reading.placement import size_of
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
    result = {
        "width_mm": width_mm,
        "height_mm": height_mm,
        "px_per_mm": found.px_per_mm,
        "light": later.light,
        "azimuth_deg": later.azimuth_deg,
        "earlier": str(earlier.pk),
        "later": str(later.pk),
        "apart_mm": found.apart_mm,
        "regions": [asdict(region) for region in found.regions],
    }
    pictures = {"earlier": found.earlier, "later": found.later, "map": found.map}
    return Found(result, found.sentence, pictures)


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
    version=1,
    choose=choose,
    read=read,
    troubles=(NotAligned, NotReadable, CannotRead, WrongPoints),
    correct=dismissing("regions"),
    placed=False,
    check=check,
)
