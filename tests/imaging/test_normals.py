"""Photometric stereo and integration against surfaces known in full, and other solvers."""

import numpy as np
import pytest

from survey.imaging.integrate import heights
from survey.imaging.normals import amplification, lamp_rows, solve, unit

AZIMUTHS = (0.0, 60.0, 120.0, 180.0, 240.0, 300.0)
ELEVATION = 45.0
SIDE = 81


def sphere() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Normals (rows, columns, 3) of a cap of a ball, its uneven albedo, and its x, y, z."""
    y, x = np.mgrid[-0.7 : 0.7 : SIDE * 1j, -0.7 : 0.7 : SIDE * 1j]
    z = np.sqrt(np.clip(1 - x * x - y * y, 0.02, 1))
    normals = np.stack([x, y, z], axis=2)
    normals /= np.linalg.norm(normals, axis=2)[:, :, None]
    albedo = np.where((np.floor(x * 8) + np.floor(y * 8)) % 2 == 0, 0.9, 0.35)
    return normals, albedo, np.stack([x, y, z], axis=2)


def seen(normals: np.ndarray, albedo: np.ndarray, rows: np.ndarray, shadows: bool) -> np.ndarray:
    light = albedo * np.einsum("rci,li->lrc", normals, rows)
    return np.maximum(light, 0) if shadows else light


def degrees_off(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    across = np.linalg.norm(np.cross(one, other), axis=2)
    return np.degrees(np.arctan2(across, np.einsum("rci,rci->rc", one, other)))


def test_a_ball_without_shadows_is_solved_to_the_last_digits() -> None:
    normals, albedo, _ = sphere()
    rows = lamp_rows(AZIMUTHS, ELEVATION)
    solved = solve(seen(normals, albedo, rows, shadows=False), rows)
    assert degrees_off(unit(solved), normals).max() < 0.01
    np.testing.assert_allclose(np.linalg.norm(solved, axis=2), albedo, rtol=1e-4)


def test_it_agrees_with_least_squares_of_numpy_where_there_is_but_noise() -> None:
    normals, albedo, _ = sphere()
    rows = lamp_rows(AZIMUTHS, ELEVATION)
    random = np.random.default_rng(4)
    light = seen(normals, albedo, rows, shadows=False)
    light = light + random.normal(0, 0.004, light.shape)
    whole, *_ = np.linalg.lstsq(rows, light.reshape(len(rows), -1), rcond=None)
    theirs = unit(whole.T.reshape(SIDE, SIDE, 3))
    assert np.median(degrees_off(unit(solve(light, rows)), theirs)) < 0.02


def test_shadow_and_highlight_are_left_out_where_plain_least_squares_is_misled() -> None:
    normals, albedo, _ = sphere()
    rows = lamp_rows(AZIMUTHS, ELEVATION)
    random = np.random.default_rng(5)
    light = seen(normals, albedo, rows, shadows=True)
    light[1, 20:40, 20:40] = 0.0  # The shadow of something beside.
    light[4, 45:60, 30:50] *= 2.5  # A glossy place.
    light = light + random.normal(0, 0.003, light.shape)
    whole, *_ = np.linalg.lstsq(rows, light.reshape(len(rows), -1), rcond=None)
    plain = degrees_off(unit(whole.T.reshape(SIDE, SIDE, 3)), normals)
    ours = degrees_off(unit(solve(light, rows)), normals)
    for place in ((slice(20, 40), slice(20, 40)), (slice(45, 60), slice(30, 50))):
        assert np.median(plain[place]) > 5
        assert np.median(ours[place]) < 1
    assert np.median(ours) < 0.5


def test_an_overexposed_photograph_is_not_believed_where_it_is_marked_so() -> None:
    normals, albedo, _ = sphere()
    rows = lamp_rows(AZIMUTHS, ELEVATION)
    light = seen(normals, albedo, rows, shadows=False)
    usable = light < 1.0
    solved = solve(np.minimum(light, 1.0), rows, usable)
    enough = (usable & (light > 0.3 * np.median(light, axis=0))).sum(axis=0) >= 4
    assert (~usable).mean() > 0.02 and enough.mean() > 0.5
    assert degrees_off(unit(solved), normals)[enough].max() < 1.5


def test_with_three_lamps_nothing_is_dropped_and_the_answer_stays() -> None:
    normals, albedo, _ = sphere()
    rows = lamp_rows((0, 120, 240), ELEVATION)
    light = seen(normals, albedo, rows, shadows=False)
    light[0, 30:40, 30:40] = 0
    solved = solve(light, rows)
    assert np.isfinite(solved).all()
    theirs = np.linalg.solve(rows, light[:, 35, 35])
    np.testing.assert_allclose(solved[35, 35], theirs, rtol=1e-3)


def test_two_lamps_are_refused() -> None:
    with pytest.raises(ValueError, match="Three lamps"):
        solve(np.ones((2, 4, 4)), lamp_rows((0, 90), 20))


@pytest.mark.parametrize(
    ("azimuths", "low", "high"),
    [
        ((0, 120, 240), 0.99, 1.01),
        ((0, 90, 180, 270), 0.99, 1.01),
        ((0, 10, 20), 15, np.inf),
        ((0, 180, 0.2), 100, np.inf),
    ],
)
def test_lamps_near_each_other_or_in_one_line_magnify_noise(
    azimuths: tuple[float, ...], low: float, high: float
) -> None:
    assert low < amplification(azimuths) <= high


def test_slopes_of_a_known_surface_give_its_heights() -> None:
    """The mean is lost, nothing else: opposite edges of the surface do not meet."""
    px_per_mm = 5.0
    y, x = (np.mgrid[0:90, 0:120] + 0.5) / px_per_mm
    true = 0.3 * np.sin(x / 3) * np.cos(y / 4) + 0.02 * x - 0.01 * y + 0.001 * x * y
    slope_x = 0.1 * np.cos(x / 3) * np.cos(y / 4) + 0.02 + 0.001 * y
    slope_y = -0.075 * np.sin(x / 3) * np.sin(y / 4) - 0.01 + 0.001 * x
    found = heights(slope_x.astype(np.float32), slope_y.astype(np.float32), px_per_mm)
    np.testing.assert_allclose(found, true - true.mean(), atol=0.004)


def test_long_waves_are_held_back_and_short_ones_kept() -> None:
    px_per_mm = 4.0
    x = np.broadcast_to((np.arange(800) + 0.5) / px_per_mm, (64, 800))
    swell, ripple = 2 * np.pi / 200, 2 * np.pi / 5
    slope = swell * np.cos(swell * x) + 0.01 * ripple * np.cos(ripple * x)
    flat = np.zeros_like(slope, dtype=np.float32)
    found = heights(slope.astype(np.float32), flat, px_per_mm, longest_mm=20)
    spectrum = np.abs(np.fft.rfft(found[32])) / 400
    assert spectrum[1] < 0.03
    assert 0.007 < spectrum[40] < 0.0105
