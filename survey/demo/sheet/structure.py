"""The maps of a sheet: height field, thickness, what it absorbs, what it emits, its gloss.

All maps are in the frame of the recto: row 0 is the top edge, column 0 the left edge, and
the middle of pixel (row, column) lies at ((column + ½) / px_per_mm, (row + ½) / px_per_mm).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from survey.demo.sheet.geometry import Points, bounds, mirrored
from survey.demo.sheet.noise import Field, cloud, stream, wander
from survey.demo.sheet.recipe import TONES, Mark, SheetRecipe

# Absorption of bare paper, per mm, for red, green and blue: light that has come through is
# warmer than light thrown back. From memory; chosen so that 0.18 mm passes about a third.
ABSORPTION_PER_MM = np.array([4.9, 6.0, 8.2], dtype=np.float32)

# What gelatine-sized paper without brightener gives back under a lamp of 365 nm, and what a
# brightener adds, in linear red, green and blue. From memory of such photographs.
PAPER_EMISSION = np.array([0.17, 0.20, 0.255], dtype=np.float32)
BRIGHTENER_EMISSION = np.array([0.10, 0.32, 0.85], dtype=np.float32)

PAPER_GLOSS = 0.16


@dataclass
class Sheet:
    """Maps of one sheet at one resolution, shape (rows, columns) or (rows, columns, 3).

    height          deformation of the whole sheet towards the recto viewer, mm
    relief          surface texture outwards from each side, mm
    thickness       mm
    media           absorbance laid on each side (natural log, as seen once through)
    stain           absorbance in the body of the sheet, seen from both sides
    emission        fluorescence under ultraviolet, linear light
    quench          absorbance of that fluorescence by what lies on each side
    gloss           0…1, of each side
    present         1 where there is paper, 0 where there is none
    """

    recipe: SheetRecipe
    px_per_mm: float
    height: Field
    relief: dict[str, Field]
    thickness: Field
    media: dict[str, Field]
    stain: Field
    emission: dict[str, Field]
    quench: dict[str, Field]
    gloss: dict[str, Field]
    present: Field

    @property
    def shape(self) -> tuple[int, int]:
        rows, columns = self.height.shape
        return rows, columns

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height that the maps cover: the sheet, and a part of a pixel beyond."""
        return self.shape[1] / self.px_per_mm, self.shape[0] / self.px_per_mm

    def cloud(self, random: np.random.Generator, cell_mm: float, stretch: float = 1.0) -> Field:
        return cloud(random, self.size_mm, self.shape, cell_mm, stretch)

    def on_recto(self, mark: Mark) -> Points:
        """The points of a mark in the frame of the maps."""
        return mark.points if mark.side == "recto" else mirrored(mark.points, self.recipe.width_mm)

    def window(self, points: Points, margin_mm: float) -> "Window | None":
        """The part of the maps about ``points``; None if that lies wholly off the sheet."""
        left, top, right, bottom = bounds(points)
        rows, columns = self.shape
        first_row = max(0, math.floor((top - margin_mm) * self.px_per_mm))
        last_row = min(rows, math.ceil((bottom + margin_mm) * self.px_per_mm))
        first_column = max(0, math.floor((left - margin_mm) * self.px_per_mm))
        last_column = min(columns, math.ceil((right + margin_mm) * self.px_per_mm))
        if first_row >= last_row or first_column >= last_column:
            return None
        return Window(
            (slice(first_row, last_row), slice(first_column, last_column)),
            first_column / self.px_per_mm,
            first_row / self.px_per_mm,
            self.px_per_mm,
        )


@dataclass(frozen=True)
class Window:
    """A rectangle of the maps, and where it lies on the sheet in mm."""

    part: tuple[slice, slice]
    left_mm: float
    top_mm: float
    px_per_mm: float

    @property
    def shape(self) -> tuple[int, int]:
        rows, columns = self.part
        return rows.stop - rows.start, columns.stop - columns.start

    @property
    def size_mm(self) -> tuple[float, float]:
        return self.shape[1] / self.px_per_mm, self.shape[0] / self.px_per_mm

    def grid(self) -> tuple[Field, Field]:
        """x and y of every pixel's middle, mm: shapes (1, columns) and (rows, 1)."""
        rows, columns = self.shape
        x = self.left_mm + (np.arange(columns, dtype=np.float32) + 0.5) / self.px_per_mm
        y = self.top_mm + (np.arange(rows, dtype=np.float32) + 0.5) / self.px_per_mm
        return x[None, :], y[:, None]

    def cloud(self, random: np.random.Generator, cell_mm: float) -> Field:
        return cloud(random, self.size_mm, self.shape, cell_mm)


def seen_by_pixel(frequency_per_mm: float, px_per_mm: float) -> float:
    """How much of a sine's contrast one square pixel keeps; 0 at and above the Nyquist limit."""
    cycles_per_pixel = frequency_per_mm / px_per_mm
    return 0.0 if cycles_per_pixel >= 0.5 else float(np.sinc(cycles_per_pixel))


def bare_paper(recipe: SheetRecipe, px_per_mm: float) -> Sheet:
    """The sheet as it left the mould and was sized: no drawing, no damage."""
    shape = (
        max(1, math.ceil(recipe.height_mm * px_per_mm - 1e-6)),
        max(1, math.ceil(recipe.width_mm * px_per_mm - 1e-6)),
    )

    def zeros(*more: int) -> Field:
        return np.zeros((*shape, *more), dtype=np.float32)

    emission = PAPER_EMISSION * (TONES[recipe.tone][2] / 0.65)
    emission = emission + recipe.brightener * BRIGHTENER_EMISSION
    sheet = Sheet(
        recipe=recipe,
        px_per_mm=px_per_mm,
        height=zeros(),
        relief={"recto": zeros(), "verso": zeros()},
        thickness=np.full(shape, recipe.thickness_mm, dtype=np.float32),
        media={"recto": zeros(3), "verso": zeros(3)},
        stain=zeros(3),
        emission={
            side: np.broadcast_to(emission.astype(np.float32), (*shape, 3)).copy()
            for side in ("recto", "verso")
        },
        quench={"recto": zeros(), "verso": zeros()},
        gloss={side: np.full(shape, PAPER_GLOSS, dtype=np.float32) for side in ("recto", "verso")},
        present=_within_edges(recipe, shape, px_per_mm),
    )
    _lay_fibres(sheet)
    _size(sheet)
    if recipe.make == "laid":
        _lay_lines(sheet)
    else:
        _lay_wove(sheet)
    _dry(sheet)
    return sheet


def _within_edges(recipe: SheetRecipe, shape: tuple[int, int], px_per_mm: float) -> Field:
    """Share of each pixel that lies on the sheet: straight cut edges, or a deckle."""
    rows, columns = shape
    x = (np.arange(columns) + 0.5)[None, :] / px_per_mm
    y = (np.arange(rows) + 0.5)[:, None] / px_per_mm
    random = stream(recipe.seed, "deckle")

    def edge(steps: int) -> NDArray[np.float64]:
        """How far the edge stands in from the outline at each of ``steps`` places, mm."""
        if not recipe.deckle:
            return np.zeros(steps)
        slow, quick = (wander(random, steps, mm * px_per_mm) for mm in (11.0, 2.2))
        return np.maximum(0.0, 0.5 + 0.32 * slow + 0.11 * quick)

    softness = px_per_mm / 1.6 if recipe.deckle else px_per_mm
    distances = (
        x - edge(rows)[:, None],
        recipe.width_mm - x - edge(rows)[:, None],
        y - edge(columns)[None, :],
        recipe.height_mm - y - edge(columns)[None, :],
    )
    within = np.ones(shape)
    for distance in distances:
        within *= np.clip(distance * softness + 0.5, 0, 1)
    return within.astype(np.float32)


def _lay_fibres(sheet: Sheet) -> None:
    """Formation (cloudy look-through) and the felted surface of both sides."""
    random = stream(sheet.recipe.seed, "fibres")
    rough = 0.8 if sheet.recipe.make == "wove" else 1.0
    formation = (
        0.022 * sheet.cloud(random, 1.1)
        + 0.03 * sheet.cloud(random, 4.0)
        + 0.025 * sheet.cloud(random, 24.0)
    )
    sheet.thickness *= 1 + formation
    fine = sheet.cloud(random, 0.32)
    # Single fibres and shives: the rare high values of a fine noise, a little darker.
    specks = np.clip(fine - 2.9, 0, 1.5)
    sheet.stain += specks[:, :, None] * np.array([0.05, 0.08, 0.13], dtype=np.float32)
    mottle = 0.008 * sheet.cloud(random, 9.0) + 0.012 * sheet.cloud(random, 60.0)
    sheet.stain += (mottle[:, :, None] + 0.03) * np.array([0.7, 1.0, 1.5], dtype=np.float32)
    for side in ("recto", "verso"):
        texture = (
            0.0013 * fine
            + 0.0026 * sheet.cloud(random, 0.75, 1.3)
            + 0.0042 * sheet.cloud(random, 2.4)
        )
        sheet.relief[side] += rough * texture.astype(np.float32)


def _size(sheet: Sheet) -> None:
    """Gelatine lies unevenly on the sheet: seen only by its glow."""
    uneven = 1 + 0.05 * sheet.cloud(stream(sheet.recipe.seed, "size"), 35.0)
    for side in ("recto", "verso"):
        sheet.emission[side] *= uneven[:, :, None]


def _lay_lines(sheet: Sheet) -> None:
    """Laid lines, chain lines with their shadows: thinner where a wire lay under the pulp."""
    recipe = sheet.recipe
    random = stream(recipe.seed, "mould")
    angle = math.radians(recipe.chain_angle_deg)
    rows, columns = sheet.shape
    x = ((np.arange(columns, dtype=np.float32) + 0.5) / sheet.px_per_mm)[None, :]
    y = ((np.arange(rows, dtype=np.float32) + 0.5) / sheet.px_per_mm)[:, None]
    across = x * np.float32(math.cos(angle)) + y * np.float32(math.sin(angle))
    along = x * np.float32(math.sin(angle)) - y * np.float32(math.cos(angle))

    frequency = recipe.laid_per_cm / 10
    kept = seen_by_pixel(frequency, sheet.px_per_mm)
    # The wires were never quite straight; a bounded phase leaves the density as it is.
    phase = 2 * math.pi * frequency * along + 0.45 * np.tanh(sheet.cloud(random, 28.0))
    uneven = 1 + 0.25 * sheet.cloud(random, 18.0)
    laid = (np.cos(phase) * uneven * kept).astype(np.float32)

    chain = np.zeros(sheet.shape, dtype=np.float32)
    shadow = np.zeros(sheet.shape, dtype=np.float32)
    bow = (0.08 * sheet.cloud(random, 60.0)).astype(np.float32)
    for offset in recipe.chain_offsets_mm():
        distance = across + bow - np.float32(offset)
        chain += np.exp(-((distance / 0.42) ** 2))
        shadow += np.exp(-((distance / 3.6) ** 2))

    sheet.thickness *= 1 - 0.075 * laid - 0.15 * chain + 0.10 * recipe.chain_shadow * shadow
    print_through = recipe.relief * (-0.0036 * laid - 0.0085 * chain + 0.004 * shadow)
    other = "recto" if recipe.mould_side == "verso" else "verso"
    sheet.relief[recipe.mould_side] += print_through
    sheet.relief[other] += 0.6 * print_through


def _lay_wove(sheet: Sheet) -> None:
    """The even mesh of a woven wire cover: fine, the same in both directions, hardly seen."""
    random = stream(sheet.recipe.seed, "mould")
    rows, columns = sheet.shape
    frequency = float(random.uniform(1.5, 2.0))
    kept = seen_by_pixel(frequency, sheet.px_per_mm)
    turn = 2 * math.pi * frequency / sheet.px_per_mm
    mesh = np.cos(turn * np.arange(columns))[None, :] * np.cos(turn * np.arange(rows))[:, None]
    mesh = (mesh * kept).astype(np.float32)
    sheet.thickness *= 1 - 0.012 * mesh
    for side in ("recto", "verso"):
        sheet.relief[side] -= sheet.recipe.relief * 0.0012 * mesh


def _dry(sheet: Sheet) -> None:
    """The gentle undulation that a sheet keeps from drying, stronger towards its edges."""
    random = stream(sheet.recipe.seed, "drying")
    wave = 0.7 * sheet.cloud(random, 48.0) + 0.4 * sheet.cloud(random, 90.0)
    x = np.linspace(-1, 1, sheet.shape[1], dtype=np.float32)[None, :]
    y = np.linspace(-1, 1, sheet.shape[0], dtype=np.float32)[:, None]
    edge = 0.45 + 0.55 * np.maximum(np.abs(x), np.abs(y)) ** 3
    sheet.height += sheet.recipe.cockle_mm * wave * edge


def blurred(field: Field, sigma_px: float) -> Field:
    """Gaussian blur in rows and columns only; as it was for less than a tenth of a pixel."""
    if sigma_px < 0.1:
        return field
    sigma = (sigma_px, sigma_px) + (0,) * (field.ndim - 2)
    return gaussian_filter(field, sigma, mode="nearest", truncate=3.0)
