"""Photographs as numbers: upright, 8-bit sRGB, or a sentence; and the file is never touched."""

import hashlib
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from skimage import color

from survey.imaging.opened import CannotRead, linear, luminance, read_picture
from tests.imaging.pictures import (
    cut,
    jpeg_that_claims,
    png_that_claims,
    ramp,
    saved,
    webp_that_claims,
)


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def as_it_stands(image: Image.Image) -> np.ndarray:
    return np.asarray(image.convert("RGB"))


@pytest.mark.parametrize("name", ["PNG", "TIFF", "WEBP"])
def test_it_reads_a_picture_without_loss_and_leaves_the_file_alone(
    tmp_path: Path, name: str
) -> None:
    path = saved(tmp_path, "a", ramp(), format=name, lossless=True)
    before = digest(path)
    opened = read_picture(path)
    assert opened.scale == 1
    assert opened.pixels.dtype == np.uint8
    assert np.array_equal(opened.pixels, as_it_stands(ramp()))
    assert digest(path) == before


def test_the_pixels_are_ours_to_write_on(tmp_path: Path) -> None:
    pixels = read_picture(saved(tmp_path, "a.png", ramp())).pixels
    pixels[0, 0] = 0
    assert not pixels[0, 0].any()


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF"])
def test_it_turns_a_photograph_upright(tmp_path: Path, name: str, orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    image = ramp(64, 48)
    turned = {
        1: lambda a: a,
        2: lambda a: a[:, ::-1],
        3: lambda a: a[::-1, ::-1],
        4: lambda a: a[::-1],
        5: lambda a: a.swapaxes(0, 1),
        6: lambda a: a.swapaxes(0, 1)[:, ::-1],
        7: lambda a: a[::-1, ::-1].swapaxes(0, 1),
        8: lambda a: a.swapaxes(0, 1)[::-1],
    }[orientation](as_it_stands(image))
    path = saved(tmp_path, "a", image, format=name, exif=exif)
    before = digest(path)
    pixels = read_picture(path).pixels
    assert pixels.shape == turned.shape
    assert np.abs(pixels.astype(int) - turned).mean() < (12 if name == "JPEG" else 0.01)
    assert digest(path) == before


@pytest.mark.parametrize("longest", [1000, 401, 333, 64])
@pytest.mark.parametrize("name", ["JPEG", "PNG"])
def test_a_reduced_picture_keeps_places_to_a_tenth_of_a_pixel(
    tmp_path: Path, name: str, longest: int
) -> None:
    # A soft bright spot, told by its centre of gravity in the original's pixels.
    rows, columns = np.mgrid[0:1211, 0:1803] + 0.5
    place = (1530.3, 950.8)
    spot = 230 * np.exp(-((columns - place[0]) ** 2 + (rows - place[1]) ** 2) / (2 * 30**2))
    image = Image.fromarray(np.repeat(spot[:, :, None], 3, axis=2).astype(np.uint8))
    opened = read_picture(saved(tmp_path, "a", image, format=name), longest)
    assert max(opened.pixels.shape) == longest
    assert opened.scale == pytest.approx(longest / 1803, abs=1e-12)
    weight = opened.pixels[:, :, 1].astype(float)
    y, x = np.mgrid[0 : weight.shape[0], 0 : weight.shape[1]] + 0.5
    found = np.array([(weight * x).sum(), (weight * y).sum()]) / weight.sum() / opened.scale
    assert np.abs(found - place).max() * opened.scale < 0.1


def test_nothing_is_enlarged(tmp_path: Path) -> None:
    opened = read_picture(saved(tmp_path, "a.png", ramp(64, 48)), 4000)
    assert opened.pixels.shape == (48, 64, 3) and opened.scale == 1


@pytest.mark.parametrize("name", ["PNG", "TIFF"])
def test_sixteen_bits_become_eight(tmp_path: Path, name: str) -> None:
    grey = np.linspace(0, 65535, 60 * 40).astype(np.uint16).reshape(40, 60)
    pixels = read_picture(saved(tmp_path, "a", Image.fromarray(grey), format=name)).pixels
    assert np.abs(pixels[:, :, 0] - grey / 257).max() <= 1


def test_sixteen_bits_of_each_colour_become_eight(tmp_path: Path) -> None:
    deep = np.asarray(ramp()).astype(np.uint16) * 257
    path = tmp_path / "a.tif"
    assert cv2.imwrite(str(path), deep[:, :, ::-1])
    assert np.array_equal(read_picture(path).pixels, as_it_stands(ramp()))


def test_cmyk_becomes_red_green_and_blue(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.tif", Image.new("CMYK", (40, 40), (0, 255, 255, 0)))
    red, green, blue = read_picture(path).pixels[20, 20]
    assert red > 200 and green < 60 and blue < 60


def test_what_is_transparent_lies_on_neutral_grey(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.png", Image.new("RGBA", (40, 40), (255, 0, 0, 0)))
    assert np.abs(read_picture(path).pixels.astype(int) - 128).max() <= 1


def heic(folder: Path) -> Path:
    path = folder / "a.heic"
    path.write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic")
    return path


def camera_raw(folder: Path) -> Path:
    path = folder / "a.raw"
    path.write_bytes(b"II*\0\x10\0\0\0CR\x02\0" + b"\0" * 40)
    return path


def letter(folder: Path) -> Path:
    path = folder / "a.jpg"
    path.write_text("a letter")
    return path


def moving(kind: str) -> Callable[[Path], Path]:
    def made(folder: Path) -> Path:
        frames = [ramp(), Image.new("RGB", (64, 48), (9, 99, 9))]
        return saved(folder, "a", frames[0], format=kind, save_all=True, append_images=frames[1:])

    return made


REFUSED = {
    "HEIC": (heic, "a HEIC file: it is kept byte for byte"),
    "raw": (camera_raw, "a camera raw file: it is kept byte for byte"),
    "letter": (letter, "not a photograph that can be read"),
    "moving GIF": (moving("GIF"), "holds a moving picture"),
    "moving PNG": (moving("PNG"), "holds a moving picture"),
    "moving WebP": (moving("WEBP"), "holds a moving picture"),
    "one pixel": (lambda folder: saved(folder, "a.png", ramp(1, 1)), "1 × 1 pixels: too small"),
    "a thread": (lambda folder: saved(folder, "a.png", ramp(400, 3)), "400 × 3 pixels: too small"),
    "large PNG": (lambda folder: png_that_claims(folder, 20_000, 10_000), "200 megapixels"),
    "large JPEG": (lambda folder: jpeg_that_claims(folder, 20_000, 10_000), "200 megapixels"),
    "large WebP": (lambda folder: webp_that_claims(folder, 20_000, 10_000), "200 megapixels"),
    "half a JPEG": (
        lambda folder: cut(saved(folder, "a.jpg", ramp(400, 300)), 0.5),
        "JPEG file is not whole",
    ),
    "half a PNG": (
        lambda folder: cut(saved(folder, "a.png", ramp(400, 300)), 0.5),
        "PNG file is not whole",
    ),
    "a head alone": (
        lambda folder: cut(saved(folder, "a.png", ramp(400, 300)), 0.0001),
        "is not whole|not a photograph|an empty file",
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_it_says_why_a_file_cannot_be_measured_on(tmp_path: Path, what: str) -> None:
    make, sentence = REFUSED[what]
    path = make(tmp_path)
    before = digest(path)
    with pytest.raises(CannotRead, match=sentence) as refusal:
        read_picture(path, 800)
    assert str(refusal.value).endswith(".")
    assert digest(path) == before


def test_linear_light_agrees_with_a_library() -> None:
    pixels = np.asarray(ramp())
    ours = luminance(linear(pixels))
    assert ours.dtype == np.float32
    # scikit-image gives Y of XYZ with the same primaries, rounded a little differently.
    assert ours == pytest.approx(color.rgb2xyz(pixels)[:, :, 1], abs=1e-4)
