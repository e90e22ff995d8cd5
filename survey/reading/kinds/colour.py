"""How true the colours of a photograph are, by a colour target in the picture.

A person says which target lies there and where: ``{"photograph": key, "chart": name of a file of
imaging/charts, "corners": [[x, y] × 4]}``, upright pixels at full size, from the corner beside
the target's first patch clockwise.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import survey.imaging
from survey.examination.models import Photograph
from survey.examination.shapes import MOST_PIXELS_ACROSS, is_point
from survey.imaging.chart import Chart, load_chart
from survey.imaging.colour import corrected, read_target
from survey.imaging.geometry import WrongPoints
from survey.imaging.opened import CannotRead
from survey.reading.kinds.job import Found, Job, Kind
from survey.reading.trouble import CannotAsk

CHARTS_DIR = Path(survey.imaging.__file__).parent / "charts"
# The corrected picture is to look at.
LONGEST_PX = 1600


@cache
def charts() -> dict[str, Chart]:
    """The known targets, by the name that a person chooses one with."""
    return {path.stem: load_chart(path) for path in sorted(CHARTS_DIR.glob("*.json"))}


def check(given: Mapping[str, Any]) -> None:
    corners = given.get("corners")
    if (
        set(given) != {"photograph", "chart", "corners"}
        or not isinstance(corners, list)
        or len(corners) != 4
        or not all(is_point(corner, MOST_PIXELS_ACROSS) for corner in corners)
    ):
        raise CannotAsk(
            "Tap the four corners of the colour target in a photograph, from the one beside its "
            "first patch clockwise, and say which target it is."
        )
    if given["chart"] not in charts():
        raise CannotAsk(f"The targets known here are {', '.join(charts())}: choose one of them.")


def choose(photographs: Sequence[Photograph], *_: Any) -> list[Photograph]:
    """Every photograph in normal light: the target may lie in any of them."""
    normal = [one for one in photographs if one.light == "normal"]
    if not normal:
        raise CannotAsk("This side has no photograph in normal light, which shows colours.")
    return normal


def read(job: Job) -> Found:
    used = next((one for one in job.photographs if str(one.pk) == job.given["photograph"]), None)
    if used is None:
        raise CannotAsk("The target was tapped in a photograph that is not here in normal light.")
    job.say(0.1, "Reading the patches of the target")
    opened = job.opened(used)
    chart = charts()[job.given["chart"]]
    colour = read_target(opened.pixels, np.array(job.given["corners"]), chart)
    job.say(0.6, "Making the corrected picture")
    picture = corrected(job.opened(used, LONGEST_PX).pixels, colour)
    sentence = (
        f"With the target the colours are {colour.after.mean:.1f} ± {colour.uncertainty:.1f} "
        f"CIEDE2000 off on the average, 95 % of patches within {colour.after.p95:.1f}; as "
        f"photographed they were {colour.before.mean:.1f}. The photograph is "
        f"{abs(colour.exposure_stops):.2f} ± {colour.exposure_uncertainty_stops:.2f} stops too "
        f"{'light' if colour.exposure_stops > 0 else 'dark'}."
    )
    result = colour.as_dict() | {"photograph": str(used.pk)}
    return Found(result, " ".join((sentence, *colour.sentences)), {"corrected": picture})


KIND = Kind(
    version=1,
    choose=choose,
    read=read,
    troubles=(CannotRead, WrongPoints),
    placed=False,
    check=check,
)
