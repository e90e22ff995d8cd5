"""What a photograph's file is: by content, whole or not, and how large."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from survey.imaging.inspect import Facts, NotAnImage, inspect
from tests.imaging.pictures import (
    cut,
    jpeg_that_claims,
    png_that_claims,
    ramp,
    saved,
    webp_that_claims,
)

FORMATS = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "WebP": "image/webp",
    "GIF": "image/gif",
}


@pytest.mark.parametrize("name", FORMATS)
def test_it_tells_the_format_by_content_whatever_the_file_is_called(
    tmp_path: Path, name: str
) -> None:
    path = saved(tmp_path, "note.txt", ramp(64, 48), format=name.upper())
    assert inspect(path) == Facts(name, FORMATS[name], 64, 48)


@pytest.mark.parametrize(
    "options", [{"lossless": True}, {"lossless": False}, {"exif": b"Exif\0\0"}]
)
def test_it_reads_the_size_of_each_kind_of_webp(tmp_path: Path, options: dict) -> None:
    facts = inspect(saved(tmp_path, "a.webp", ramp(70, 33), **options))
    assert (facts.width_px, facts.height_px, facts.trouble) == (70, 33, "")


@pytest.mark.parametrize("name", ["JPEG", "TIFF"])
def test_it_gives_the_size_as_stored_before_any_rotation(tmp_path: Path, name: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    facts = inspect(saved(tmp_path, "turned", ramp(64, 48), format=name, exif=exif))
    assert (facts.width_px, facts.height_px) == (64, 48)


@pytest.mark.parametrize("options", [{}, {"progressive": True}])
def test_it_keeps_a_truncated_jpeg_and_says_so(tmp_path: Path, options: dict) -> None:
    facts = inspect(cut(saved(tmp_path, "a.jpg", ramp(400, 300), **options), 0.6))
    assert (facts.format, facts.width_px, facts.height_px) == ("JPEG", 400, 300)
    assert "not whole" in facts.trouble


@pytest.mark.parametrize("name", ["PNG", "TIFF", "WebP", "GIF"])
def test_it_keeps_other_truncated_files_and_says_so(tmp_path: Path, name: str) -> None:
    facts = inspect(cut(saved(tmp_path, "a", ramp(400, 300), format=name.upper()), 0.6))
    assert facts.format == name
    assert facts.trouble


def test_it_keeps_a_file_cut_within_its_header(tmp_path: Path) -> None:
    facts = inspect(cut(saved(tmp_path, "a.jpg", ramp()), 0.02))
    assert (facts.format, facts.width_px) == ("JPEG", None)
    assert "header cannot be read" in facts.trouble


@pytest.mark.parametrize("make", [png_that_claims, jpeg_that_claims, webp_that_claims])
def test_it_reads_only_the_header_of_a_200_megapixel_file(tmp_path: Path, make) -> None:
    facts = inspect(make(tmp_path, 20_000, 10_000))
    assert (facts.width_px, facts.height_px) == (20_000, 10_000)
    assert facts.too_large
    assert facts.trouble == ""


def test_it_survives_a_decompression_bomb(tmp_path: Path) -> None:
    facts = inspect(png_that_claims(tmp_path, 2_000_000_000, 2_000_000_000))
    assert facts.too_large


def test_it_says_that_a_picture_moves(tmp_path: Path) -> None:
    frames = [ramp(), ramp().rotate(180)]
    path = saved(tmp_path, "a.webp", frames[0], save_all=True, append_images=frames[1:])
    assert "moving picture" in inspect(path).trouble


def test_it_has_no_trouble_with_a_tiff_of_several_pages(tmp_path: Path) -> None:
    path = saved(tmp_path, "a.tif", ramp(), save_all=True, append_images=[ramp(32, 24)])
    assert inspect(path) == Facts("TIFF", "image/tiff", 64, 48)


@pytest.mark.parametrize("mode", ["1", "L", "I;16", "F", "CMYK", "LAB", "P", "RGBA"])
def test_it_accepts_the_modes_that_studio_tiffs_come_in(tmp_path: Path, mode: str) -> None:
    path = saved(tmp_path, "a.tif", Image.new(mode, (20, 10)))
    assert inspect(path) == Facts("TIFF", "image/tiff", 20, 10)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "an empty file"),
        (b"%PDF-1.7\n", "a PDF"),
        (b"\0\0\0\x18ftypavif\0\0\0\0", "an AVIF picture"),
        (b"\0\0\0\x18ftypmp42\0\0\0\0", "a video"),
        (b"<!doctype html><p>Not found", "a text file"),
        (b"a letter to the registrar", "not a photograph that can be read"),
    ],
)
def test_it_names_what_was_sent_in_place_of_a_photograph(
    tmp_path: Path, content: bytes, said: str
) -> None:
    path = tmp_path / "photograph.jpg"
    path.write_bytes(content)
    with pytest.raises(NotAnImage, match=said) as refusal:
        inspect(path)
    assert str(refusal.value).endswith("Send it as JPEG, PNG, TIFF or WebP.")


def test_it_keeps_a_heic_that_it_cannot_show(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    path.write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic")
    facts = inspect(path)
    assert (facts.format, facts.content_type) == ("HEIC", "image/heic")
    assert "kept byte for byte, but cannot be shown" in facts.trouble


@pytest.mark.parametrize("start", [None, b"II*\0\x10\0\0\0CR\x02\0"])
def test_it_keeps_a_camera_raw_file_that_dresses_as_tiff(
    tmp_path: Path, start: bytes | None
) -> None:
    path = saved(tmp_path, "a.tif", ramp(), tiffinfo={50706: b"\x01\x06\0\0"})
    if start:
        path.write_bytes(start)
    facts = inspect(path)
    assert (facts.format, facts.width_px) == ("camera raw", None)
    assert "cannot be shown" in facts.trouble


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from(sorted(FORMATS)),
    at=st.floats(0, 0.999),
    noise=st.binary(min_size=1, max_size=40),
)
def test_it_finds_words_for_any_damage(tmp_path: Path, name: str, at: float, noise: bytes) -> None:
    path = saved(tmp_path, "a", ramp(), format=name.upper())
    whole = path.read_bytes()
    start = int(len(whole) * at)
    path.write_bytes(whole[:start] + noise + whole[start + len(noise) :])
    try:
        facts = inspect(path)
    except NotAnImage as refusal:
        assert str(refusal).startswith("This is ")
    else:
        assert facts.format in (*FORMATS, "camera raw")
