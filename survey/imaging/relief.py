"""The relief of a sheet, from photographs under raking light out of several directions.

Three lamps or more: which way each place faces (``normals.py``), a picture of the relief alone,
without the drawing, a map of what lies nearer and what further, and marks to look at
(``relief_marks.py``). Two lamps: only the difference between them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from survey.imaging.geometry import RectifiedSheet
from survey.imaging.integrate import heights
from survey.imaging.normals import amplification, lamp_rows, solve, unit
from survey.imaging.opened import Plane
from survey.imaging.rectified import (
    Grey,
    NotReadable,
    as_grey,
    broad_trend,
    check,
    clipped_plane,
    luminance_plane,
    smooth,
    spread_of,
    working_size,
)
from survey.imaging.relief_marks import ReliefMark, marks_of
from survey.imaging.shifts import detail, settled, shift_between

PX_PER_MM = 8.0
MOST_PIXELS = 10e6

# Raking lamps stand at 5° to 30°. Common practice, no source.
USUAL_ELEVATION_DEG = 15.0
# Lamps that magnify noise more than this against lamps spread all round stand too close.
MOST_AMPLIFIED = 6.0
NEAREST_TWO_DEG = 20.0
# A residual of this size doubles a pen line.
MOVED_MM = 0.2
# Waves longer than this are held back in the depth map.
LONGEST_WAVE_MM = 45.0

# Slopes steeper than 65° are no paper but noise in the dark.
STEEPEST = np.float32(2.1)
# How strongly hollows darken the shaded picture, beside the shading itself.
HOLLOWS = 0.6

ORDER_ONLY = (
    "The depth map tells the order only: lighter lies nearer. It is not a measured depth, and "
    f"swells of the sheet longer than about {LONGEST_WAVE_MM:.0f} mm are held back."
)


@dataclass(frozen=True)
class Relief:
    """What raking light tells of one side; pictures of shape (rows, columns) over the whole sheet.

    px_per_mm       of all pictures here
    azimuths_deg    of the lamps
    elevation_deg   of the lamps, as told or as assumed
    assumed         True when nobody told it: slopes then are right only to a common factor
    moved_mm        how far each raking photograph lay off; None where nothing tells
    sentences       what to know before believing it
    difference      two lamps: grey where both see the same, light where the first sees more
    normals         unit, (rows, columns, 3): x right, y down, z towards the viewer; float32
    shaded          the relief alone, as lit from the top left
    depth           lighter lies nearer: order only
    marks           the plainest first
    """

    px_per_mm: float
    azimuths_deg: tuple[float, ...]
    elevation_deg: float
    assumed: bool
    moved_mm: tuple[float | None, ...]
    sentences: tuple[str, ...]
    difference: Grey | None = None
    normals: Plane | None = None
    shaded: Grey | None = None
    depth: Grey | None = None
    marks: tuple[ReliefMark, ...] = ()


def read_relief(
    raking: Sequence[tuple[RectifiedSheet, float]],
    normal: RectifiedSheet | None = None,
    elevation_deg: float | None = None,
) -> Relief:
    """Read the relief of one side of a sheet.

    raking         (photograph, azimuth of its lamp in degrees clockwise from the top edge)
    normal         the same side under normal light: it tells drawing from relief
    elevation_deg  of the lamps above the sheet, 1 to 80; None assumes 15

    The lamps may stand near: their slow fall of light over the sheet is taken out, and slow
    swells of the sheet with it. Raises NotReadable with a sentence.
    """
    azimuths = _checked(raking, normal, elevation_deg)
    sheets = [sheet for sheet, _ in raking]
    everything = [*sheets, *([] if normal is None else [normal])]
    shape, px_per_mm = working_size(everything, PX_PER_MM, MOST_PIXELS)
    assumed = elevation_deg is None
    elevation = USUAL_ELEVATION_DEG if elevation_deg is None else float(elevation_deg)
    lights = _Lights(sheets, normal, shape, px_per_mm)
    sentences = lights.moved_sentences(azimuths)
    if len(sheets) == 2:
        sentences.append(
            "Two directions of light show only the difference between them. Photograph the "
            "sheet with the lamp in a third place to see which way its surface faces."
        )
        return Relief(
            px_per_mm=px_per_mm,
            azimuths_deg=azimuths,
            elevation_deg=elevation,
            assumed=assumed,
            moved_mm=lights.moved_mm,
            sentences=tuple(sentences),
            difference=lights.difference(),
        )
    if assumed:
        sentences.append(
            f"The height of the lamps was not told: {USUAL_ELEVATION_DEG:.0f}° above the sheet is "
            "assumed for all. The relief is right in kind, but not how steep it is."
        )
    sentences.append(ORDER_ONLY)
    slope_x, slope_y = lights.slopes(azimuths, elevation)
    drawn, moved_mm = lights.drawn, lights.moved_mm
    del lights  # Large, and no longer needed once the slopes are known.
    # First of all, for it needs the most memory.
    marks = marks_of(slope_x, slope_y, drawn, px_per_mm, steep_known=not assumed)
    height = heights(slope_x, slope_y, px_per_mm, LONGEST_WAVE_MM)
    return Relief(
        px_per_mm=px_per_mm,
        azimuths_deg=azimuths,
        elevation_deg=elevation,
        assumed=assumed,
        moved_mm=moved_mm,
        sentences=tuple(sentences),
        normals=_normals(slope_x, slope_y),
        shaded=_shaded(slope_x, slope_y, px_per_mm),
        depth=as_grey(height, 1.6 * float(np.percentile(np.abs(height), 97))),
        marks=marks,
    )


def _checked(
    raking: Sequence[tuple[RectifiedSheet, float]],
    normal: RectifiedSheet | None,
    elevation_deg: float | None,
) -> tuple[float, ...]:
    """The azimuths, 0 to 360°. Raises NotReadable with a sentence for what cannot be solved."""
    if len(raking) < 2:
        raise NotReadable(
            "Relief needs photographs under raking light from at least two directions, better "
            f"four or more all round. There {'is one' if raking else 'are none'}."
        )
    if not all(math.isfinite(azimuth) for _, azimuth in raking):
        raise NotReadable("Tell for each raking photograph where its light came from.")
    if elevation_deg is not None and not 1 <= elevation_deg <= 80:
        raise NotReadable(
            f"A lamp {elevation_deg:g}° above the sheet does not rake. Give its height as an "
            "angle between 1° and 80°; 5° to 30° is usual."
        )
    azimuths = tuple(float(azimuth) % 360 for _, azimuth in raking)
    named = [
        (f"raking photograph with its light at {azimuth:.0f}°", sheet)
        for (sheet, _), azimuth in zip(raking, azimuths, strict=True)
    ]
    if normal is not None:
        named.append(("photograph under normal light", normal))
    check(named)
    places = ", ".join(f"{azimuth:.0f}°" for azimuth in azimuths)
    if len(raking) == 2:
        apart = abs((azimuths[0] - azimuths[1] + 180) % 360 - 180)
        if apart < NEAREST_TWO_DEG:
            raise NotReadable(
                f"Both lamps stood in nearly the same place ({places}): their difference shows "
                "nothing. Photograph the sheet again with the lamp on another side."
            )
    elif amplification(azimuths) > MOST_AMPLIFIED:
        raise NotReadable(
            f"The lamps stood too nearly in one direction, or along one line ({places}), to tell "
            "which way the surface faces. Add a photograph with the lamp on another side."
        )
    return azimuths


class _Lights:
    """The photographs as light on one grid: settled onto each other, slow shading taken out."""

    def __init__(
        self,
        sheets: Sequence[RectifiedSheet],
        normal: RectifiedSheet | None,
        shape: tuple[int, int],
        px_per_mm: float,
    ) -> None:
        self.px_per_mm = px_per_mm
        fixed = luminance_plane(sheets[0] if normal is None else normal, shape)
        fixed_detail = detail(fixed, px_per_mm)
        self.brightness = np.empty((len(sheets) + (normal is not None), *shape), dtype=np.float16)
        self.usable = np.ones(self.brightness.shape, dtype=bool)
        self.has_normal = normal is not None
        moved: list[float | None] = []
        for index, sheet in enumerate(sheets):
            plane = luminance_plane(sheet, shape)
            over = clipped_plane(sheet, shape)
            if normal is None and index == 0:
                moved.append(0.0)
            else:
                shift = shift_between(fixed_detail, detail(plane, px_per_mm), px_per_mm)
                moved.append(shift.apart_mm if shift.certain else None)
                plane = settled(plane, shift.matrix)
                over = settled(over.astype(np.uint8), shift.matrix) > 0
            ratio = np.log(np.maximum(plane, 0.004))
            if normal is not None:
                ratio -= np.log(np.maximum(fixed, 0.004))
            plane *= np.exp(-broad_trend(ratio))
            self.brightness[index] = plane
            self.usable[index] = ~over
        self.moved_mm = tuple(moved)
        if normal is not None:
            self.brightness[-1] = fixed
            self.usable[-1] = ~clipped_plane(normal, shape)
        # Set so that bare paper gives about one under every lamp.
        paper = float(np.percentile(self.brightness[-1, ::4, ::4].astype(np.float32), 80))
        self.brightness /= np.float16(max(paper, 1e-3))
        # What both show that is no relief, for telling a drawn line from a furrow.
        self.drawn = fixed_detail if normal is not None else None

    def moved_sentences(self, azimuths: Sequence[float]) -> list[str]:
        beside = "the photograph under normal light" if self.has_normal else "the first"
        return [
            f"The camera or the sheet moved: the raking photograph with its light at "
            f"{azimuth:.0f}° lies {moved:.1f} mm off {beside}. It was set right; should lines "
            "look doubled, photograph again without touching either."
            for azimuth, moved in zip(azimuths, self.moved_mm, strict=True)
            if moved is not None and moved > MOVED_MM
        ]

    def difference(self) -> Grey:
        one, other = (
            np.log(np.maximum(plane.astype(np.float32), 0.01)) for plane in self.brightness[:2]
        )
        apart = smooth(one - other, 0.1 * self.px_per_mm)
        return as_grey(apart, 1.8 * float(np.percentile(np.abs(apart), 97)))

    def slopes(self, azimuths: Sequence[float], elevation_deg: float) -> tuple[Plane, Plane]:
        """dz/dx and dz/dy, with y down: of each place, and of its neighbours where ink is dark."""
        rows = lamp_rows(azimuths, elevation_deg)
        if self.has_normal:
            # Two equal lamps left and right act together as one straight above.
            rows = np.vstack([rows, [0, 0, 1]])
        solved = solve(self.brightness, rows, self.usable)
        upright = np.maximum(solved[:, :, 2], np.float32(0.02))
        light = np.clip(upright, 0, 1) ** 2
        trust: Plane = (light / (light + np.float32(0.02))).astype(np.float32)
        slope_x, slope_y = (
            np.asarray(-solved[:, :, axis] / upright, dtype=np.float32).clip(-STEEPEST, STEEPEST)
            for axis in (0, 1)
        )
        return self._calmed(slope_x, trust), self._calmed(slope_y, trust)

    def _calmed(self, slope: Plane, trust: Plane) -> Plane:
        """Dark places, whose slope is mostly noise, take on that of what is brighter nearby."""
        sigma = 0.12 * self.px_per_mm
        near = smooth(slope * trust, sigma) / np.maximum(smooth(trust, sigma), np.float32(1e-3))
        return np.asarray(near + trust * (slope - near), dtype=np.float32)


def _normals(slope_x: Plane, slope_y: Plane) -> Plane:
    return unit(np.stack([-slope_x, -slope_y, np.ones_like(slope_x)], axis=2))


def _shaded(slope_x: Plane, slope_y: Plane, px_per_mm: float) -> Grey:
    """As if lit from the top left, a slope that faces there light; hollows a little darker.

    One lamp leaves out lines that run towards it; the hollows bring them back.
    """
    facing: NDArray = (slope_x + slope_y) * np.float32(math.sqrt(0.5))
    bend = np.gradient(slope_x, axis=1) + np.gradient(slope_y, axis=0)
    bend = smooth(bend, 0.12 * px_per_mm)
    share = HOLLOWS * spread_of(facing[::4, ::4]) / max(spread_of(bend[::4, ::4]), 1e-9)
    seen = facing - np.float32(share) * bend
    return as_grey(seen, 2.2 * float(np.percentile(np.abs(seen), 96)))
