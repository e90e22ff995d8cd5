"""Serves the tablet app from frontend/ under /field/, and tells it which version it is.

There is no build step. Modules and style sheets that open first are joined as they are served
(see joining). The version is a hash over the files themselves, written into the service worker
as it is served: any changed file changes the worker's bytes, and that is what makes a browser
fetch the new version.
"""

import base64
import hashlib
import json
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from whitenoise.middleware import WhiteNoiseMiddleware

from survey import joining

PREFIX = "/field/"
SERVED = {".html", ".js", ".css", ".svg", ".png", ".webmanifest", ".txt"}
NOT_SERVED = {"node_modules"}
# What opens first: the app, and the form that a reopened app goes back to.
OPENED_FIRST = ["app.js", "screens/examine.js"]
STYLESHEET = re.compile(r'<link rel="stylesheet" href="/field/(styles/[^"]+)" />\s*')
JOINED_STYLES = "joined.css"


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


def made_files(root: Path) -> dict[str, str]:
    """What is worked out from the app's files and served in their stead, by path below it."""
    # While developing the files change under the server; else they are read once.
    return _made_files(root, app_version(root) if settings.DEBUG else "")


@lru_cache(maxsize=2)
def _made_files(root: Path, version: str) -> dict[str, str]:
    texts = {
        path.relative_to(root).as_posix(): path.read_text()
        for path in app_files(root)
        if path.suffix in (".js", ".css", ".html")
    }
    page = texts["index.html"]
    order = joining.in_order(OPENED_FIRST, texts)
    own = [name for name in order if not joining.is_vendored(name)]
    asked_for = [joining.JOINED, *(name for name in order if name not in own)]
    preloads = "".join(f'<link rel="modulepreload" href="{PREFIX}{name}" />' for name in asked_for)
    styles = "".join(texts[name] for name in STYLESHEET.findall(page))
    page = STYLESHEET.sub("", page)
    page = page.replace(f'src="{PREFIX}app.js"', f'src="{PREFIX}{joining.JOINED}"')
    page = page.replace(
        "<!-- joined -->",
        f'<link rel="stylesheet" href="{PREFIX}{JOINED_STYLES}" />{preloads}',
    )
    return {
        "index.html": page,
        JOINED_STYLES: styles,
        joining.JOINED: joining.joined(order, texts, PREFIX),
        **{name: joining.handed_on(name, texts[name], PREFIX) for name in own},
    }


def addresses(root: Path) -> dict[str, Path]:
    """Where each file that is served as it lies is asked for."""
    made = made_files(root)
    names = {path.relative_to(root).as_posix(): path for path in app_files(root)}
    return {
        PREFIX + name: path
        for name, path in names.items()
        if name not in made and name != "service-worker.js"
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
    """A file that was made, or the one page: the app itself reads the rest of the address."""
    made = made_files(Path(settings.FRONTEND_DIR))
    name = path if path in made else "index.html"
    kinds = {".js": "text/javascript", ".css": "text/css", ".html": "text/html"}
    return HttpResponse(
        made[name],
        content_type=f"{kinds[Path(name).suffix]}; charset=utf-8",
        headers={"Cache-Control": "no-cache"},
    )


def carried_files(root: Path) -> dict[str, str]:
    """What the tablet keeps to work offline: each address, and the integrity of what it brings.

    A network's own page in the place of a file then fails the whole update, and the version
    that the tablet has stays.
    """
    made = {PREFIX + name: text.encode() for name, text in made_files(root).items()}
    page = made.pop(PREFIX + "index.html")
    lying = {
        url: path.read_bytes() for url, path in addresses(root).items() if not url.endswith(".txt")
    }
    return {url: _integrity(content) for url, content in {PREFIX: page, **made, **lying}.items()}


def _integrity(content: bytes) -> str:
    """As in W3C Subresource Integrity."""
    return f"sha256-{base64.b64encode(hashlib.sha256(content).digest()).decode()}"


def service_worker(request: HttpRequest) -> HttpResponse:
    """The service worker, with its version and the files to carry put before it."""
    root = Path(settings.FRONTEND_DIR)
    facts = {"version": app_version(root), "files": carried_files(root)}
    body = f"const APP = {json.dumps(facts)};\n" + (root / "service-worker.js").read_text()
    return HttpResponse(
        body,
        content_type="text/javascript; charset=utf-8",
        headers={"Cache-Control": "no-cache"},
    )
