"""Colour targets that lie in the frame: where their patches are and what colours they have.

Those in ``charts/`` are the demo's. A department adds its own as JSON of the same form, with the
values that came with the target, or better ones measured on it.
"""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from skimage import color

from survey.imaging.geometry import WrongPoints
from survey.imaging.opened import Plane

Lab = NDArray[np.float64]

FOLDER = Path(__file__).parent / "charts"
ILLUMINANTS = ("D50", "D65")
FEWEST_PATCHES = 4
# Below this chroma (CIELAB) a patch is a grey.
GREY_CHROMA = 4.0
# Linear Bradford, as ISO 15076-1 (annex E) has it; from memory.
BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


class WrongChart(ValueError):
    """A target's description cannot be used. The message says why."""


@dataclass(frozen=True)
class Patch:
    """box  left, top, right, bottom, as shares of the target's width and height
    lab  CIELAB under the chart's illuminant, 2° observer
    """

    name: str
    box: tuple[float, float, float, float]
    lab: tuple[float, float, float]

    @property
    def is_grey(self) -> bool:
        return math.hypot(*self.lab[1:]) < GREY_CHROMA


@dataclass(frozen=True)
class Chart:
    """``source`` says where the values come from."""

    name: str
    source: str
    illuminant: str
    patches: tuple[Patch, ...]

    @property
    def lab(self) -> Lab:
        """(n, 3)."""
        return np.array([patch.lab for patch in self.patches], dtype=np.float64)


def load_chart(path: Path) -> Chart:
    """Raises WrongChart with a sentence, OSError when the file cannot be opened."""
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise WrongChart(f"{path.name} is not JSON that can be read: {error}.") from error
    return chart_from(told)


def chart_from(told: Any) -> Chart:
    """A chart from its JSON: name, source, illuminant, patches of name, box and lab."""
    if not isinstance(told, Mapping) or not {"name", "source", "illuminant", "patches"} <= set(
        told
    ):
        raise WrongChart("A target needs a name, the source of its values, an illuminant, patches.")
    if told["illuminant"] not in ILLUMINANTS:
        raise WrongChart(f"The illuminant of a target's values is {' or '.join(ILLUMINANTS)}.")
    if not isinstance(told["patches"], list) or len(told["patches"]) < FEWEST_PATCHES:
        raise WrongChart(f"A target needs at least {FEWEST_PATCHES} patches.")
    patches = tuple(_patch(one) for one in told["patches"])
    if sum(patch.is_grey for patch in patches) < 2:
        raise WrongChart("A target needs at least two grey patches, a light one and a dark one.")
    return Chart(str(told["name"]), str(told["source"]), told["illuminant"], patches)


def _patch(told: Any) -> Patch:
    try:
        name, box, lab = str(told["name"]), tuple(map(float, told["box"])), told["lab"]
        lightness, a, b = map(float, lab)
        left, top, right, bottom = box
    except (TypeError, ValueError, KeyError) as error:
        raise WrongChart(
            "Each patch has a name, a box (left, top, right, bottom, from 0 to 1) and lab (L*, a*, "
            "b*)."
        ) from error
    if not (0 <= left < right <= 1 and 0 <= top < bottom <= 1):
        raise WrongChart(f"The box of {name} is left, top, right, bottom, each from 0 to 1.")
    if not (0 < lightness <= 100 and math.hypot(a, b) <= 150):
        raise WrongChart(f"The colour of {name} is no colour of a surface: L* goes from 0 to 100.")
    return Patch(name, (left, top, right, bottom), (lightness, a, b))


def delta_e_2000(one: ArrayLike, other: ArrayLike) -> NDArray[np.float64]:
    """CIEDE2000 colour difference (ISO/CIE 11664-6) of CIELAB arrays (…, 3)."""
    return np.asarray(color.deltaE_ciede2000(one, other), dtype=np.float64)


def lab_of(light: Plane | NDArray[np.float64], illuminant: str) -> Lab:
    """Linear sRGB (n, 3), 1 being the perfect white, to CIELAB under ``illuminant``."""
    xyz = np.maximum(light, 0) @ color.colorconv.xyz_from_rgb.T @ adapted("D65", illuminant).T
    return np.asarray(color.xyz2lab(xyz, illuminant=illuminant), dtype=np.float64)


def light_of(lab: ArrayLike, illuminant: str) -> NDArray[np.float64]:
    """CIELAB (n, 3) under ``illuminant`` to linear sRGB; may lie outside of 0…1."""
    xyz = color.lab2xyz(np.asarray(lab, dtype=np.float64), illuminant=illuminant)
    return np.asarray(xyz @ adapted(illuminant, "D65").T @ color.colorconv.rgb_from_xyz.T)


def adapted(start: str, end: str) -> NDArray[np.float64]:
    """(3, 3) XYZ seen under one illuminant to XYZ that looks the same under another."""
    whites = [
        BRADFORD @ color.xyz_tristimulus_values(illuminant=i, observer="2") for i in (start, end)
    ]
    return np.asarray(np.linalg.inv(BRADFORD) @ np.diag(whites[1] / whites[0]) @ BRADFORD)


def check_corners_order(seen: NDArray[np.float64], chart: Chart) -> None:
    """Raise WrongPoints unless the patches seen, (n, 3) linear light, are those of the chart."""
    told = np.log(np.maximum(light_of(chart.lab, chart.illuminant), 1e-3))
    found = np.log(np.maximum(seen, 1e-3))
    alike = np.corrcoef((told).ravel(), (found - found.mean(axis=0) + told.mean(axis=0)).ravel())
    if alike[0, 1] < 0.9:
        raise WrongPoints(
            f"The patches do not look like those of {chart.name}. Tap its corners again: first the "
            "one beside its first patch, then clockwise; or choose the target that lies there."
        )
