"""How the sheet answers the ultraviolet lamp, against what it looks like in normal light."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from survey.examination.models import Photograph
from survey.imaging.fluorescence import read_ultraviolet
from survey.imaging.geometry import WrongPoints
from survey.imaging.opened import CannotRead
from survey.imaging.rectified import NotReadable
from survey.reading.kinds.job import Found, Job, Kind, dismissing, newest
from survey.reading.trouble import CannotAsk

MOST_PX = 6e6
# The answer that asks a question about the date.
BRIGHTENER = "bright blue-white"


def choose(photographs: Sequence[Photograph], *_: Any) -> list[Photograph]:
    """Ultraviolet, and normal if there is one."""
    ultraviolet = newest(photographs, "ultraviolet")
    if ultraviolet is None:
        raise CannotAsk("This side has no photograph under ultraviolet.")
    normal = newest(photographs, "normal")
    return [ultraviolet, normal] if normal else [ultraviolet]


def read(job: Job) -> Found:
    sheets = job.sheets(job.photographs, most_px=MOST_PX)
    job.say(0.55, "Looking for places that answer otherwise than the paper about them")
    found = read_ultraviolet(sheets[0], sheets[1] if len(sheets) > 1 else None)
    width_mm, height_mm = job.size()
    result = asdict(found) | {
        "width_mm": width_mm,
        "height_mm": height_mm,
        "brightener": found.response == BRIGHTENER,
    }
    return Found(result, found.sentence)


KIND = Kind(
    version=2,
    choose=choose,
    read=read,
    troubles=(NotReadable, CannotRead, WrongPoints),
    correct=dismissing("regions"),
)
