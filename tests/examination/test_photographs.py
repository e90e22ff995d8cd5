"""Photographs over HTTP: sent by a tablet, and read again by tablets and the desk."""

import hashlib
import io
import re
from pathlib import Path
from typing import Any
from unittest.mock import patch
from urllib.parse import urlencode

import pytest
from django.test import Client
from PIL import Image

from survey.examination import pictures
from survey.sync.models import StoredFile
from tests.factories import PhotographFactory
from tests.imaging.pictures import png_that_claims, ramp
from tests.tablets import WireTablet

pytestmark = pytest.mark.django_db


def shot(width: int = 240, height: int = 180, kind: str = "JPEG", **options: Any) -> bytes:
    written = io.BytesIO()
    ramp(width, height).save(written, kind, **options)
    return written.getvalue()


def sent(tablet: WireTablet, content: bytes, **fields: Any) -> str:
    """A photograph that has arrived; its SHA-256."""
    sha256 = hashlib.sha256(content).hexdigest()
    PhotographFactory(sha256=sha256, **fields)
    answer = tablet.upload(content)
    assert answer.status_code == 204, answer.content
    return sha256


def test_the_original_comes_back_byte_for_byte() -> None:
    tablet, content = WireTablet(), shot()
    sha256 = sent(tablet, content, file_name="Reeds, raking.jpg")
    answer = tablet.get(f"/api/photographs/{sha256}/original")
    assert answer.getvalue() == content
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"] == 'inline; filename="Reeds, raking.jpg"'
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_the_content_type_is_that_of_the_content_and_not_of_the_name() -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot(kind="PNG"), file_name="claims.jpg", content_type="text/html")
    assert tablet.get(f"/api/photographs/{sha256}/original")["Content-Type"] == "image/png"


def test_what_no_browser_shows_is_offered_for_download() -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot(kind="TIFF"), file_name="scan.tif")
    answer = tablet.get(f"/api/photographs/{sha256}/original")
    assert answer["Content-Disposition"].startswith("attachment;")


@pytest.mark.parametrize("name", ['a"; filename="b.exe', "a\r\nSet-Cookie: x=1", "../../x.jpg", ""])
def test_a_file_name_cannot_break_out_of_its_header(name: str) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot(), file_name=name)
    answer = tablet.get(f"/api/photographs/{sha256}/original")
    assert answer.status_code == 200
    assert "Set-Cookie" not in answer
    quoted = r'filename="(?:[^"\\\r\n]|\\.)+"'
    encoded = r"filename\*=utf-8''[\w.%-]+"
    assert re.fullmatch(f"inline; (?:{quoted}|{encoded})", answer["Content-Disposition"])


@pytest.mark.parametrize(("size", "longest"), [("preview", 1600), ("thumbnail", 400)])
def test_previews_are_jpegs_of_a_known_size(size: str, longest: int) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot(2000, 1500))
    answer = tablet.get(f"/api/photographs/{sha256}/{size}")
    assert answer["Content-Type"] == "image/jpeg"
    assert Image.open(io.BytesIO(answer.content)).size == (longest, longest * 3 // 4)


def test_a_preview_is_made_once_and_then_read(settings: Any) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    first = tablet.get(f"/api/photographs/{sha256}/preview").content
    with patch("survey.examination.pictures.make_preview", side_effect=AssertionError):
        assert tablet.get(f"/api/photographs/{sha256}/preview").content == first
    kept = [path for path in (settings.PHOTOGRAPHS_DIR / "previews").rglob("*") if path.is_file()]
    assert [path.read_bytes() for path in kept] == [first]


def test_a_preview_is_shown_even_when_it_cannot_be_kept() -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    with patch("survey.examination.pictures.os.replace", side_effect=OSError(28, "full")):
        assert tablet.get(f"/api/photographs/{sha256}/preview").status_code == 200
    assert not list(pictures.preview_path(sha256, pictures.PREVIEW_PX).parent.iterdir())


@pytest.mark.parametrize("size", ["original", "preview", "thumbnail"])
def test_an_answer_is_kept_for_good_and_not_sent_twice(size: str) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    answer = tablet.get(f"/api/photographs/{sha256}/{size}")
    assert answer["Cache-Control"] == "private, max-age=31536000, immutable"
    again = tablet.get(f"/api/photographs/{sha256}/{size}", **{"If-None-Match": answer["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert "immutable" in again["Cache-Control"]


@pytest.mark.parametrize("size", ["original", "preview", "thumbnail"])
def test_nobody_sees_a_photograph_without_signing_in(size: str) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    assert Client().get(f"/api/photographs/{sha256}/{size}").status_code == 401
    desk = Client()
    desk.force_login(tablet.device.person)
    assert desk.get(f"/api/photographs/{sha256}/{size}").status_code == 200


@pytest.mark.parametrize("sha256", ["0" * 64, "not-a-hash", "..%2f..%2fsecret-key"])
def test_it_says_that_a_photograph_has_not_arrived(sha256: str) -> None:
    answer = WireTablet().get(f"/api/photographs/{sha256}/original")
    assert answer.status_code == 404
    if sha256 != "..%2f..%2fsecret-key":
        assert "still be on the tablet that took it" in answer.json()["detail"]


def test_a_client_that_accepts_only_jpeg_is_served() -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    answer = tablet.get(f"/api/photographs/{sha256}/preview", Accept="image/jpeg")
    assert answer.status_code == 200


def test_a_truncated_photograph_is_kept_and_its_preview_says_why_not() -> None:
    tablet, whole = WireTablet(), shot()
    content = whole[: len(whole) // 2]
    sha256 = sent(tablet, content)
    facts = StoredFile.objects.get(pk=sha256).facts
    assert "not whole" in facts["trouble"]
    assert (facts["width_px"], facts["height_px"]) == (240, 180)
    assert tablet.get(f"/api/photographs/{sha256}/original").getvalue() == content
    answer = tablet.get(f"/api/photographs/{sha256}/preview")
    assert answer.status_code == 422
    assert "The original is kept" in answer.json()["detail"]


def test_a_200_megapixel_photograph_is_kept_without_a_preview(tmp_path: Path) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, png_that_claims(tmp_path, 20_000, 10_000).read_bytes())
    facts = StoredFile.objects.get(pk=sha256).facts
    assert (facts["too_large"], facts["trouble"]) == (True, "")
    answer = tablet.get(f"/api/photographs/{sha256}/thumbnail")
    assert answer.status_code == 422
    assert answer.json()["detail"].startswith("This photograph has 200 megapixels")


def test_it_refuses_a_file_that_is_no_photograph_and_says_what_it_is() -> None:
    answer = WireTablet().upload(b"%PDF-1.7 a letter")
    assert 400 <= answer.status_code < 500
    assert "This is a PDF. Send it as JPEG, PNG, TIFF or WebP." in answer.content.decode()
    assert not StoredFile.objects.exists()


def test_a_part_of_a_photograph_comes_and_is_kept() -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot(2000, 1500))
    address = f"/api/photographs/{sha256}/region"
    asked = {"x": 1000, "y": 500, "width": 800, "height": 600, "longest": 400}
    answer = tablet.get(f"{address}?{urlencode(asked)}")
    assert answer["Content-Type"] == "image/jpeg"
    assert "immutable" in answer["Cache-Control"]
    assert Image.open(io.BytesIO(answer.content)).size == (400, 300)
    with patch("survey.examination.pictures.make_region") as make:
        assert tablet.get(f"{address}?{urlencode(asked)}").content == answer.content
    make.assert_not_called()


def test_only_the_newest_parts_of_a_photograph_are_kept() -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    address = f"/api/photographs/{sha256}/region"
    for x in range(pictures.REGIONS_KEPT + 3):
        tablet.get(f"{address}?x={x}&y=0&width=20&height=20")
    folder = pictures.preview_path(sha256, 400).parent
    assert len(list(folder.glob(f"{sha256}-part-*.jpg"))) == pictures.REGIONS_KEPT


@pytest.mark.parametrize(
    ("asked", "status", "sentence"),
    [
        ({"x": 0, "y": 0, "width": 0, "height": 10}, 400, "width"),
        ({"x": 0, "y": 0}, 400, "height"),
        ({"x": "a", "y": 0, "width": 1, "height": 1}, 400, "x"),
        ({"x": 0, "y": 0, "width": 9, "height": 9, "longest": 9000}, 400, "longest"),
        ({"x": 230, "y": 0, "width": 20, "height": 20}, 422, "beyond the photograph"),
    ],
)
def test_a_part_that_cannot_be_is_refused(
    asked: dict[str, Any], status: int, sentence: str
) -> None:
    tablet = WireTablet()
    sha256 = sent(tablet, shot())
    answer = tablet.get(f"/api/photographs/{sha256}/region?{urlencode(asked)}")
    assert answer.status_code == status
    assert sentence in answer.content.decode()
