"""Which way each place of a surface faces, from photographs with the lamp in several places.

Photometric stereo after R. J. Woodham, "Photometric method for determining surface orientation
from multiple images", Optical Engineering 19(1), 1980: a matt surface throws back light in
proportion to the cosine between its normal and the lamp (Lambert). Each photograph gives one
equation for albedo times normal; three or more lamps solve it by least squares.

x runs right, y down, z towards the viewer.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from survey.imaging.opened import Plane
from survey.imaging.rectified import spread_of, strips

# A photograph this much darker than the middle one at the same place lies in shadow there.
SHADOWED = 0.22
# Scale of the Cauchy weights, in robust standard deviations: 95 % efficient on plain noise
# (P. J. Huber's and later handbooks' usual constant; from memory).
CAUCHY = 2.385
ROUNDS = 4
# With fewer lamps than this at a place, any one of them can be left out to make the rest agree.
FEWEST_TO_DOUBT = 5
# Of the information that all lamps together hold, the share that must stay after some are dropped.
LEAST_LEFT = 0.02


def lamp_rows(azimuths_deg: Sequence[float], elevation_deg: float) -> NDArray[np.float64]:
    """One row per lamp: how its light on a place depends on the place's normal.

    Scaled so that a flat, level place gets 1 from every lamp: (lamps, 3).
    """
    azimuth = np.radians(np.asarray(azimuths_deg, dtype=float))
    cotangent = 1 / math.tan(math.radians(elevation_deg))
    return np.stack(
        [cotangent * np.sin(azimuth), -cotangent * np.cos(azimuth), np.ones_like(azimuth)], axis=1
    )


def amplification(azimuths_deg: Sequence[float]) -> float:
    """How much the lamps' places magnify noise in the normals.

    1 for lamps spread evenly all round; infinite when all stand along one line.
    """
    azimuth = np.radians(np.asarray(azimuths_deg, dtype=float))
    design = np.stack([np.sin(azimuth), np.cos(azimuth), np.ones_like(azimuth)], axis=1)
    information = design.T @ design
    if np.linalg.cond(information) > 1e9:
        return math.inf
    variance = np.linalg.inv(information)[:2, :2]
    return math.sqrt(float(np.linalg.eigvalsh(variance)[-1]) * len(azimuth) / 2)


def solve(
    brightness: NDArray, rows: NDArray[np.float64], usable: NDArray[np.bool_] | None = None
) -> Plane:
    """Albedo times normal at every place, by least squares that drop shadow and highlight.

    brightness   (lamps, rows, columns), linear light
    rows         (lamps, 3): brightness = rows @ (albedo × normal) on a matt surface
    usable       same shape as brightness; False where it is overexposed

    Plain least squares first. Where the photographs disagree with it, those in deep shadow are
    left out, then those without which the others agree, and the rest are weighed anew by how
    well they agree (iterative reweighting, Cauchy): only as far as the lamps that stay still
    fix the answer. Returns (rows, columns, 3).
    Raises ValueError for fewer than three lamps.
    """
    lamps, height, width = brightness.shape
    if lamps < 3 or rows.shape != (lamps, 3):
        raise ValueError("Three lamps or more are needed, with three numbers for each.")
    inverse = np.asarray(np.linalg.pinv(rows), dtype=np.float64)
    whole = np.linalg.det(rows.T @ rows)
    scale = _usual_misfit(brightness, rows, inverse)
    solved = np.empty((height, width, 3), dtype=np.float32)
    for strip in strips(height, width * 2):
        seen = np.asarray(brightness[:, strip], dtype=np.float32).reshape(lamps, -1)
        good = None if usable is None else usable[:, strip].reshape(lamps, -1)
        plain = (inverse.astype(np.float32) @ seen).astype(np.float32)
        misfit = np.abs(seen - rows.astype(np.float32) @ plain)
        middle = np.median(seen, axis=0)
        odd = (misfit.max(axis=0) > 3 * scale * np.sqrt(np.maximum(middle, 0.02))) | (
            seen.min(axis=0) < SHADOWED * middle
        )
        if good is not None:
            odd |= ~good.all(axis=0)
        places = np.flatnonzero(odd)
        if places.size:
            chosen = None if good is None else good[:, places]
            plain[:, places] = _reweighted(
                seen[:, places], rows, plain[:, places], chosen, scale, whole
            )
        solved[strip] = plain.T.reshape(-1, width, 3)
    return solved


def _usual_misfit(
    brightness: NDArray, rows: NDArray[np.float64], inverse: NDArray[np.float64]
) -> float:
    """Noise of a photograph, as a robust standard deviation over the root of its brightness."""
    lamps = len(rows)
    if lamps == 3:  # Three lamps always agree: take what eight bits leave.
        return 0.004
    step = max(1, brightness.shape[1] * brightness.shape[2] // 200_000)
    sample = brightness.reshape(lamps, -1)[:, ::step].astype(np.float64)
    left = sample - rows @ (inverse @ sample)
    left /= np.sqrt(np.maximum(np.median(sample, axis=0), 0.02))
    # Least squares leaves only lamps - 3 degrees of freedom in the misfit.
    return max(0.002, spread_of(left) * math.sqrt(lamps / (lamps - 3)))


def _reweighted(
    seen: NDArray[np.float32],
    rows: NDArray[np.float64],
    plain: NDArray[np.float32],
    good: NDArray[np.bool_] | None,
    scale: float,
    whole: float,
) -> NDArray[np.float32]:
    """``plain`` (3, places) solved anew with weights; kept where too few lamps would stay."""
    middle = np.median(seen, axis=0)
    kept = (seen >= SHADOWED * middle).astype(np.float64)
    if good is not None:
        kept *= good
    noise = scale * np.sqrt(np.maximum(middle, 0.02))
    light = seen.astype(np.float64)
    answer, solved = _weighed(light, rows, kept, whole)
    answer = np.where(solved, answer, plain)
    for _ in range(len(rows) - FEWEST_TO_DOUBT + 1):
        doubted = np.flatnonzero(
            (kept.sum(axis=0) >= FEWEST_TO_DOUBT)
            & ((kept * np.abs(light - rows @ answer)).max(axis=0) > 3 * noise)
        )
        if doubted.size == 0:
            break
        kept[:, doubted] = _without_the_worst(light[:, doubted], rows, kept[:, doubted], whole)
        renewed, solved = _weighed(light[:, doubted], rows, kept[:, doubted], whole)
        answer[:, doubted] = np.where(solved, renewed, answer[:, doubted])
    weights = kept
    for _ in range(ROUNDS):
        misfit = (light - rows @ answer) / (CAUCHY * noise)
        weights = kept / (1 + misfit**2)
        renewed, solved = _weighed(light, rows, weights, whole)
        answer = np.where(solved, renewed, answer)
    return answer.astype(np.float32)


def _weighed(
    light: NDArray[np.float64],
    rows: NDArray[np.float64],
    weights: NDArray[np.float64],
    whole: float,
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Weighted least squares (3, places), and where the weights leave enough to solve it."""
    outer = rows[:, :, None] * rows[:, None, :]
    information = np.einsum("lp,lij->pij", weights, outer)
    enough = np.linalg.det(information) > LEAST_LEFT * whole
    information[~enough] = np.eye(3)
    told = np.einsum("lp,lp,li->pi", weights, light, rows)
    return np.linalg.solve(information, told[:, :, None])[:, :, 0].T, enough


def _without_the_worst(
    light: NDArray[np.float64],
    rows: NDArray[np.float64],
    kept: NDArray[np.float64],
    whole: float,
) -> NDArray[np.float64]:
    """``kept`` (lamps, places) without the one lamp whose absence lets the others agree best.

    Weights alone do not find it: a great error bends plain least squares towards itself.
    """
    least = np.full(light.shape[1], np.inf)
    best = kept.copy()
    for lamp in range(len(rows)):
        fewer = kept.copy()
        fewer[lamp] = 0
        answer, enough = _weighed(light, rows, fewer, whole)
        left = (fewer * (light - rows @ answer) ** 2).sum(axis=0)
        better = enough & (kept[lamp] > 0) & (left < least)
        least[better] = left[better]
        best[:, better] = fewer[:, better]
    return best


def unit(solved: Plane) -> Plane:
    """Unit normals of albedo times normal; facing the viewer where there is no light at all."""
    length = np.sqrt(np.einsum("rci,rci->rc", solved, solved))
    dark = length <= 1e-6
    normals = np.asarray(solved / np.maximum(length, 1e-6)[:, :, None], dtype=np.float32)
    normals[dark] = (0, 0, 1)
    return normals
