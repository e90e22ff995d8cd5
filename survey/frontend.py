"""Serves the tablet app from frontend/ under /field/, and tells it which version it is.

There is no build step. The version is a hash over the files themselves, written into the
service worker as it is served: any changed file changes the worker's bytes, and that is
what makes a browser fetch the new version.
"""

import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from whitenoise.middleware import WhiteNoiseMiddleware

PREFIX = "/field/"
SERVED = {".html", ".js", ".css", ".svg", ".png", ".webmanifest", ".txt"}
NOT_SERVED = {"node_modules"}
# What opens first: the app, and the form that a reopened app goes back to.
OPENED_FIRST = ("app.js", "screens/examine.js")
STATIC_IMPORT = re.compile(r'^(?:import|export|\})[^;"]*"(\.[^"]+\.js)";', re.MULTILINE)


def app_files(root: Path) -> list[Path]:
    """The files of the app, sorted by path; development tools are left out."""
    return sorted(
        path
        for path in root.rglob("*")
        if path.suffix in SERVED
        and path.is_file()
        and not NOT_SERVED.intersection(path.relative_to(root).parts)
    )


def app_version(root: Path) -> str:
    """Sixteen hex digits that change when any file of the app changes."""
    digest = hashlib.sha256()
    for path in app_files(root):
        digest.update(path.relative_to(root).as_posix().encode() + b"\0")
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def modules_of(root: Path, entries: tuple[str, ...]) -> list[str]:
    """The entries and every module they import, near ones first, as paths below the root."""
    found = list(entries)
    for name in found:
        text = (root / name).read_text()
        for address in STATIC_IMPORT.findall(text):
            path = (root / name).parent / address
            imported = path.resolve().relative_to(root.resolve()).as_posix()
            if imported not in found:
                found.append(imported)
    return found


def addresses(root: Path) -> dict[str, Path]:
    """Where each file of the app is served; the page and the worker have views of their own."""
    return {
        PREFIX + path.relative_to(root).as_posix(): path
        for path in app_files(root)
        if path.name not in ("index.html", "service-worker.js")
    }


class FrontendFiles(WhiteNoiseMiddleware):
    """WhiteNoise, with the app's own folder added."""

    def __init__(self, get_response: Any = None) -> None:
        super().__init__(get_response)
        for url, path in addresses(Path(settings.FRONTEND_DIR)).items():
            self.add_file_to_dictionary(url, str(path))

    def candidate_paths_for_url(self, url: str) -> Iterator[str]:
        # Asked instead of the dictionary while developing, when files change as they are served.
        yield from super().candidate_paths_for_url(url)
        path = addresses(Path(settings.FRONTEND_DIR)).get(url)
        if path is not None:
            yield str(path)


def app_page(request: HttpRequest, path: str = "") -> HttpResponse:
    """Every address below /field/ opens the one page; the app reads the rest of it.

    The page names the modules it will need, so that the browser fetches them side by side
    instead of finding them one import after another.
    """
    root = Path(settings.FRONTEND_DIR)
    links = "".join(
        f'<link rel="modulepreload" href="{PREFIX}{name}" />'
        for name in modules_of(root, OPENED_FIRST)
    )
    return HttpResponse(
        (root / "index.html").read_text().replace("<!-- modules -->", links),
        content_type="text/html; charset=utf-8",
        headers={"Cache-Control": "no-cache"},
    )


def service_worker(request: HttpRequest) -> HttpResponse:
    """The service worker, with its version and the list of files to carry put before it."""
    root = Path(settings.FRONTEND_DIR)
    files = [url for url in addresses(root) if not url.endswith(".txt")]
    facts = {"version": app_version(root), "files": [PREFIX, *files]}
    body = f"const APP = {json.dumps(facts)};\n" + (root / "service-worker.js").read_text()
    return HttpResponse(
        body,
        content_type="text/javascript; charset=utf-8",
        headers={"Cache-Control": "no-cache"},
    )
