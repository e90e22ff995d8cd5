"""The relief of the surface from two or more photographs in raking light."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from survey.examination.models import Photograph
from survey.imaging.geometry import WrongPoints
from survey.imaging.opened import CannotRead
from survey.imaging.rectified import NotReadable
from survey.imaging.relief import read_relief
from survey.reading.kinds.job import Found, Job, Kind, dismissing, newest
from survey.reading.trouble import CannotAsk

# Some dozen numbers are held for each of these pixels.
MOST_PX = 4e6
FEWEST = 2


def choose(photographs: Sequence[Photograph], *_: Any) -> list[Photograph]:
    """Of every azimuth the last photograph in raking light, then normal if there is one."""
    raking = {one.azimuth_deg: one for one in photographs if one.light == "raking"}
    if len(raking) < FEWEST:
        raise CannotAsk(
            "Relief needs photographs in raking light from two sides at least, better three or "
            f"more: this side has {len(raking)}."
        )
    normal = newest(photographs, "normal")
    return [*raking.values(), *([normal] if normal else [])]


def read(job: Job) -> Found:
    sheets = job.sheets(job.photographs, most_px=MOST_PX)
    raking = [
        (sheet, one.azimuth_deg or 0.0)
        for sheet, one in zip(sheets, job.photographs, strict=True)
        if one.light == "raking"
    ]
    normal = sheets[-1] if len(sheets) > len(raking) else None
    job.say(0.55, f"Reading the relief from {len(raking)} directions")
    relief = read_relief(raking, normal)
    pictures = {
        name: picture
        for name in ("difference", "shaded", "depth")
        if (picture := getattr(relief, name)) is not None
    }
    width_mm, height_mm = job.size()
    result = {
        "width_mm": width_mm,
        "height_mm": height_mm,
        "px_per_mm": relief.px_per_mm,
        "azimuths_deg": relief.azimuths_deg,
        "elevation_deg": relief.elevation_deg,
        "elevation_assumed": relief.assumed,
        "moved_mm": relief.moved_mm,
        "marks": [asdict(mark) for mark in relief.marks],
        "sentences": relief.sentences,
    }
    return Found(result, " ".join(relief.sentences), pictures)


KIND = Kind(
    version=2,
    choose=choose,
    read=read,
    troubles=(NotReadable, CannotRead, WrongPoints),
    correct=dismissing("marks"),
)
