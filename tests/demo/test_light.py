"""The five lights against their closed forms."""

import math

import numpy as np
import pytest

from survey.demo.sheet import light

PX_PER_MM = 4.0


def tilted(slope_x: float, slope_y: float) -> np.ndarray:
    """A plane that rises by ``slope_x`` mm a mm to the right and ``slope_y`` downwards."""
    y, x = np.mgrid[0:40, 0:50] / PX_PER_MM
    return (slope_x * x + slope_y * y).astype(np.float32)


@pytest.mark.parametrize(
    ("slope_x", "slope_y"), [(0.0, 0.0), (0.12, 0.0), (-0.07, 0.2), (0.3, -0.1)]
)
@pytest.mark.parametrize(("azimuth", "elevation"), [(0, 10), (90, 15), (225, 30), (315, 75)])
def test_lambert_agrees_with_the_cosine_of_a_tilted_plane(
    slope_x: float, slope_y: float, azimuth: float, elevation: float
) -> None:
    lit = light.lambert(tilted(slope_x, slope_y), PX_PER_MM, light.towards(azimuth, elevation))
    a, e = math.radians(azimuth), math.radians(elevation)
    normal = np.array([-slope_x, -slope_y, 1.0]) / math.sqrt(1 + slope_x**2 + slope_y**2)
    lamp = np.array([math.cos(e) * math.sin(a), -math.cos(e) * math.cos(a), math.sin(e)])
    assert lit == pytest.approx(max(0.0, float(normal @ lamp)), abs=2e-5)


def test_azimuth_is_told_clockwise_from_the_top_edge() -> None:
    assert light.towards(0, 0) == pytest.approx((0, -1, 0))  # y runs down: up is negative
    assert light.towards(90, 0) == pytest.approx((1, 0, 0))
    assert light.towards(180, 0) == pytest.approx((0, 1, 0))
    assert light.towards(270, 0) == pytest.approx((-1, 0, 0))


def test_a_slope_that_faces_the_lamp_is_brighter() -> None:
    rising_to_the_right = tilted(0.1, 0)
    from_left = light.lambert(rising_to_the_right, PX_PER_MM, light.towards(270, 10))
    from_right = light.lambert(rising_to_the_right, PX_PER_MM, light.towards(90, 10))
    assert from_left.mean() > 2 * from_right.mean()


def test_normal_light_hides_a_small_slope_and_raking_light_shows_it() -> None:
    white = np.ones((40, 50, 3), dtype=np.float32)

    def change(slope: float, raking: bool) -> float:
        height = tilted(slope, 0)
        if raking:
            seen = light.by_raking(height, PX_PER_MM, white, 270, 10)
        else:
            seen = light.by_normal(height, PX_PER_MM, white)
        return float(seen[20, 25, 0])

    assert change(0, raking=False) == pytest.approx(1, abs=1e-5)
    assert change(0, raking=True) == pytest.approx(1, abs=1e-5)
    assert abs(change(0.03, raking=False) - 1) < 0.002
    assert abs(change(0.03, raking=True) - 1) > 0.1


@pytest.mark.parametrize("elevation", [8.0, 20.0, 45.0])
def test_a_step_casts_a_shadow_as_long_as_its_height_over_the_tangent(elevation: float) -> None:
    height = np.zeros((60, 240), dtype=np.float32)
    height[:, :80] = 0.8
    lit = light.unshadowed(height, 10.0, 270, elevation)
    dark_px = int((lit[30, 80:] < 0.5).sum())
    assert dark_px / 10.0 == pytest.approx(
        0.8 / math.tan(math.radians(elevation)), rel=0.12, abs=0.11
    )
    assert lit[30, :79].min() == 1


def test_transmitted_light_falls_off_as_the_exponential_of_the_thickness() -> None:
    absorption = np.array([4.0, 6.0, 8.0], dtype=np.float32)
    thickness = np.linspace(0.05, 0.5, 30, dtype=np.float32)[None, :]
    seen = light.by_transmitted(thickness, absorption, np.zeros((1, 30, 3), dtype=np.float32))
    for band, k in enumerate(absorption):
        assert seen[0, :, band] == pytest.approx(np.exp(-float(k) * thickness[0]), rel=1e-5)


def test_transmitted_light_through_two_layers_is_the_product_of_both() -> None:
    absorption = np.array([5.0, 6.0, 7.0], dtype=np.float32)
    ink = np.full((1, 1, 3), 0.9, dtype=np.float32)
    bare = np.zeros((1, 1, 3), dtype=np.float32)
    thin, thick = (np.full((1, 1), t, dtype=np.float32) for t in (0.1, 0.25))
    both = light.by_transmitted(thick, absorption, ink)
    one_after_another = (
        light.by_transmitted(thin, absorption, bare)
        * light.by_transmitted(thick - thin, absorption, bare)
        * np.exp(-ink)
    )
    assert both == pytest.approx(one_after_another, rel=1e-5)


@pytest.mark.parametrize("lamp", [25.0, 35.0, 60.0])
@pytest.mark.parametrize("gloss", [0.3, 0.9])
def test_gloss_is_greatest_at_the_mirror_angle(lamp: float, gloss: float) -> None:
    height = tilted(0, 0)
    black = np.zeros((40, 50, 3), dtype=np.float32)
    shiny = np.full((40, 50), gloss, dtype=np.float32)
    angles = np.arange(5.0, 90.0, 2.5)
    seen = [
        light.by_specular(height, PX_PER_MM, black, shiny, 270, lamp, angle).mean()
        for angle in angles
    ]
    assert angles[int(np.argmax(seen))] == pytest.approx(lamp, abs=2.5)


def test_a_glossier_surface_has_the_narrower_lobe() -> None:
    angles = np.radians(np.arange(0, 60, 1.0)).astype(np.float32)

    def half_width(gloss: float) -> int:
        shine = light.lobe(np.cos(angles), np.full_like(angles, gloss))
        return int((shine > shine[0] / 2).sum())

    assert half_width(0.9) < half_width(0.4) < half_width(0.1)


def test_ultraviolet_is_emission_dimmed_by_what_absorbs_it() -> None:
    emission = np.full((1, 3, 3), 0.4, dtype=np.float32)
    quench = np.array([[0.0, 0.5, 2.0]], dtype=np.float32)
    nothing = np.zeros((1, 3, 3), dtype=np.float32)
    seen = light.by_ultraviolet(emission, quench, nothing)
    assert seen[0, :, 1] == pytest.approx(0.4 * np.exp(-quench[0]), rel=1e-6)
