"""A page to draw on: strokes, shading and washes in millimetres, in one of several media."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from scipy.ndimage import gaussian_filter

from survey.demo.sheet.geometry import Point, curve
from survey.demo.sheet.noise import Field
from survey.demo.sheet.structure import Sheet, Window, blurred

Line = Sequence[Point] | NDArray[np.float64]
Colour = tuple[float, float, float]

# Absorbance of a full layer for red, green and blue. From memory of how they look.
PIGMENTS: dict[str, Colour] = {
    "black": (1.9, 1.9, 1.9),
    "brown": (0.75, 1.25, 1.9),
    "grey": (0.75, 0.72, 0.68),
    "sky": (0.75, 0.38, 0.16),
    "blue": (1.5, 0.85, 0.3),
    "green": (0.85, 0.45, 1.15),
    "olive": (0.75, 0.62, 1.5),
    "ochre": (0.18, 0.48, 1.35),
    "rose": (0.12, 0.85, 0.62),
    "red": (0.2, 1.5, 1.6),
    "umber": (0.8, 1.15, 1.6),
    "violet": (0.75, 1.05, 0.45),
}


@dataclass(frozen=True)
class Medium:
    """How a medium behaves on the sheet.

    line, line_dark   pigment of the strokes, and how dark a full stroke is
    shading           "hatch", "rub" (broad soft strokes) or "wash"
    wash              pigment of every wash; None takes the pigment the subject asks for
    tooth             0…1: how far the stroke catches only on the raised fibres
    relief_mm         how far a full stroke stands above the paper
    gloss             gloss of a full stroke
    quench            absorbance of the paper's fluorescence by a full stroke
    pen_mm            breadth of the finest stroke
    """

    line: str
    line_dark: float
    shading: str
    wash: str | None = None
    tooth: float = 0.0
    relief_mm: float = 0.0
    gloss: float = 0.1
    quench: float = 1.6
    pen_mm: float = 0.22


MEDIA: dict[str, Medium] = {
    "pen-brown-ink": Medium("brown", 1.45, "hatch", quench=2.4),
    "pen-and-wash": Medium("brown", 1.35, "wash", wash="brown", quench=2.4),
    "pen-grey-wash": Medium("black", 1.0, "wash", wash="grey"),
    "black-chalk": Medium("black", 0.8, "rub", tooth=0.75, gloss=0.08, pen_mm=0.55),
    "red-chalk": Medium("red", 0.85, "rub", tooth=0.7, gloss=0.1, pen_mm=0.5, quench=1.9),
    "graphite": Medium("black", 0.5, "rub", tooth=0.45, gloss=0.55, pen_mm=0.3, quench=1.0),
    "watercolour": Medium("umber", 0.75, "wash", gloss=0.14, quench=0.9, pen_mm=0.25),
    "etching": Medium("black", 1.7, "hatch", relief_mm=0.007, gloss=0.2, pen_mm=0.16),
    "engraving": Medium("black", 1.9, "hatch", relief_mm=0.009, gloss=0.21, pen_mm=0.14),
    "woodcut": Medium("black", 1.25, "hatch", relief_mm=-0.008, gloss=0.22, pen_mm=0.45),
    "lithograph": Medium("black", 1.0, "rub", tooth=0.55, gloss=0.21, pen_mm=0.4),
    "colour-lithograph": Medium("black", 1.1, "wash", gloss=0.22, pen_mm=0.5),
}


def filled(window: Window, polygon: Line) -> Field:
    """Share of each pixel of ``window`` inside ``polygon`` (mm), 0…1."""
    rows, columns = window.shape
    twice = 2 * window.px_per_mm
    image = Image.new("L", (columns * 2, rows * 2))
    corners = [((x - window.left_mm) * twice, (y - window.top_mm) * twice) for x, y in polygon]
    ImageDraw.Draw(image).polygon(corners, fill=255)
    small = image.resize((columns, rows), Image.Resampling.BOX)
    return np.asarray(small, dtype=np.float32) / np.float32(255)


@dataclass
class Samples:
    """Points laid densely along strokes: pixel places, the weight of each, the breadth in mm."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    weight: NDArray[np.float64]
    breadth_mm: float

    def __post_init__(self) -> None:
        self.left, self.right = float(self.x.min()), float(self.x.max())
        self.top, self.bottom = float(self.y.min()), float(self.y.max())


class Strokes:
    """Strokes gathered as points, and laid down all at once."""

    def __init__(self, shape: tuple[int, int], px_per_mm: float) -> None:
        self.shape = shape
        self.px_per_mm = px_per_mm
        self._samples: list[Samples] = []

    def add(
        self, line: Line, breadth_mm: float, pressure: NDArray[np.float64] | float = 1.0
    ) -> None:
        """One stroke through ``line`` (mm); ``pressure`` at equal steps along it."""
        points = np.asarray(line, dtype=np.float64) * self.px_per_mm
        steps = np.hypot(*np.diff(points, axis=0).T)
        travelled = np.concatenate([[0.0], np.cumsum(steps)])
        length = float(travelled[-1])
        count = max(2, math.ceil(length * 2))
        at = np.linspace(0, length, count)
        weight = np.full(count, 1.0)
        weight *= (
            pressure
            if isinstance(pressure, float | int)
            else np.interp(np.linspace(0, 1, count), np.linspace(0, 1, len(pressure)), pressure)
        )
        spacing = max(length, 1.0) / count
        self._samples.append(
            Samples(
                np.interp(at, travelled, points[:, 0]),
                np.interp(at, travelled, points[:, 1]),
                weight * spacing,
                breadth_mm,
            )
        )

    def clear(self, window: Window, hidden: NDArray[np.bool_]) -> None:
        """Forget what lies in ``window`` where ``hidden``: something stands in front of it."""
        rows, columns = window.shape
        top, left = window.part[0].start, window.part[1].start
        for samples in self._samples:
            if (
                samples.right < left
                or samples.left > left + columns
                or samples.bottom < top
                or samples.top > top + rows
            ):
                continue
            column, row = samples.x - left, samples.y - top
            inside = (column >= 0) & (column < columns) & (row >= 0) & (row < rows)
            if inside.any():
                places = row[inside].astype(np.intp), column[inside].astype(np.intp)
                samples.weight[np.flatnonzero(inside)[hidden[places]]] = 0

    def laid(self) -> Field:
        """Amount of medium, 0…1, shape (rows, columns)."""
        total = np.zeros(self.shape, dtype=np.float32)
        for breadth in sorted({samples.breadth_mm for samples in self._samples}):
            chosen = [samples for samples in self._samples if samples.breadth_mm == breadth]
            total += self._deposit(chosen, breadth)
        return (1 - np.exp(-2.6 * total)).astype(np.float32)

    def _deposit(self, chosen: list[Samples], breadth_mm: float) -> Field:
        rows, columns = self.shape
        x = np.concatenate([samples.x for samples in chosen]) - 0.5
        y = np.concatenate([samples.y for samples in chosen]) - 0.5
        weight = np.concatenate([samples.weight for samples in chosen])
        column, row = np.floor(x).astype(np.intp), np.floor(y).astype(np.intp)
        right, down = x - column, y - row
        flat = np.zeros(rows * columns)
        for dx, dy, share in (
            (0, 0, (1 - right) * (1 - down)),
            (1, 0, right * (1 - down)),
            (0, 1, (1 - right) * down),
            (1, 1, right * down),
        ):
            c, r = column + dx, row + dy
            inside = (c >= 0) & (c < columns) & (r >= 0) & (r < rows) & (weight > 0)
            flat += np.bincount(
                r[inside] * columns + c[inside], (share * weight)[inside], minlength=flat.size
            )
        # A stroke is a Gaussian across: broad strokes reach one in the middle, those finer
        # than a pixel keep their ink but spread it, as a lens does.
        sigma = max(breadth_mm * self.px_per_mm / 2.6, 0.5)
        wanted = breadth_mm * self.px_per_mm / 2.6
        density = gaussian_filter(
            flat.reshape(rows, columns).astype(np.float32), sigma, truncate=3.0
        )
        return density * np.float32(wanted * math.sqrt(2 * math.pi))


class Page:
    """The recto while it is drawn on. Coordinates run from (0, 0) to (1, aspect) in the box."""

    def __init__(
        self,
        sheet: Sheet,
        box: tuple[float, float, float, float],
        medium: str,
        random: np.random.Generator,
    ) -> None:
        if medium not in MEDIA:
            raise ValueError(f"No medium is called {medium}: use one of {', '.join(MEDIA)}.")
        self.sheet = sheet
        self.medium = MEDIA[medium]
        self.random = random
        self.left, self.top, right, bottom = box
        self.unit = right - self.left
        self.aspect = (bottom - self.top) / self.unit
        self._strokes = Strokes(sheet.shape, sheet.px_per_mm)
        self._washes = np.zeros((*sheet.shape, 3), dtype=np.float32)

    def _mm(self, line: Line) -> NDArray[np.float64]:
        return np.asarray(line, dtype=np.float64) * self.unit + (self.left, self.top)

    def line(
        self, line: Line, weight: float = 1.0, pressure: float = 1.0, shake: float = 1.0
    ) -> None:
        """A freehand stroke: tapered at its ends, unsteady by ``shake``, in pens of ``weight``."""
        points = self._mm(line)
        length = float(np.hypot(*np.diff(points, axis=0).T).sum())
        if length == 0:
            return
        if shake and len(points) > 1:
            # Every given point is kept, or corners would be cut.
            between = max(1, math.ceil(min(60, length / 2.5) / (len(points) - 1)))
            at = np.linspace(0, len(points) - 1, between * (len(points) - 1) + 1)
            points = np.column_stack(
                [np.interp(at, np.arange(len(points)), points[:, axis]) for axis in (0, 1)]
            )
            jitter = self.random.normal(0, 0.06 * shake, points.shape)
            points = points + jitter + 0.4 * np.cumsum(jitter - jitter.mean(axis=0), axis=0)
        profile = np.sin(np.linspace(0.12, math.pi - 0.2, 9)) ** 0.5
        profile = profile * (1 + self.random.normal(0, 0.08, 9))
        breadth = round(self.medium.pen_mm * weight, 2)
        self._strokes.add(points, breadth, np.clip(profile * pressure, 0, 1.4))

    def curve(
        self, *controls: Point, weight: float = 1.0, pressure: float = 1.0, shake: float = 0.6
    ) -> None:
        self.line(curve(controls), weight, pressure, shake)

    def ruled(self, start: Point, end: Point, weight: float = 0.8, pressure: float = 0.9) -> None:
        self.line([start, end], weight, pressure, shake=0.0)

    def outline(self, polygon: Line, weight: float = 1.0, pressure: float = 1.0) -> None:
        points = [tuple(point) for point in polygon]
        self.line([*points, points[0]], weight, pressure, shake=0.5)

    def hide(self, polygon: Line) -> None:
        """Take away all drawn so far inside ``polygon``, which stands in front of it."""
        points = self._mm(polygon)
        window = self.sheet.window(tuple(map(tuple, points)), 0.0)
        if window is None:
            return
        inside = filled(window, points)
        self._strokes.clear(window, inside > 0.5)
        self._washes[window.part] *= (1 - inside)[:, :, None]

    @cached_property
    def _pooling(self) -> Field:
        """How washes gather in the hollows of this sheet, and its granulation."""
        pool = 0.16 * self.sheet.cloud(self.random, 14.0) + 0.08 * self.sheet.cloud(
            self.random, 4.0
        )
        return (1 + pool) * (1 + 0.10 * self.sheet.cloud(self.random, 0.5))

    def trim(self) -> None:
        """Take away all that ran beyond the box."""
        rows, columns = self.sheet.shape
        whole = Window((slice(0, rows), slice(0, columns)), 0.0, 0.0, self.sheet.px_per_mm)
        inside = filled(whole, self._mm([(0, 0), (1, 0), (1, self.aspect), (0, self.aspect)]))
        self._strokes.clear(whole, inside < 0.5)
        self._washes *= inside[:, :, None]

    def lift(self, polygon: Line, share: float, soft_mm: float) -> None:
        """Take wet wash up again: clouds, and lights on water."""
        points = self._mm(polygon)
        window = self.sheet.window(tuple(map(tuple, points)), 3 * soft_mm)
        if window is not None:
            gone = blurred(filled(window, points), soft_mm * window.px_per_mm)
            self._washes[window.part] *= (1 - share * gone)[:, :, None]

    def shade(
        self, polygon: Line, tone: float, angle_deg: float = 40.0, pigment: str = "grey"
    ) -> None:
        """Darken ``polygon`` by ``tone`` 0…1 in the manner of the medium."""
        if self.medium.shading == "wash":
            self.wash(polygon, self.medium.wash or pigment, tone)
        elif self.medium.shading == "rub":
            self.hatch(polygon, 0.9 * self.medium.pen_mm / tone**0.5, angle_deg, 2.2, 0.75 * tone)
        else:
            step = self.medium.pen_mm * (1.6 + 1.5 / max(tone, 0.08))
            self.hatch(polygon, step, angle_deg, 0.8, 0.5 + 0.5 * tone)
            if tone > 0.55:
                self.hatch(polygon, step * 1.1, angle_deg + 62, 0.8, 0.45 + 0.45 * tone)

    def tint(self, polygon: Line, pigment: str, tone: float) -> None:
        """Local colour: laid only where the medium has colours."""
        if self.medium.shading == "wash" and self.medium.wash is None:
            self.wash(polygon, pigment, tone)

    def hatch(
        self, polygon: Line, step_mm: float, angle_deg: float, weight: float, pressure: float
    ) -> None:
        """Parallel strokes across ``polygon``, none quite like its neighbour."""
        corners = self._mm(polygon)
        angle = math.radians(angle_deg)
        along = np.array([math.cos(angle), math.sin(angle)])
        across = np.array([-along[1], along[0]])
        u, v = corners @ along, corners @ across
        following_u, following_v = np.roll(u, -1), np.roll(v, -1)
        levels = np.arange(v.min() + step_mm * 0.5, v.max(), step_mm)
        breadth = round(self.medium.pen_mm * weight, 2)
        for level in levels + self.random.normal(0, 0.12 * step_mm, len(levels)):
            crossed = (v > level) != (following_v > level)
            share = (level - v[crossed]) / (following_v[crossed] - v[crossed])
            ends = np.sort(u[crossed] + share * (following_u[crossed] - u[crossed]))
            for start, end in zip(ends[::2], ends[1::2], strict=False):
                if end - start < 0.6:
                    continue
                trim = self.random.uniform(0, 0.05, 2) * (end - start)
                tilt = self.random.normal(0, 0.02) * (end - start)
                a = along * (start + trim[0]) + across * level
                b = along * (end - trim[1]) + across * (level + tilt)
                bend = across * self.random.normal(0, 0.012) * (end - start)
                strokes = np.array([a, (a + b) / 2 + bend, b])
                strength = pressure * (1 + self.random.normal(0, 0.12))
                profile = strength * np.array([0.55, 0.95, 1.0, 0.9, 0.4])
                self._strokes.add(strokes, breadth, np.clip(profile, 0, 1.3))

    def wash(
        self, polygon: Line, pigment: str, tone: float, fade: float = 0.0, soft_mm: float = 0.35
    ) -> None:
        """A wash with a darker rim, pooling and granulation.

        ``fade`` 0…1 thins it towards the bottom of the polygon (a sky, say) and softens
        that edge; ``soft_mm`` is the softness of the other edges.
        """
        points = self._mm(polygon)
        window = self.sheet.window(tuple(map(tuple, points)), 2.0)
        if window is None:
            return
        px = window.px_per_mm
        inside = blurred(filled(window, points), soft_mm * px)
        rim = np.clip(inside - blurred(inside, 0.9 * px), 0, 1)
        amount = tone * inside * (0.86 + 0.9 * rim) * self._pooling[window.part]
        if fade:
            y = np.linspace(0, 1, window.shape[0], dtype=np.float32)[:, None]
            amount = amount * (1 - fade * y**1.2)
        amount = np.clip(amount, 0, None).astype(np.float32)
        self._washes[window.part] += amount[:, :, None] * np.array(PIGMENTS[pigment], np.float32)

    def finish(self) -> None:
        """Lay the drawing on the recto of the sheet."""
        medium, sheet = self.medium, self.sheet
        amount = self._strokes.laid()
        if medium.tooth:
            relief = sheet.relief["recto"]
            raised = (relief - blurred(relief, 0.9 * sheet.px_per_mm)) / np.float32(0.003)
            caught = np.clip(0.62 + 0.40 * raised + 0.22 * sheet.cloud(self.random, 0.35), 0, 1.25)
            amount = amount * (1 - medium.tooth + medium.tooth * caught.astype(np.float32))
        colour = np.array(PIGMENTS[medium.line], dtype=np.float32) * np.float32(medium.line_dark)
        sheet.media["recto"] += amount[:, :, None] * colour + self._washes
        sheet.quench["recto"] += medium.quench * amount + 0.55 * self._washes.mean(axis=2)
        sheet.relief["recto"] += np.float32(medium.relief_mm) * amount
        sheet.gloss["recto"] += (np.float32(medium.gloss) - sheet.gloss["recto"]) * np.clip(
            amount, 0, 1
        )
