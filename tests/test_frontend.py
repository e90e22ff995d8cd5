"""How the tablet app is served."""

import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client

from survey.frontend import OPENED_FIRST, app_files, app_version, modules_of

ROOT = Path(settings.FRONTEND_DIR)


def test_it_finds_imports_of_imports_and_leaves_those_made_on_demand(tmp_path: Path) -> None:
    (tmp_path / "store").mkdir()
    (tmp_path / "app.js").write_text(
        'import { a } from "./store/a.js";\n'
        'import {\n  b,\n  c,\n} from "./store/b.js";\n'
        'const later = () => import("./later.js");\n'
        '/** @import { T } from "./types.js" */\n'
    )
    (tmp_path / "store/a.js").write_text('import "./b.js";\nexport { d } from "../d.js";\n')
    for name in ("store/b.js", "d.js"):
        (tmp_path / name).write_text("")
    assert modules_of(tmp_path, ("app.js",)) == ["app.js", "store/a.js", "store/b.js", "d.js"]


def test_the_page_names_every_module_that_opens_first() -> None:
    page = Client().get("/field/").content.decode()
    named = re.findall(r'<link rel="modulepreload" href="/field/([^"]+)"', page)
    assert named == modules_of(ROOT, OPENED_FIRST)
    assert {"app.js", "store/database.js", "vendor/ui.js", "vendor/dexie.js"} <= set(named)
    assert "vendor/qr.js" not in named


def test_every_address_below_field_opens_the_page() -> None:
    assert Client().get("/field/no/such/thing").content == Client().get("/field/").content


@pytest.mark.parametrize("developing", [False, True])
def test_it_serves_the_files_of_the_app_and_nothing_else(developing: bool, settings: Any) -> None:
    settings.WHITENOISE_AUTOREFRESH = developing
    client = Client()
    for name, kind in {
        "app.js": "text/javascript",
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
    assert carried >= {"/field/", "/field/app.js", "/field/manifest.webmanifest"}
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
