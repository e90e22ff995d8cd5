"""How the tablet app is served."""

import base64
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from survey.frontend import app_files, app_version

ROOT = Path(settings.FRONTEND_DIR)


def test_the_page_asks_for_a_handful_of_files() -> None:
    page = Client().get("/field/").content.decode()
    asked = set(re.findall(r'(?:href|src)="/field/([^"]+)"', page))
    assert {"joined.css", "joined.js", "vendor/ui.js", "vendor/dexie.js", "look.js"} <= asked
    assert len(asked) < 10
    assert not any(name.startswith(("styles/", "store/")) for name in asked)


def test_a_joined_module_s_own_address_hands_on_its_exports() -> None:
    answer = Client().get("/field/store/database.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert b'from "/field/joined.js"' in answer.content
    assert b"db" in answer.content


def test_every_address_below_field_opens_the_page() -> None:
    assert Client().get("/field/no/such/thing").content == Client().get("/field/").content


@pytest.mark.parametrize("developing", [False, True])
def test_it_serves_the_files_of_the_app_and_nothing_else(developing: bool, settings: Any) -> None:
    settings.WHITENOISE_AUTOREFRESH = developing
    client = Client()
    for name, kind in {
        "screens/guide.js": "text/javascript",
        "styles/tokens.css": "text/css",
        "manifest.webmanifest": "application/manifest+json",
        "icon-192.png": "image/png",
    }.items():
        answer = client.get(f"/field/{name}")
        assert b"".join(answer) == (ROOT / name).read_bytes()
        assert answer["Content-Type"].split(";")[0] == kind
    assert client.get("/field/package.json")["Content-Type"].startswith("text/html")
    assert client.get("/field/service-worker.js").content.startswith(b"const APP = ")


def test_the_worker_carries_every_file_of_the_app_that_the_page_can_ask_for() -> None:
    worker = Client().get("/field/service-worker.js").content.decode()
    assert f'"version": "{app_version(ROOT)}"' in worker
    carried = set(re.findall(r'"(/field/[^"]*)"', worker.splitlines()[0]))
    assert carried >= {"/field/", "/field/joined.js", "/field/joined.css", "/field/store/write.js"}
    assert "/field/manifest.webmanifest" in carried
    assert not any("node_modules" in path or path.endswith(".mjs") for path in carried)


@pytest.mark.parametrize("change", ["styles/tokens.css", "vendor/ui.js"])
def test_a_changed_file_makes_a_new_version(tmp_path: Path, change: str) -> None:
    for name in ("index.html", change):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("one")
    before = app_version(tmp_path)
    (tmp_path / change).write_text("two")
    assert app_version(tmp_path) != before
    assert len(app_files(tmp_path)) == 2


def test_the_worker_knows_the_very_bytes_of_each_file_it_carries() -> None:
    client = Client()
    line = client.get("/field/service-worker.js").content.decode().splitlines()[0]
    files = json.loads(line.removeprefix("const APP = ").removesuffix(";"))["files"]
    assert len(files) > 50
    for url, integrity in files.items():
        answer = client.get(url)
        content = b"".join(answer) if answer.streaming else answer.content
        digest = base64.b64encode(hashlib.sha256(content).digest()).decode()
        assert integrity == f"sha256-{digest}", url
