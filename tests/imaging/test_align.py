"""Photographs under different lights laid on each other, against known warps and the renderer."""

import functools
import io
from collections.abc import Callable
from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image
from skimage import data
from skimage.transform import ProjectiveTransform, warp

from survey.demo.sheet.camera import held_by_hand, jpeg
from survey.demo.sheet.placing import place
from survey.demo.sheet.recipe import Drawing, SheetRecipe
from survey.demo.sheet.render import build, render
from survey.demo.sheet.truth import truth_of
from survey.imaging.align import Alignment, NotAligned, align, nudged
from survey.imaging.geometry import four_to_four, inverse, mapped, mm_per_px
from survey.imaging.opened import encoded, linear

Pixels = np.ndarray
# Small enough to be quick; a tablet's photograph is brought down to 1,500 px.
PX_PER_MM = 3.6
SIZE_MM = (190.0, 160.0)
SUBJECTS = {3: ("landscape", "pen-brown-ink"), 4: ("figure", "etching")}
AZIMUTH_DEG = {"raking": 270.0, "specular": 90.0}


@functools.cache
def sheet(seed: int) -> object:
    random = np.random.default_rng(seed)
    subject, medium = SUBJECTS[seed]
    marks = [
        mark
        for term in ("foxing", "handling-crease", "tideline")
        for mark in place(term, random, SIZE_MM, 0.6)
    ]
    drawing = Drawing(subject, medium, (14, 14, SIZE_MM[0] - 14, SIZE_MM[1] - 14))
    return build(SheetRecipe(seed, *SIZE_MM, drawing=drawing, marks=tuple(marks)), PX_PER_MM)


@functools.cache
def photograph(seed: int, light: str) -> tuple[Pixels, np.ndarray]:
    """A JPEG by a camera held anew for each light, noisy, not quite sharp, in uneven light; and
    its true matrix from pixels to the sheet's mm.
    """
    random = np.random.default_rng([seed, len(light)])
    camera = replace(
        held_by_hand(random, 0.045),
        blur_px=float(random.uniform(0.4, 1.0)),
        noise=float(random.uniform(0.006, 0.015)),
        unevenness=0.3,
        exposure=float(random.uniform(0.75, 1.05)),
    )
    one = sheet(seed)
    pixels = render(one, light, azimuth_deg=AZIMUTH_DEG.get(light, 0.0), camera=camera)
    shown = np.asarray(Image.open(io.BytesIO(jpeg(pixels, PX_PER_MM, 85))))
    return shown, np.array(truth_of(one, "recto", camera)["homography"]).reshape(3, 3)


def errors_mm(found: Alignment, fixed: np.ndarray, moving: np.ndarray) -> np.ndarray:
    """Over the whole sheet: how far each place lands from where the renderer put it."""
    across, down = np.meshgrid(np.linspace(0, SIZE_MM[0], 9), np.linspace(0, SIZE_MM[1], 9))
    places = np.column_stack([across.ravel(), down.ravel()])
    landed = mapped(fixed, mapped(found.matrix, mapped(inverse(moving), places)))
    return np.linalg.norm(landed - places, axis=1)


@pytest.mark.parametrize("light", ["raking", "transmitted", "specular", "ultraviolet"])
def test_every_light_lies_on_the_normal_one(light: str) -> None:
    (fixed, to_mm), (moving, truth) = photograph(3, "normal"), photograph(3, light)
    scale = mm_per_px(to_mm, (fixed.shape[1] / 2, fixed.shape[0] / 2))
    found = align(fixed, moving, scale)
    off = errors_mm(found, to_mm, truth)
    assert np.median(off) < 0.1 and off.max() < 0.6
    # What is said of the rest is an upper bound, and not a lazy one.
    assert 0.5 * np.median(off) < found.residual_mm < 0.2
    assert found.residual_mm < found.residual_95_mm < 1
    assert found.inliers > 40
    # The cameras' true difference over the frame.
    grid = np.array([(x, y) for x in np.linspace(0, 1, 9) for y in np.linspace(0, 1, 9)])
    there = mapped(inverse(to_mm) @ truth, grid * moving.shape[1::-1])
    moved = np.sqrt(((there - grid * fixed.shape[1::-1]) ** 2).sum(axis=1).mean()) * scale
    assert found.moved_mm == pytest.approx(moved, abs=0.5)


@pytest.mark.parametrize("turn", [1, 2])
def test_a_photograph_on_its_side_or_head_is_found(turn: int) -> None:
    (fixed, to_mm), (moving, truth) = photograph(3, "normal"), photograph(3, "ultraviolet")
    rows, columns = moving.shape[:2]
    back = {
        1: np.array([[0.0, -1, columns], [1, 0, 0], [0, 0, 1]]),
        2: np.array([[-1.0, 0, columns], [0, -1, rows], [0, 0, 1]]),
    }[turn]
    found = align(fixed, np.rot90(moving, turn), 0.27)
    assert np.median(errors_mm(found, to_mm, truth @ back)) < 0.15


def test_places_between_two_pictures_of_different_size_are_right() -> None:
    (fixed, to_mm), (moving, truth) = photograph(3, "normal"), photograph(3, "raking")
    small = cv2.resize(moving, None, fx=0.6, fy=0.6, interpolation=cv2.INTER_AREA)
    shrink = np.diag([moving.shape[1] / small.shape[1], moving.shape[0] / small.shape[0], 1.0])
    found = align(fixed, small, 0.27)
    assert np.median(errors_mm(found, to_mm, truth @ shrink)) < 0.15


@pytest.mark.parametrize("light", ["normal", "raking", "transmitted"])
def test_another_sheet_of_the_same_size_is_refused(light: str) -> None:
    with pytest.raises(NotAligned, match="do not seem to show the same side of the same sheet"):
        align(photograph(3, "normal")[0], photograph(4, light)[0], 0.27)


def flat(shade: int) -> Pixels:
    noise = np.random.default_rng(shade).normal(shade, 2, (420, 560, 1))
    return np.repeat(noise, 3, axis=2).clip(0, 255).astype(np.uint8)


def test_too_little_to_hold_on_to_is_refused() -> None:
    with pytest.raises(NotAligned, match="too little alike") as refusal:
        align(flat(120), flat(140), 0.2)
    assert str(refusal.value).endswith(".")


KNOWN = np.array([(9.0, 6.0), (-12.0, 14.0), (7.0, -16.0), (11.0, 9.0)])


def larger(plane: np.ndarray, factor: int = 2) -> np.ndarray:
    colour = plane if plane.ndim == 3 else np.repeat(plane[:, :, None], 3, axis=2)
    return cv2.resize(colour, None, fx=factor, fy=factor, interpolation=cv2.INTER_CUBIC)


def darker(pixels: Pixels) -> Pixels:
    fall = np.linspace(0.3, 1.0, pixels.shape[1], dtype=np.float32)[None, :, None]
    return encoded(linear(pixels) * fall)


def turned_about(pixels: Pixels) -> Pixels:
    return 255 - pixels


@pytest.mark.parametrize(
    ("name", "change"),
    [("astronaut", darker), ("astronaut", turned_about), ("camera", darker), ("page", darker)],
)
def test_pictures_of_a_library_warped_by_it_are_found_again(
    name: str, change: Callable[[Pixels], Pixels]
) -> None:
    fixed = larger(getattr(data, name)())
    rows, columns = fixed.shape[:2]
    corners = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], dtype=float)
    truth = four_to_four(corners + KNOWN * columns / 700, corners)  # moving to fixed
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    # scikit-image counts from the middle of the first pixel, and wants output to input.
    to_input = ProjectiveTransform(np.linalg.inv(half) @ truth @ half)
    moving = warp(fixed, to_input, order=3, mode="edge")
    found = align(fixed, change((moving * 255).clip(0, 255).astype(np.uint8)), 1.0)
    inner = corners * 0.8 + corners.mean(axis=0) * 0.2
    off = np.linalg.norm(mapped(found.matrix, inner) - mapped(truth, inner), axis=1)
    assert np.median(off) < 0.25 and off.max() < 0.6  # pixels


def test_two_points_set_by_hand_land_where_they_belong() -> None:
    matrix = four_to_four(np.array([(0, 0), (90, 0), (90, 60), (0, 60.0)]), KNOWN * 9 + 300)
    lie, belong = np.array([(100.0, 120.0), (800.0, 640.0)]), np.array([(103.0, 118.5), (797, 650)])
    seen = mapped(inverse(matrix), lie)
    assert mapped(nudged(matrix, lie, belong), seen) == pytest.approx(belong, abs=1e-9)
    change = nudged(matrix, lie, belong) @ inverse(matrix)
    # Turned, scaled, shifted: nothing is sheared.
    estimated, _ = cv2.estimateAffinePartial2D(lie, belong)
    assert (change / change[2, 2])[:2] == pytest.approx(estimated, abs=1e-5)


def test_two_points_that_say_nothing_are_refused() -> None:
    with pytest.raises(NotAligned, match="too near each other"):
        nudged(np.eye(3), [(10, 10), (12, 10)], [(20, 10), (300, 10)])
    with pytest.raises(NotAligned, match="Set two points"):
        nudged(np.eye(3), [(10, 10)], [(20, 10)])
