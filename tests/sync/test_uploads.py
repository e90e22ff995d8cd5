"""The tus protocol, request by request, and what stays when a step fails."""

import base64
import errno
import hashlib
import io
import uuid
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as project
from django.test import Client
from django.utils import timezone

from survey.access.models import Person
from survey.sync import files, registry, uploads
from survey.sync.models import StoredFile, Upload
from tests.factories import DeviceFactory

pytestmark = pytest.mark.django_db
CONTENT = b"\xff\xd8\xff" + bytes(range(256)) * 40


@pytest.fixture(autouse=True)
def no_receivers(monkeypatch: pytest.MonkeyPatch) -> None:
    """These contents are no pictures; the examination room would turn them away."""
    monkeypatch.setattr(registry, "_receivers", [])


@pytest.fixture
def client() -> Client:
    DeviceFactory(token="known")
    return Client(headers={"Authorization": "Device known", "Tus-Resumable": "1.0.0"})


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def metadata(**pairs: str) -> str:
    return ",".join(f"{k} {base64.b64encode(v.encode()).decode()}" for k, v in pairs.items())


def create(client: Client, content: bytes = CONTENT, **headers: str) -> Any:
    given = {
        "Upload-Length": str(len(content)),
        "Upload-Metadata": metadata(sha256=sha256(content), filename="shot 1.jpg"),
    }
    return client.post("/api/uploads/", headers=given | headers)


def append(client: Client, url: str, offset: int, content: bytes, **headers: str) -> Any:
    return client.patch(
        url,
        content,
        "application/offset+octet-stream",
        headers={"Upload-Offset": str(offset)} | headers,
    )


def offset_of(client: Client, url: str) -> int:
    return int(client.head(url)["Upload-Offset"])


def checksum(content: bytes, algorithm: str = "sha1") -> str:
    digest = hashlib.new(algorithm, content).digest()
    return f"{algorithm} {base64.b64encode(digest).decode()}"


@pytest.fixture
def url(client: Client) -> str:
    return str(create(client)["Location"])


def partial() -> Path:
    return uploads.partial_path(Upload.objects.get())


# The protocol's common ground.


def test_it_says_what_it_can_do_before_anybody_signs_in() -> None:
    answer = Client().options("/api/uploads/")
    assert answer.status_code == 204
    assert answer["Tus-Version"] == "1.0.0"
    assert answer["Tus-Extension"] == "creation,checksum,expiration,termination"
    assert answer["Tus-Checksum-Algorithm"] == "sha1,sha256"
    assert answer["Tus-Max-Size"] == str(project.UPLOAD_LIMIT_BYTES)


@pytest.mark.parametrize("version", ["0.2.2", "2.0.0"])
def test_another_version_is_refused_with_the_one_it_speaks(client: Client, version: str) -> None:
    answer = create(client, **{"Tus-Resumable": version})
    assert answer.status_code == 412
    assert answer["Tus-Version"] == "1.0.0"
    assert not Upload.objects.exists()


def test_every_answer_carries_the_version(client: Client, url: str) -> None:
    answers = [
        client.head(url),
        append(client, url, 9, b"x"),
        client.get(url),
        Client().post("/api/uploads/"),
    ]
    assert [answer.status_code for answer in answers] == [200, 409, 405, 401]
    assert {answer["Tus-Resumable"] for answer in answers} == {"1.0.0"}


# Creation.


def test_creation_answers_with_an_address_and_an_expiry(client: Client) -> None:
    answer = create(client)
    assert answer.status_code == 201
    assert answer["Location"] == f"/api/uploads/{Upload.objects.get().pk}"
    assert answer["Upload-Offset"] == "0"
    assert answer["Upload-Expires"].endswith(" GMT")


@pytest.mark.parametrize(
    ("headers", "status", "said"),
    [
        ({"Upload-Length": "-1"}, 400, "whole number"),
        ({"Upload-Length": "many"}, 400, "whole number"),
        ({"Upload-Length": "9" * 30}, 400, "whole number"),
        ({"Upload-Length": "0"}, 400, "empty"),
        ({"Upload-Length": str(2 * 1024**3 + 1)}, 413, "2,048 MiB"),
        ({"Upload-Defer-Length": "1"}, 400, "Upload-Length"),
        ({"Upload-Metadata": ""}, 400, "sha256"),
        ({"Upload-Metadata": "sha256 %%%"}, 400, "Base64"),
        ({"Upload-Metadata": metadata(sha256="../../../etc/passwd")}, 400, "64 digits"),
        ({"Upload-Metadata": metadata(sha256="a" * 63)}, 400, "64 digits"),
    ],
)
def test_creation_says_what_is_wrong(
    client: Client, headers: dict[str, str], status: int, said: str
) -> None:
    answer = create(client, **headers)
    assert answer.status_code == status
    assert said in answer.json()["detail"]
    assert not Upload.objects.exists()


# Appending.


def test_a_file_in_two_pieces_is_stored_under_its_checksum(client: Client, url: str) -> None:
    first = append(client, url, 0, CONTENT[:4000])
    assert (first.status_code, first["Upload-Offset"]) == (204, "4000")
    last = append(client, url, 4000, CONTENT[4000:])
    assert (last.status_code, last["Upload-Offset"]) == (204, str(len(CONTENT)))
    assert "Upload-Expires" not in last
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT
    assert StoredFile.objects.get().size_bytes == len(CONTENT)
    assert not partial().exists()


def test_head_tells_where_it_stands(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT[:4000])
    answer = client.head(url)
    assert answer.status_code == 200
    assert (answer["Upload-Offset"], answer["Upload-Length"]) == ("4000", str(len(CONTENT)))
    assert answer["Cache-Control"] == "no-store"
    assert answer["Upload-Metadata"] == metadata(sha256=sha256(CONTENT), filename="shot 1.jpg")


def test_bytes_for_another_offset_are_refused(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT[:4000])
    for offset in (0, 3999, 4001):
        answer = append(client, url, offset, b"xyz")
        assert answer.status_code == 409
        assert "4000" in answer.json()["detail"]
    assert offset_of(client, url) == 4000


def test_more_bytes_than_announced_are_refused_before_any_is_written(
    client: Client, url: str
) -> None:
    assert append(client, url, 0, CONTENT + b"!").status_code == 413
    assert partial().read_bytes() == b""


def test_bytes_of_another_type_are_refused(client: Client, url: str) -> None:
    answer = client.patch(url, CONTENT, "image/jpeg", headers={"Upload-Offset": "0"})
    assert answer.status_code == 415


def test_a_proxy_without_patch_may_post(client: Client, url: str) -> None:
    answer = client.post(
        url,
        CONTENT,
        "application/offset+octet-stream",
        headers={"Upload-Offset": "0", "X-HTTP-Method-Override": "PATCH"},
    )
    assert answer.status_code == 204
    assert files.stored_of([sha256(CONTENT)]) == [sha256(CONTENT)]


@pytest.mark.parametrize("algorithm", ["sha1", "sha256"])
def test_a_piece_with_its_checksum_is_taken(client: Client, url: str, algorithm: str) -> None:
    piece = CONTENT[:4000]
    answer = append(client, url, 0, piece, **{"Upload-Checksum": checksum(piece, algorithm)})
    assert answer.status_code == 204


def test_a_damaged_piece_is_refused_whole(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT[:1000])
    headers = {"Upload-Checksum": checksum(CONTENT[1000:4000])}
    damaged = b"?" + CONTENT[1001:4000]
    assert append(client, url, 1000, damaged, **headers).status_code == 460
    assert offset_of(client, url) == 1000
    append(client, url, 1000, CONTENT[1000:4000], **headers)
    append(client, url, 4000, CONTENT[4000:])
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT


@pytest.mark.parametrize("header", ["md5 abcd", "sha1", "sha1 %%%"])
def test_a_checksum_it_cannot_read_is_told(client: Client, url: str, header: str) -> None:
    answer = append(client, url, 0, CONTENT[:10], **{"Upload-Checksum": header})
    assert answer.status_code in (400, 460)
    assert offset_of(client, url) == 0


def test_a_file_that_is_not_what_was_announced_is_not_stored(client: Client, url: str) -> None:
    answer = append(client, url, 0, CONTENT[:-1] + b"?")
    assert answer.status_code == 460
    assert "Send it anew" in answer.json()["detail"]
    assert not StoredFile.objects.exists()
    assert client.head(url).status_code == 404
    assert list(Path(project.UPLOADS_DIR).iterdir()) == []


# Broken connections, full disks and other mishaps.


class Breaking(io.RawIOBase):
    """A body whose connection breaks after some bytes."""

    def __init__(self, content: bytes) -> None:
        self.content = io.BytesIO(content)

    def read(self, size: int = -1) -> bytes:
        piece = self.content.read(size)
        if not piece:
            raise OSError(errno.ECONNRESET, "connection reset")
        return piece


def test_what_arrived_before_the_connection_broke_is_kept(client: Client, url: str) -> None:
    upload = Upload.objects.get()
    uploads.append(upload, 0, Breaking(CONTENT[:5000]), None)
    assert offset_of(client, url) == 5000
    append(client, url, 5000, CONTENT[5000:])
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT


def test_with_a_checksum_a_broken_piece_counts_for_nothing(client: Client, url: str) -> None:
    given = uploads.Checksum("sha1", hashlib.sha1(CONTENT).digest())
    with pytest.raises(uploads.UploadRefused) as refusal:
        uploads.append(Upload.objects.get(), 0, Breaking(CONTENT[:5000]), given)
    assert refusal.value.status_code == 460
    assert offset_of(client, url) == 0


def test_a_long_piece_is_saved_on_the_way(
    client: Client, url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A connection that hangs holds its request open; the client comes back on another one."""
    monkeypatch.setattr(uploads, "PIECE_BYTES", 1000)
    monkeypatch.setattr(uploads, "SAVED_EVERY_BYTES", 2000)
    seen: list[int] = []

    class Watched(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            seen.append(offset_of(client, url))
            return super().read(size)

    uploads.append(Upload.objects.get(), 0, Watched(CONTENT[:7000]), None)
    assert seen == [0, 0, 2000, 2000, 4000, 4000, 6000, 6000]
    assert offset_of(client, url) == 7000


def test_of_two_requests_at_once_the_second_to_save_is_told_off(client: Client, url: str) -> None:
    hanging = Upload.objects.get()

    class Overtaken(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            piece = super().read(size)
            if not piece:
                assert append(client, url, 0, CONTENT[:6000]).status_code == 204
            return piece

    with pytest.raises(uploads.UploadRefused) as refusal:
        uploads.append(hanging, 0, Overtaken(CONTENT[:3000]), None)
    assert refusal.value.status_code == 409
    assert offset_of(client, url) == 6000
    append(client, url, 6000, CONTENT[6000:])
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT


def full(*_: Any, **__: Any) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_full_disk_is_told_and_costs_nothing(
    client: Client, url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    append(client, url, 0, CONTENT[:4000])
    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", full)
        answer = append(client, url, 4000, CONTENT[4000:])
    assert answer.status_code == 507
    assert "disk is full" in answer.json()["detail"]
    assert offset_of(client, url) == 4000
    assert append(client, url, 4000, CONTENT[4000:]).status_code == 204
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT


def test_a_disk_that_fills_up_at_the_last_step_is_told_and_costs_nothing(
    client: Client, url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(files, "_move", full)
        assert append(client, url, 0, CONTENT).status_code == 507
    assert not StoredFile.objects.exists()
    offset = offset_of(client, url)
    assert offset == len(CONTENT) - 1  # never complete before it is stored
    assert append(client, url, offset, CONTENT[offset:]).status_code == 204
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT


def test_a_full_disk_begins_no_upload(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "touch", full)
    assert create(client).status_code == 507
    assert not Upload.objects.exists()


def test_a_fault_while_looking_at_the_file_loses_nothing(client: Client, url: str) -> None:
    def stumble(path: Path) -> dict[str, Any]:
        raise ZeroDivisionError

    registry.register_receiver(stumble)
    client.raise_request_exception = False
    assert append(client, url, 0, CONTENT).status_code == 500
    registry._receivers.clear()
    offset = offset_of(client, url)
    assert append(client, url, offset, CONTENT[offset:]).status_code == 204
    assert files.stored_of([sha256(CONTENT)]) == [sha256(CONTENT)]


# What the receivers say.


def test_the_receivers_facts_are_kept(client: Client, url: str) -> None:
    registry.register_receiver(lambda path: {"size": path.stat().st_size})
    append(client, url, 0, CONTENT)
    assert StoredFile.objects.get().facts == {"size": len(CONTENT)}


def test_what_a_receiver_turns_away_is_told_in_its_words(client: Client, url: str) -> None:
    def refuse(path: Path) -> dict[str, Any]:
        raise ValueError("This file is a text, not a picture.")

    registry.register_receiver(refuse)
    answer = append(client, url, 0, CONTENT)
    assert answer.status_code == 422
    assert answer.json() == {"detail": "This file is a text, not a picture."}
    assert not StoredFile.objects.exists()
    assert list(Path(project.UPLOADS_DIR).iterdir()) == []


# Other uploads, other people, later days.


def test_the_same_content_is_stored_once(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT)
    again = str(create(client)["Location"])
    assert append(client, again, 0, CONTENT).status_code == 204
    assert StoredFile.objects.count() == 1
    assert list(Path(project.UPLOADS_DIR).iterdir()) == []


def test_stored_content_that_was_cut_short_on_the_disk_is_mended(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT)
    files.stored_path(sha256(CONTENT)).write_bytes(CONTENT[:10])
    assert files.stored_of([sha256(CONTENT)]) == []
    append(client, str(create(client)["Location"]), 0, CONTENT)
    assert files.stored_path(sha256(CONTENT)).read_bytes() == CONTENT


def test_nobody_touches_the_upload_of_another(url: str) -> None:
    DeviceFactory(token="other")
    other = Client(headers={"Authorization": "Device other", "Tus-Resumable": "1.0.0"})
    answers = [other.head(url), append(other, url, 0, CONTENT), other.delete(url)]
    assert [answer.status_code for answer in answers] == [404, 404, 404]
    assert Upload.objects.get().offset == 0


def test_a_person_goes_on_with_an_upload_from_a_device_enrolled_anew(
    client: Client, url: str
) -> None:
    append(client, url, 0, CONTENT[:4000])
    DeviceFactory(token="anew", person=Person.objects.get())
    anew = Client(headers={"Authorization": "Device anew", "Tus-Resumable": "1.0.0"})
    assert offset_of(anew, url) == 4000


def test_an_upload_can_be_given_up(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT[:4000])
    assert client.delete(url).status_code == 204
    assert list(Path(project.UPLOADS_DIR).iterdir()) == []
    assert client.head(url).status_code == 404


def test_giving_up_a_finished_upload_leaves_the_content(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT)
    assert client.delete(url).status_code == 204
    assert files.stored_of([sha256(CONTENT)]) == [sha256(CONTENT)]


def test_an_expired_upload_is_gone_and_its_space_is_free(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT[:4000])
    Upload.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert client.head(url).status_code == 410
    assert append(client, url, 4000, CONTENT[4000:]).status_code == 410
    assert not partial().exists()


def test_an_upload_is_gone_when_the_server_stopped_between_moving_and_noting_its_file(
    client: Client, url: str
) -> None:
    append(client, url, 0, CONTENT[:4000])
    partial().unlink()
    assert client.head(url).status_code == 410
    again = create(client)["Location"]
    assert append(client, again, 0, CONTENT).status_code == 204


def test_each_piece_puts_the_expiry_off(client: Client, url: str) -> None:
    soon = timezone.now() + timedelta(minutes=1)
    Upload.objects.update(expires_at=soon)
    append(client, url, 0, CONTENT[:4000])
    assert Upload.objects.get().expires_at > soon + timedelta(days=1)


def test_beginning_another_upload_sweeps_up_expired_ones(client: Client, url: str) -> None:
    left = partial()
    Upload.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    create(client)
    assert not left.exists()
    assert client.head(url).status_code == 410
    Upload.objects.update(expires_at=timezone.now() - timedelta(days=60))
    create(client)
    assert client.head(url).status_code == 404


def test_a_finished_upload_does_not_expire(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT)
    Upload.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert offset_of(client, url) == len(CONTENT)


# Which contents need not be sent.


def test_it_says_which_contents_it_holds(client: Client, url: str) -> None:
    append(client, url, 0, CONTENT)
    asked = {"sha256": [sha256(CONTENT), sha256(b"other")]}
    answer = client.post("/api/sync/stored", asked, "application/json")
    assert answer.json() == {"stored": [sha256(CONTENT)]}


def test_it_asks_for_checksums_in_full(client: Client) -> None:
    answer = client.post("/api/sync/stored", {"sha256": ["../x"]}, "application/json")
    assert answer.status_code == 400


@pytest.mark.parametrize("wrong", ["", "../" * 21 + "x", "A" * 64, "a" * 63, "a" * 64 + "\n"])
def test_no_path_is_made_of_anything_but_a_checksum(wrong: str) -> None:
    with pytest.raises(ValueError, match="not a SHA-256"):
        files.stored_path(wrong)


def test_an_address_that_is_no_upload_is_not_found(client: Client) -> None:
    assert client.head(f"/api/uploads/{uuid.uuid4()}").status_code == 404
