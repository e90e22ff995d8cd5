"""A tus client that we did not write, against our server over a real socket."""

import hashlib
import socket
from pathlib import Path
from typing import Any

import pytest
from tusclient.client import TusClient
from tusclient.exceptions import TusCommunicationError, TusUploadFailed
from tusclient.storage.filestorage import FileStorage

from survey.sync import files, registry
from survey.sync.models import StoredFile, Upload
from tests.factories import DeviceFactory

pytestmark = pytest.mark.django_db(transaction=True)
CONTENT = b"\xff\xd8\xff" + bytes(range(251)) * 3000
SHA256 = hashlib.sha256(CONTENT).hexdigest()


@pytest.fixture(autouse=True)
def no_receivers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry, "_receivers", [])


@pytest.fixture
def tus(live_server: Any) -> TusClient:
    DeviceFactory(token="known")
    headers = {"Authorization": "Device known"}
    return TusClient(f"{live_server.url}/api/uploads/", headers=headers)


@pytest.fixture
def shot(tmp_path: Path) -> Path:
    path = tmp_path / "shot 1.jpg"
    path.write_bytes(CONTENT)
    return path


def uploader(tus: TusClient, shot: Path, **options: Any) -> Any:
    about = {"sha256": SHA256, "filename": shot.name, "filetype": "image/jpeg"}
    return tus.uploader(file_path=str(shot), metadata=about, **options)


def cut_off(url: str, offset: int, content: bytes, announced: int) -> None:
    """Announce more bytes than are sent, then drop the connection, as a lost network does."""
    host, _, path = url.removeprefix("http://").partition("/")
    name, _, port = host.partition(":")
    head = (
        f"PATCH /{path} HTTP/1.1\r\nHost: {host}\r\nAuthorization: Device known\r\n"
        f"Tus-Resumable: 1.0.0\r\nUpload-Offset: {offset}\r\nContent-Length: {announced}\r\n"
        "Content-Type: application/offset+octet-stream\r\n\r\n"
    )
    with socket.create_connection((name, int(port)), timeout=10) as connection:
        connection.sendall(head.encode() + content)
        connection.shutdown(socket.SHUT_WR)
        while connection.recv(4096):
            pass


def stored() -> bytes:
    return files.stored_path(SHA256).read_bytes()


@pytest.mark.parametrize("chunk_size", [10**9, 100_000])
@pytest.mark.parametrize("upload_checksum", [False, True])
def test_it_uploads_whole_and_in_pieces(
    tus: TusClient, shot: Path, chunk_size: int, upload_checksum: bool
) -> None:
    uploader(tus, shot, chunk_size=chunk_size, upload_checksum=upload_checksum).upload()
    assert stored() == CONTENT
    assert StoredFile.objects.get().sha256 == SHA256


def test_it_goes_on_where_it_stopped(tus: TusClient, shot: Path, tmp_path: Path) -> None:
    storage = FileStorage(str(tmp_path / "urls.json"))
    options = {"chunk_size": 100_000, "store_url": True, "url_storage": storage}
    uploader(tus, shot, **options).upload(stop_at=200_000)
    assert Upload.objects.get().offset == 200_000
    again = uploader(tus, shot, **options)
    assert again.offset == 200_000
    again.upload()
    storage.close()
    assert stored() == CONTENT
    assert Upload.objects.count() == 1


def test_it_goes_on_after_the_connection_was_cut(tus: TusClient, shot: Path) -> None:
    first = uploader(tus, shot, chunk_size=100_000)
    first.upload_chunk()
    cut_off(first.url, 100_000, CONTENT[100_000:350_001], len(CONTENT) - 100_000)
    again = uploader(tus, shot, url=first.url)
    assert again.offset == 350_001
    again.upload()
    assert stored() == CONTENT


def test_it_recovers_by_itself_when_the_server_is_further_on(tus: TusClient, shot: Path) -> None:
    first = uploader(tus, shot, chunk_size=100_000, retries=1, retry_delay=0)
    first.upload_chunk()
    cut_off(first.url, 100_000, CONTENT[100_000:150_000], 100_000)
    first.upload()  # begins at 100,000, is told otherwise, asks, and goes on at 150,000
    assert stored() == CONTENT


def test_other_content_than_announced_is_refused(tus: TusClient, shot: Path) -> None:
    shot.write_bytes(CONTENT[:-1] + b"?")
    other = uploader(tus, shot)
    with pytest.raises(TusUploadFailed) as failure:
        other.upload()
    assert failure.value.status_code == 460
    assert not StoredFile.objects.exists()


def test_without_a_sign_in_nothing_begins(live_server: Any, shot: Path) -> None:
    with pytest.raises(TusCommunicationError) as failure:
        uploader(TusClient(f"{live_server.url}/api/uploads/"), shot).upload()
    assert failure.value.status_code == 401
    assert not Upload.objects.exists()
