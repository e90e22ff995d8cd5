"""The watermark made easier to see: the sheet against the light, without what is drawn on it."""

from collections.abc import Sequence
from typing import Any

from survey.examination.models import Photograph
from survey.imaging.geometry import WrongPoints
from survey.imaging.opened import CannotRead
from survey.imaging.rectified import NotReadable
from survey.imaging.watermark import enhanced
from survey.reading.kinds.job import Found, Job, Kind, newest
from survey.reading.trouble import CannotAsk

# Some forty planes of these are held at once.
MOST_PX = 5e6


def choose(photographs: Sequence[Photograph], *_: Any) -> list[Photograph]:
    """Transmitted, and normal if there is one."""
    transmitted = newest(photographs, "transmitted")
    if transmitted is None:
        raise CannotAsk("This side has no photograph in transmitted light.")
    normal = newest(photographs, "normal")
    return [transmitted, normal] if normal else [transmitted]


def read(job: Job) -> Found:
    sheets = job.sheets(job.photographs, most_px=MOST_PX)
    job.say(0.6, "Taking away what is drawn on the sheet")
    picture = enhanced(sheets[0], sheets[1] if len(sheets) > 1 else None)
    transmitted = sheets[0]
    result = {
        "width_mm": transmitted.width_mm,
        "height_mm": transmitted.height_mm,
        "px_per_mm": picture.shape[1] / transmitted.width_mm,
        "without_drawing": len(sheets) > 1,
    }
    sentence = (
        "The sheet against the light, what is drawn on it reduced. Look for the figure, and draw "
        "its outline."
        if len(sheets) > 1
        else "The sheet against the light. With a photograph in normal light, what is drawn on it "
        "could be reduced."
    )
    return Found(result, sentence, {"enhanced": picture})


KIND = Kind(version=1, choose=choose, read=read, troubles=(NotReadable, CannotRead, WrongPoints))
