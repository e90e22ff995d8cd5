"""The bench the sheet lies on, where the camera stands, and what the camera adds."""

import io
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from survey.demo.sheet.noise import Field, stream
from survey.demo.sheet.structure import blurred
from survey.imaging import geometry
from survey.imaging.opened import encoded

Pixels = NDArray[np.uint8]
Matrix = NDArray[np.float64]

SCALE_MM = 50
CARD_MM = (58.0, 9.0)
CARD_GAP_MM = 6.0
SMALLEST_FRAME_MM = 84.0


@dataclass(frozen=True)
class Camera:
    """margin_mm   bench shown left, right and above the sheet
    foot_mm     bench shown below it, with the scale
    insets      for each corner of the picture (top left, top right, bottom right, bottom
                left) the place of the frame it looks at: (right, down) inwards from that
                corner, as shares of the frame. All nought: square above the middle
    blur_px     standard deviation of the lens's blur
    noise       standard deviation of the noise at full light, as a share of full light
    unevenness  0…1: how much darker the corners are
    exposure    1 as it should be
    """

    margin_mm: float = 13.0
    foot_mm: float = 22.0
    insets: tuple[tuple[float, float], ...] = ((0, 0), (0, 0), (0, 0), (0, 0))
    blur_px: float = 0.45
    noise: float = 0.006
    unevenness: float = 0.05
    exposure: float = 1.0

    @property
    def is_square(self) -> bool:
        return not any(value for inset in self.insets for value in inset)


def held_by_hand(random: np.random.Generator, tilt: float = 0.03) -> Camera:
    """A camera not quite square to the sheet: each corner off by up to ``tilt`` of the frame."""
    insets = tuple((float(a), float(b)) for a, b in random.uniform(0, tilt, (4, 2)))
    return Camera(margin_mm=24.0, foot_mm=34.0, insets=insets)


@dataclass(frozen=True)
class Frame:
    """The rectangle of bench that is photographed, in pixels, and where the sheet lies in it.

    left_px, top_px  of the sheet's maps; origin_px: of the sheet's own left edge
    """

    rows: int
    columns: int
    left_px: int
    top_px: int
    origin_px: float
    px_per_mm: float
    sheet_mm: tuple[float, float]

    @property
    def scale_start_mm(self) -> tuple[float, float]:
        """Nought of the scale, in sheet mm: its bar runs right from here."""
        return 4.0, self.sheet_mm[1] + CARD_GAP_MM + 1.2


def frame_of(
    sheet_mm: tuple[float, float],
    maps: tuple[int, int],
    px_per_mm: float,
    side: str,
    camera: Camera,
) -> Frame:
    """``maps`` is the (rows, columns) of the sheet's maps, at ``px_per_mm``."""
    rows, columns = maps
    wanted = SMALLEST_FRAME_MM * px_per_mm
    margin = round(max(camera.margin_mm * px_per_mm, (wanted - columns) / 2))
    top = round(camera.margin_mm * px_per_mm)
    # The maps may cover a part of a pixel more than the sheet; mirrored, it lies to the left.
    spare = columns - sheet_mm[0] * px_per_mm if side == "verso" else 0.0
    return Frame(
        rows + top + round(camera.foot_mm * px_per_mm),
        columns + 2 * margin,
        margin,
        top,
        margin + spare,
        px_per_mm,
        sheet_mm,
    )


def homography(frame: Frame, camera: Camera) -> Matrix:
    """Picture pixels (edges at whole numbers, x right, y down) to mm on the side seen."""
    per_px = 1 / frame.px_per_mm
    to_mm = np.array(
        [[per_px, 0, -frame.origin_px * per_px], [0, per_px, -frame.top_px * per_px], [0, 0, 1]]
    )
    matrix = to_mm @ looking(frame, camera)
    return matrix / matrix[2, 2]


def looking(frame: Frame, camera: Camera) -> Matrix:
    """From pixels of the picture to pixels of the frame seen squarely."""
    if camera.is_square:
        return np.eye(3)
    w, h = frame.columns, frame.rows
    corners = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=float)
    inwards = np.array([(1, 1), (-1, 1), (-1, -1), (1, -1)], dtype=float)
    seen = corners + inwards * np.asarray(camera.insets) * (w, h)
    return geometry.four_to_four(corners, seen)


def scale_card(frame: Frame, label: str) -> tuple[Field, tuple[slice, slice]]:
    """The card with a scale of 50 mm and a label: 1 white, 0 black; and its place in the frame."""
    ppm = frame.px_per_mm
    fine = 4
    start_x, start_y = frame.scale_start_mm
    left = round(frame.origin_px + (start_x - 2.5) * ppm)
    top = round(frame.top_px + (start_y - 1.2) * ppm)
    width, height = round(CARD_MM[0] * ppm), round(CARD_MM[1] * ppm)
    bottom, right = min(top + height, frame.rows), min(left + width, frame.columns)
    image = Image.new("L", (width * fine, height * fine), 255)
    pen = ImageDraw.Draw(image)

    def px(x_mm: float, y_mm: float) -> tuple[float, float]:
        """From mm on the sheet to the card's fine pixels, so that the bar's ends are exact."""
        return (
            (frame.origin_px + x_mm * ppm - left) * fine,
            (frame.top_px + y_mm * ppm - top) * fine,
        )

    def block(x0: float, y0: float, x1: float, y1: float) -> None:
        (a, b), (c, d) = px(x0, y0), px(x1, y1)
        right, low = max(round(c) - 1, round(a)), max(round(d) - 1, round(b))
        pen.rectangle((round(a), round(b), right, low), fill=0)

    block(start_x, start_y, start_x + SCALE_MM, start_y + 0.35)
    for ten in range(0, SCALE_MM, 20):
        block(start_x + ten, start_y, start_x + ten + 10, start_y + 1.8)
    for mm in range(SCALE_MM):
        if mm % 2 == 0:
            block(start_x + mm, start_y + 1.8, start_x + mm + 1, start_y + 2.6)
    font = ImageFont.load_default(size=max(6.0, 2.6 * ppm * fine))
    pen.text(px(start_x, start_y + 3.6), label, fill=0, font=font)
    pen.text(
        px(start_x + SCALE_MM, start_y + 3.6), f"{SCALE_MM} mm", fill=0, font=font, anchor="ra"
    )
    small = image.resize((width, height), Image.Resampling.BOX)
    card = np.asarray(small, dtype=np.float32)[: bottom - top, : right - left] / np.float32(255)
    return card, (slice(top, bottom), slice(left, right))


def exposed(light: Field, frame: Frame, camera: Camera, seed: int) -> Pixels:
    """Linear light (rows, columns, 3) as the camera writes it: sRGB, eight bits."""
    seen = light if camera.is_square else _seen_askew(light, looking(frame, camera))
    seen = blurred(seen, camera.blur_px)
    random = stream(seed, "sensor")
    rows, columns = seen.shape[:2]
    if camera.unevenness:
        x = np.linspace(-1, 1, columns, dtype=np.float32)[None, :]
        y = np.linspace(-1, 1, rows, dtype=np.float32)[:, None]
        corners = 1 - np.float32(camera.unevenness / 2) * (x * x + y * y)
        seen = seen * corners[:, :, None].astype(np.float32)
    seen = seen * np.float32(camera.exposure)
    if camera.noise:
        grain = random.standard_normal(seen.shape, dtype=np.float32)
        seen = seen + grain * np.sqrt(np.clip(seen, 0, 1) + 0.02) * np.float32(camera.noise)
    return encoded(seen)


def _seen_askew(light: Field, matrix: Matrix) -> Field:
    rows, columns, bands = light.shape
    coefficients = (matrix / matrix[2, 2]).reshape(-1)[:8]
    out = np.empty_like(light)
    for band in range(bands):
        image = Image.fromarray(np.ascontiguousarray(light[:, :, band]))
        out[:, :, band] = np.asarray(
            image.transform(
                (columns, rows),
                Image.Transform.PERSPECTIVE,
                tuple(coefficients),
                Image.Resampling.BICUBIC,
            )
        )
    return out


def jpeg(pixels: Pixels, px_per_mm: float, quality: int = 88) -> bytes:
    """The photograph as a JPEG file; its density says the true size of the sheet."""
    file = io.BytesIO()
    density = round(px_per_mm * 25.4)
    Image.fromarray(pixels).save(file, "JPEG", quality=quality, dpi=(density, density))
    return file.getvalue()


def mapped(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    """One point through a homography."""
    u, v = geometry.mapped(matrix, (x, y))[0]
    if not (math.isfinite(u) and math.isfinite(v)):
        raise ValueError("That point lies at infinity.")
    return float(u), float(v)
