"""Laid lines: their density and direction, by the spectra of many small windows.

Windows rather than the whole sheet, for then a drawing spoils only those it covers; counting
laid lines by the Fourier transform of small pieces is established practice (Ellis, Johnson and
Sethares, Moldmates Matter: Computational Tools to Enhance, Measure, Compare, and Match
Historical Papers, Getty Research Journal 17, 2023, treats laid-line density as a trait of the
mould). The fine count comes from the phase of the lines, followed from window to window: over
200 mm a tenth of a line can be told, where one window of 20 mm tells a tenth in twenty.
"""

import itertools
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft

from survey.imaging.tone import Tone

Array = NDArray[np.float64]

WORK_PX_PER_MM = 6.0
# From 3 to 18 lines in a centimetre. From memory of the range met on papers made by hand.
COARSEST_PER_MM, FINEST_PER_MM = 0.3, 1.8
# Sampling theorem: two pixels to a line; a little more, since no lens is perfect.
PX_PER_LINE = 2.1
WINDOW_MM, WIDEST_WINDOW_MM = 20.0, 40.0
MOST_WINDOWS_ACROSS = 12
MARGIN_MM = 2.0
RING_PER_MM = 0.025
# Winsorised at so many robust standard deviations: strokes and specks weigh no more than lines.
CLIP = 2.5
# A peak must stand so far above its ring, and above its own direction beside it, as the mean
# over windows of log(1 + power / median power of the ring). Noise alone gives about 0.9.
FOUND, FOUND_ALONG = 2.6, 1.5
# The same strength at right angles is a weave or the grid of a JPEG file, not laid lines.
CROSS_SHARE = 0.75
BLOCK_MM = 35.0
# Where windows differ by more than this share in density, no even comb is laid through them.
UNEVEN, LOCAL_SHARES, MOST_LOCAL = 0.02, np.linspace(0.86, 1.14, 29), 49
# Where the fading of detail is judged: bright and dark parts 1.5, 1.2 and 1 mm wide together
# with their neighbour, each over so wide a band.
FADE_PER_MM, FADE_WIDTH_PER_MM = (0.3, 0.4, 0.5), 0.06


@dataclass(frozen=True)
class Laid:
    """per_mm         lines in a millimetre, and its standard uncertainty from the scatter
    angle_deg      direction of the chain lines that stand square on them, see ``chains``
    windows        how many windows were read
    clearest_mm    middle (x, y) of the window in which the lines show best
    phase_turns    of the lines there: the lightest lie where per_mm × distance + phase is whole,
                   the distance from clearest_mm along (sin a, -cos a)
    """

    per_mm: float
    per_mm_u: float
    angle_deg: float
    angle_u_deg: float
    windows: int
    clearest_mm: tuple[float, float]
    phase_turns: float


@dataclass(frozen=True)
class Looked:
    """laid      None when no lines stand out
    fade      how much weaker detail of 1 mm is than detail of 1.5 mm: the difference of the
              logarithms of their powers. Out of focus, detail fades steeply
    bend      how much less it fades in the finer half of that step than in the coarser: above
              nought where nothing but noise is left. Both 0 of a picture too coarse to tell
    """

    laid: Laid | None
    fade: float
    bend: float


@dataclass(frozen=True)
class Windows:
    """Square windows: the first row and column of each row and column of windows."""

    rows: list[int]
    columns: list[int]
    size: int
    px_per_mm: float

    def middles_mm(self) -> Array:
        """(windows, 2): x and y of each window's middle."""
        half = self.size / 2
        return np.array(
            [
                ((column + half) / self.px_per_mm, (row + half) / self.px_per_mm)
                for row in self.rows
                for column in self.columns
            ]
        )

    def of(self, values: NDArray[np.float32]) -> list[NDArray[np.float32]]:
        n = self.size
        return [
            values[row : row + n, column : column + n]
            for row in self.rows
            for column in self.columns
        ]


def laid_lines(tone: Tone) -> Looked:
    """Look for laid lines anywhere between COARSEST_PER_MM and FINEST_PER_MM, in any direction."""
    windows = _windows(tone)
    values = tone.without_strokes().values
    flat = values - cv2.GaussianBlur(values, (0, 0), 1.5 * tone.px_per_mm)
    tiles = [_evened(tile) for tile in windows.of(flat)]
    spectrum = _Spectrum(windows.size, tone.px_per_mm)
    score, detail = spectrum.scored(tiles)
    peak = int(np.argmax(score))
    laid = None
    if spectrum.stands_alone(score, peak):
        laid = _refined(tiles, windows, *spectrum.summit(score, peak))
    return Looked(laid, *spectrum.fading(detail))


def _windows(tone: Tone) -> Windows:
    rows, columns = tone.values.shape
    margin = round(MARGIN_MM * tone.px_per_mm)
    shorter = min(rows, columns) - 2 * margin
    size_mm = min(max(WINDOW_MM, shorter / tone.px_per_mm / 6), WIDEST_WINDOW_MM)
    size = max(8, min(round(size_mm * tone.px_per_mm), shorter))

    def starts(length: int) -> list[int]:
        room = max(0, length - 2 * margin - size)
        steps = min(math.ceil(room / (size / 2)), MOST_WINDOWS_ACROSS - 1)
        return [round(margin + room * step / max(1, steps)) for step in range(steps + 1)]

    return Windows(starts(rows), starts(columns), size, tone.px_per_mm)


def _evened(tile: NDArray[np.float32]) -> NDArray[np.float32]:
    """Deviation from the tile's median, strokes held down."""
    away = tile - np.median(tile)
    spread = 1.4826 * float(np.median(np.abs(away))) + 1e-6
    return np.clip(away / np.float32(spread), -CLIP, CLIP).astype(np.float32)


class _Spectrum:
    """The part of a window's two-dimensional spectrum where laid lines can be."""

    def __init__(self, size: int, px_per_mm: float) -> None:
        self.taper = np.outer(np.hanning(size), np.hanning(size)).astype(np.float32)
        self.length = fft.next_fast_len(round(1.6 * size), real=True)
        across = np.fft.rfftfreq(self.length, 1 / px_per_mm)
        down = np.fft.fftfreq(self.length, 1 / px_per_mm)
        radius = np.hypot(across[None, :], down[:, None])
        self.finest = min(FINEST_PER_MM, px_per_mm / PX_PER_LINE)
        wanted = np.flatnonzero((radius >= COARSEST_PER_MM) & (radius <= self.finest))
        # In order of radius, so that each ring is one run.
        self.index = wanted[np.argsort(radius.reshape(-1)[wanted], kind="stable")]
        row, column = np.divmod(self.index, len(across))
        self.kx, self.ky = across[column], down[row]
        self.radius = radius.reshape(-1)[self.index]
        ring = np.floor(self.radius / RING_PER_MM).astype(int)
        self.starts = np.flatnonzero(np.diff(ring, prepend=-1))
        self.step = px_per_mm / self.length

    def scored(self, tiles: list[NDArray[np.float32]]) -> tuple[Array, Array]:
        """(score of each frequency; of each window, the log of each ring's median power)."""
        score = np.zeros(len(self.index))
        details = []
        bounds = [*self.starts, len(self.index)]
        for tile in tiles:
            seen = fft.rfft2(tile * self.taper, (self.length, self.length))
            seen = seen.reshape(-1)[self.index]
            power = seen.real**2 + seen.imag**2
            medians = np.array([_middle(power[a:b]) for a, b in itertools.pairwise(bounds)])
            medians = np.maximum(medians, 1e-9)
            score += np.log1p(power / np.repeat(medians, np.diff(bounds)))
            details.append(np.log(medians))
        count = max(1, len(tiles))
        return score / count, np.array(details)

    def fading(self, detail: Array) -> tuple[float, float]:
        """(fade, bend), see ``Looked``, of ``detail`` (windows, rings)."""
        ring = self.radius[self.starts]
        bands = [(ring >= low) & (ring <= low + FADE_WIDTH_PER_MM) for low in FADE_PER_MM]
        if not all(band.any() for band in bands):
            return 0.0, 0.0
        coarse, middle, fine = (detail[:, band].mean(axis=1) for band in bands)
        # The median over windows: a drawing in some of them fades like a picture out of focus.
        return (
            float(np.median(fine - coarse)),
            float(np.median((fine - middle) - (middle - coarse))),
        )

    def stands_alone(self, score: Array, peak: int) -> bool:
        """Whether the peak is one direction and one spacing, and not a broad streak or a mesh."""
        if score[peak] < FOUND:
            return False
        kx, ky = self.kx[peak], self.ky[peak]
        radius = math.hypot(kx, ky)
        beside = []
        for share in (0.72, 0.8, 1.25, 1.4):
            near = self._near(share * kx, share * ky, 1.0)
            if COARSEST_PER_MM <= share * radius <= self.finest and len(near):
                beside.append(float(score[near].mean()))
        if beside and score[peak] - max(beside) < FOUND_ALONG * 0.6:
            return False
        crossing = self._near(-ky, kx, 2.0)
        return not len(crossing) or float(score[crossing].max()) < CROSS_SHARE * score[peak]

    def _near(self, kx: float, ky: float, steps: float) -> NDArray[np.int64]:
        if kx < 0:
            kx, ky = -kx, -ky
        away = np.hypot(self.kx - kx, self.ky - ky)
        return np.flatnonzero(away <= steps * self.step)

    def summit(self, score: Array, peak: int) -> tuple[float, float]:
        """(kx, ky) of the peak between the steps: the mean, weighted by what stands out."""
        near = self._near(float(self.kx[peak]), float(self.ky[peak]), 2.0)
        weight = np.maximum(np.exp(score[near]) - 1, 0)
        return (
            float(np.average(self.kx[near], weights=weight)),
            float(np.average(self.ky[near], weights=weight)),
        )


def _middle(values: NDArray[np.float32]) -> float:
    """The upper median: what np.median would tell of many values, in a fifth of the time."""
    middle = len(values) // 2
    return float(np.partition(values, middle)[middle])


def _refined(tiles: list[NDArray[np.float32]], windows: Windows, kx: float, ky: float) -> Laid:
    """The even comb that follows the lines' phase through all windows best."""
    grid = (len(windows.rows), len(windows.columns))
    middles = windows.middles_mm()
    wave = np.array([kx, ky])
    for _ in range(2):
        seen = _phasors(tiles, windows, middles, wave).reshape(grid)
        wave = wave + _drift(seen, windows)
    seen = _phasors(tiles, windows, middles, wave)
    weight = np.abs(seen) / (np.abs(seen).max() + 1e-12)
    blocks = _blocks(middles)
    fitted, residual, held = _plane(np.angle(seen), weight, middles)
    local = _local_shares(tiles, windows, middles, wave)
    if 1.4826 * np.median(np.abs(local - np.median(local))) > UNEVEN:
        return _uneven(wave, local, middles, seen, len(tiles))
    leave_out = []
    for block in np.unique(blocks):
        kept = blocks != block
        if kept.sum() >= 4 and np.linalg.matrix_rank(middles[kept] - middles[kept][0]) == 2:
            part, _, _ = _plane(np.angle(seen[kept]), weight[kept], middles[kept])
            leave_out.append(wave + part)
    clearest = int(np.argmax(np.where(np.abs(residual) < 0.6, held, 0)))
    before, wave = wave, wave + fitted
    frequency = float(np.hypot(*wave))
    angle = _chain_angle(wave)
    if len(leave_out) >= 3:
        parts = np.array(leave_out)
        turns = np.array([(_chain_angle(part) - angle + 90) % 180 - 90 for part in parts])
        per_mm_u, angle_u = _jackknifed(np.hypot(parts[:, 0], parts[:, 1])), _jackknifed(turns)
    else:
        # Too few windows: a third of a line in all that they cover.
        cover = float(np.ptp(middles, axis=0).max()) + windows.size / windows.px_per_mm / 2
        per_mm_u = 0.3 / cover
        angle_u = math.degrees(per_mm_u / frequency)
    return Laid(
        frequency, per_mm_u, angle, angle_u, len(tiles), *_clearest(clearest, middles, seen, before)
    )


def _clearest(
    window: int, middles: Array, seen: NDArray[np.complex128], wave: Array
) -> tuple[tuple[float, float], float]:
    """(middle of the window, phase there), see ``Laid``."""
    phase = float(np.angle(seen[window])) / (2 * math.pi) + float(middles[window] @ wave)
    angle = math.radians(_chain_angle(wave))
    if wave @ np.array([math.sin(angle), -math.cos(angle)]) < 0:
        phase = -phase
    return (float(middles[window][0]), float(middles[window][1])), phase % 1.0


def _uneven(
    wave: Array, local: Array, middles: Array, seen: NDArray[np.complex128], count: int
) -> Laid:
    """Lines that lie closer in one part of the sheet than in another: the mean of the parts."""
    angle = _chain_angle(wave)
    several = max(2, min(len(local), len(np.unique(_blocks(middles)))))
    frequency = float(np.hypot(*wave))
    error = float(local.std()) / math.sqrt(several)
    where = int(np.argmax(np.abs(seen)))
    place, phase = _clearest(where, middles, seen, wave)
    return Laid(
        frequency * float(local.mean()),
        frequency * error,
        angle,
        math.degrees(error),
        count,
        place,
        phase,
    )


def _local_shares(
    tiles: list[NDArray[np.float32]], windows: Windows, middles: Array, wave: Array
) -> Array:
    """Each window's own density as a share of the wave's, for windows all over the sheet."""
    chosen = np.unique(np.linspace(0, len(tiles) - 1, MOST_LOCAL).round().astype(int))
    some = [tiles[i] for i in chosen]
    strength = np.array(
        [np.abs(_phasors(some, windows, middles[chosen], share * wave)) for share in LOCAL_SHARES]
    )
    clear = strength.max(axis=0) > 2.5 * np.median(strength, axis=0)
    if clear.sum() < 3:
        return np.ones(1)
    return LOCAL_SHARES[strength.argmax(axis=0)[clear]]


def _jackknifed(without: Array) -> float:
    """Standard error of what was estimated anew without each block (delete-a-group jackknife)."""
    groups = len(without)
    return math.sqrt((groups - 1) / groups * float(np.sum((without - without.mean()) ** 2)))


def _phasors(
    tiles: list[NDArray[np.float32]], windows: Windows, middles: Array, wave: Array
) -> NDArray[np.complex128]:
    """Amplitude and phase of the wave in each window, the phase as at the sheet's origin."""
    place = (np.arange(windows.size) + 0.5 - windows.size / 2) / windows.px_per_mm
    taper = np.hanning(windows.size)
    across = (taper * np.exp(-2j * math.pi * wave[0] * place)).astype(np.complex64)
    down = (taper * np.exp(-2j * math.pi * wave[1] * place)).astype(np.complex64)
    seen = np.array([down @ (tile @ across) for tile in tiles]).astype(np.complex128)
    return seen * np.exp(-2j * math.pi * (middles @ wave))


def _drift(seen: NDArray[np.complex128], windows: Windows) -> Array:
    """What the phase gains from window to window, as a correction to (kx, ky)."""
    drift = np.zeros(2)
    unit = seen / np.sqrt(np.abs(seen) + 1e-12)
    for axis, starts in ((0, windows.columns), (1, windows.rows)):
        if len(starts) < 2:
            continue
        hop = (starts[-1] - starts[0]) / (len(starts) - 1) / windows.px_per_mm
        steps = unit[:, 1:] * np.conj(unit[:, :-1]) if axis == 0 else unit[1:] * np.conj(unit[:-1])
        drift[axis] = np.angle(steps.sum()) / (2 * math.pi * hop)
    return drift


def _plane(phase: Array, weight: Array, middles: Array) -> tuple[Array, Array, Array]:
    """Weighted plane through phases that wrap: (kx, ky) per mm, residuals, weights held."""
    wave = np.zeros(2)
    middle = np.average(middles, axis=0, weights=weight)
    away = middles - middle
    held = weight.copy()
    residual = phase
    for _ in range(8):
        turned = phase - 2 * math.pi * (away @ wave)
        offset = np.angle(np.sum(held * np.exp(1j * turned)))
        residual = np.angle(np.exp(1j * (turned - offset)))
        # Windows that a drawing fills fall out of step: they count for less (Huber's weights).
        spread = 1.4826 * float(np.median(np.abs(residual))) + 0.05
        held = weight * np.minimum(1, 1.5 * spread / np.maximum(np.abs(residual), 1e-9))
        design = np.column_stack([away, np.ones(len(away))]) * np.sqrt(held)[:, None]
        step, *_ = np.linalg.lstsq(design, residual * np.sqrt(held), rcond=None)
        wave = wave + step[:2] / (2 * math.pi)
    return wave, residual, held


def _blocks(middles: Array) -> NDArray[np.int64]:
    """The part of the sheet each window belongs to, parts about BLOCK_MM wide."""
    low, high = middles.min(axis=0), middles.max(axis=0)
    counts = np.clip(np.round((high - low) / BLOCK_MM), 2, 6)
    cell = np.minimum((middles - low) / np.maximum(high - low, 1e-9) * counts, counts - 1)
    return (np.floor(cell[:, 1]) * 10 + np.floor(cell[:, 0])).astype(np.int64)


def _chain_angle(wave: Array) -> float:
    """Direction of the lines square on the laid lines: the wave runs along (sin a, -cos a)."""
    return float((math.degrees(math.atan2(wave[0], -wave[1])) + 45) % 180 - 45)
