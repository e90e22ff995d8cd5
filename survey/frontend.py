"""Serves the tablet app from frontend/ under /field/, and tells it which version it is.

There is no build step. The version is a hash over the files themselves, written into the
service worker as it is served: any changed file changes the worker's bytes, and that is
what makes a browser fetch the new version.
"""

import hashlib
import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from whitenoise.middleware import WhiteNoiseMiddleware

PREFIX = "/field/"
SERVED = {".html", ".js", ".css", ".svg", ".png", ".webmanifest", ".txt"}
NOT_SERVED = {"node_modules"}


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


class FrontendFiles(WhiteNoiseMiddleware):
    """WhiteNoise, with the app's own folder added."""

    def __init__(self, get_response: Any = None) -> None:
        super().__init__(get_response)
        root = Path(settings.FRONTEND_DIR)
        for path in app_files(root):
            relative = path.relative_to(root).as_posix()
            if relative not in ("index.html", "service-worker.js"):
                self.add_file_to_dictionary(PREFIX + relative, str(path))


def app_page(request: HttpRequest, path: str = "") -> HttpResponse:
    """Every address below /field/ opens the one page; the app reads the rest of it."""
    return HttpResponse(
        (Path(settings.FRONTEND_DIR) / "index.html").read_bytes(),
        content_type="text/html; charset=utf-8",
        headers={"Cache-Control": "no-cache"},
    )


def service_worker(request: HttpRequest) -> HttpResponse:
    """The service worker, with its version and the list of files to carry put before it."""
    root = Path(settings.FRONTEND_DIR)
    files = [
        PREFIX + path.relative_to(root).as_posix()
        for path in app_files(root)
        if path.name not in ("index.html", "service-worker.js") and path.suffix != ".txt"
    ]
    facts = {"version": app_version(root), "files": [PREFIX, *files]}
    body = f"const APP = {json.dumps(facts)};\n" + (root / "service-worker.js").read_text()
    return HttpResponse(
        body,
        content_type="text/javascript; charset=utf-8",
        headers={"Cache-Control": "no-cache"},
    )
