"""Previews: upright, in sRGB, small, and a sentence where none can be made."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from survey.imaging.previews import (
    OutsidePicture,
    TooLarge,
    Unreadable,
    make_preview,
    make_region,
)
from tests.imaging.pictures import cut, jpeg_that_claims, png_that_claims, ramp, saved


def opened(preview: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(preview))
    assert (image.format, image.mode) == ("JPEG", "RGB")
    return image


def pixel(image: Image.Image, x: int, y: int) -> tuple[int, ...]:
    return tuple(int(level) for level in np.asarray(image)[y, x])


@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF", "WEBP", "GIF"])
def test_it_makes_a_jpeg_whose_longer_side_is_the_one_asked_for(tmp_path: Path, name: str) -> None:
    preview = make_preview(saved(tmp_path, "a", ramp(640, 480), format=name), 200)
    assert opened(preview).size == (200, 150)


def test_it_enlarges_nothing(tmp_path: Path) -> None:
    assert opened(make_preview(saved(tmp_path, "a.png", ramp(64, 48)), 400)).size == (64, 48)


def half_red_half_blue() -> Image.Image:
    image = Image.new("RGB", (80, 40), (20, 20, 200))
    image.paste((200, 20, 20), (0, 0, 40, 40))
    return image


@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_it_turns_a_photograph_upright(tmp_path: Path, name: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # Stored on its side: a quarter turn clockwise sets it upright.
    path = saved(tmp_path, "a", half_red_half_blue(), format=name, exif=exif)
    image = opened(make_preview(path, 200))
    assert image.size == (40, 80)
    assert pixel(image, 20, 10)[0] > 150  # red, that was on the left, is now on top
    assert pixel(image, 20, 70)[2] > 150
    assert image.getexif().get(0x0112, 1) == 1


def wide_gamut_profile() -> bytes:
    """A profile whose primaries are those of sRGB in another order: red and green trade places.

    LittleCMS writes only its own profiles, so the colorant tags of its sRGB are swapped.
    """
    content = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return content.replace(b"rXYZ", b"____").replace(b"gXYZ", b"rXYZ").replace(b"____", b"gXYZ")


def test_it_converts_colours_by_the_embedded_profile(tmp_path: Path) -> None:
    red = Image.new("RGB", (40, 40), (220, 30, 30))
    path = saved(tmp_path, "a.png", red, icc_profile=wide_gamut_profile())
    image = opened(make_preview(path, 40))
    red_level, green_level, _ = pixel(image, 20, 20)
    assert green_level > 190 and red_level < 60
    assert "icc_profile" not in image.info


def test_it_takes_colours_for_srgb_when_the_profile_is_broken(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.png", Image.new("RGB", (40, 40), (220, 30, 30)), icc_profile=b"no")
    assert pixel(opened(make_preview(path, 40)), 20, 20)[0] > 200


def test_it_shows_cmyk(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.jpg", Image.new("CMYK", (40, 40), (0, 255, 255, 0)))
    red, green, blue = pixel(opened(make_preview(path, 40)), 20, 20)
    assert red > 200 and green < 60 and blue < 60


@pytest.mark.parametrize("name", ["PNG", "TIFF"])
def test_it_scales_sixteen_bits_to_eight(tmp_path: Path, name: str) -> None:
    grey = np.full((40, 60), 32768, dtype=np.uint16)
    image = opened(make_preview(saved(tmp_path, "a", Image.fromarray(grey), format=name), 60))
    assert all(abs(level - 128) <= 2 for level in pixel(image, 30, 20))


def test_it_scales_a_picture_in_floating_point(tmp_path: Path) -> None:
    grey = np.full((40, 60), 0.5, dtype=np.float32)
    image = opened(make_preview(saved(tmp_path, "a.tif", Image.fromarray(grey)), 60))
    assert all(abs(level - 128) <= 2 for level in pixel(image, 30, 20))


def test_it_lays_a_transparent_picture_on_neutral_grey(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.png", Image.new("RGBA", (40, 40), (255, 0, 0, 0)))
    assert all(abs(level - 128) <= 2 for level in pixel(opened(make_preview(path, 40)), 20, 20))


def test_it_shows_a_picture_with_a_palette(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.png", half_red_half_blue().quantize(4))
    assert pixel(opened(make_preview(path, 80)), 10, 20)[0] > 150


@pytest.mark.parametrize("make", [png_that_claims, jpeg_that_claims])
def test_it_says_when_a_photograph_is_too_large_to_show(tmp_path: Path, make) -> None:
    with pytest.raises(TooLarge, match="200 megapixels"):
        make_preview(make(tmp_path, 20_000, 10_000), 400)


def test_it_says_when_a_photograph_is_not_whole(tmp_path: Path) -> None:
    path = cut(saved(tmp_path, "a.jpg", ramp(400, 300)), 0.5)
    with pytest.raises(Unreadable, match="not whole"):
        make_preview(path, 200)


def test_it_says_when_a_file_is_no_photograph(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_text("a letter")
    with pytest.raises(Unreadable, match="not a photograph"):
        make_preview(path, 200)


def test_it_says_when_a_kept_format_cannot_be_shown(tmp_path: Path) -> None:
    path = tmp_path / "a.heic"
    path.write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic")
    with pytest.raises(Unreadable, match="a HEIC file"):
        make_preview(path, 200)


@pytest.mark.parametrize("name", ["JPEG", "PNG", "TIFF", "WEBP"])
@pytest.mark.parametrize("turned", [False, True])
def test_it_makes_a_part_of_the_upright_picture(tmp_path: Path, name: str, turned: bool) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6 if turned else 1
    picture = Image.new("RGB", (800, 400), (20, 20, 200))
    picture.paste((200, 20, 20), (300, 100, 400, 200))
    path = saved(tmp_path, "a", picture, format=name, exif=exif)
    # Set upright by a quarter turn clockwise, the red square stands at 200 … 300, 300 … 400.
    left, top = (200, 300) if turned else (300, 100)
    whole = np.asarray(opened(make_region(path, (left, top, left + 100, top + 100), 100)))
    assert whole.shape == (100, 100, 3)
    assert (whole[10:-10, 10:-10, 0] > 150).all()
    small = opened(make_region(path, (left - 100, top, left + 100, top + 100), 50))
    assert small.size == (50, 25)
    assert pixel(small, 10, 12)[2] > 150
    assert pixel(small, 40, 12)[0] > 150


def test_a_part_is_never_enlarged_and_lies_within_the_picture(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.png", ramp(64, 48))
    assert opened(make_region(path, (0, 0, 20, 10), 400)).size == (20, 10)
    with pytest.raises(OutsidePicture, match="64 pixels wide and 48 high"):
        make_region(path, (0, 0, 65, 48), 400)


def test_a_part_that_is_wanted_small_lies_where_it_lay(tmp_path: Path) -> None:
    """A JPEG decoded at a quarter must not shift what is in it."""
    picture = Image.new("L", (2001, 1501), 0)
    picture.paste(255, (1001, 0, 2001, 1501))
    path = saved(tmp_path, "a.jpg", picture, quality=95)
    row = np.asarray(opened(make_region(path, (801, 403, 1201, 703), 100)), float)[40, :, 0]
    # Half of the part is dark, half is light, to a tenth of its pixels.
    assert row.size == 100
    assert row.sum() / 255 == pytest.approx(50, abs=0.1)
