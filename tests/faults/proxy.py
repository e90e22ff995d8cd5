"""A small proxy on the loopback, between the app and the server, that spoils what passes.

A *rule* looks at a request's method and path and names what to do with it; None lets it pass.
"""

import http.client
import random
import threading
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

DROP_REQUEST = "drop the request"
DROP_ANSWER = "drop the answer"
DELAY = "delay"
TRUNCATE = "truncate the answer"
DUPLICATE = "send it twice"
CORRUPT = "corrupt the answer"
CORRUPT_REQUEST = "corrupt the request"
PORTAL = "answer with a page of its own"
PORTAL_PAGE = b"<!doctype html><title>Welcome</title><p>Accept the terms to go on.</p>"

Rule = Callable[[str, str], str | None]
HOP_BY_HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "date", "server"}


def pass_all(method: str, path: str) -> None:
    return None


@dataclass
class FaultProxy:
    """Passes everything on to 127.0.0.1:``upstream`` until it is given a rule."""

    upstream: int
    chance: random.Random = field(default_factory=lambda: random.Random(1))
    rule: Rule = pass_all
    # What CORRUPT does to an answer; by itself one letter or digit becomes another.
    alter: Callable[[bytes], bytes] | None = None
    # What was done, and how often.
    done: Counter[str] = field(default_factory=Counter)
    # The pieces of uploads that the server has answered.
    pieces: list["Piece"] = field(default_factory=list)

    def __post_init__(self) -> None:
        proxy = self

        class Handler(_Handler):
            to = proxy

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server.server_address[1]}"

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


@dataclass(frozen=True)
class Piece:
    path: str
    offset: int
    size: int
    status: int


@dataclass(frozen=True)
class Answer:
    status: int
    headers: list[tuple[str, str]]
    body: bytes


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    to: FaultProxy

    def pass_on(self) -> None:
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        fault = self.to.rule(self.command, self.path)
        self.to.done[fault or "nothing"] += 1
        if fault == DROP_REQUEST:
            return self._break_off()
        if fault == PORTAL:
            return self._give(Answer(200, [("Content-Type", "text/html")], PORTAL_PAGE))
        if fault == CORRUPT_REQUEST:
            body = self._corrupted(body)
        if fault == DELAY:
            time.sleep(self.to.chance.uniform(0.2, 1.5))
        try:
            answer = self._ask(body)
            if fault == DUPLICATE:
                answer = self._ask(body)
        except OSError:
            return self._break_off()
        if fault == DROP_ANSWER:
            return self._break_off()
        if fault == CORRUPT:
            alter = self.to.alter or self._corrupted
            answer = Answer(answer.status, answer.headers, alter(answer.body))
        self._give(answer, whole=fault != TRUNCATE)

    do_GET = do_HEAD = do_POST = do_PUT = do_PATCH = do_DELETE = do_OPTIONS = pass_on

    def _ask(self, body: bytes) -> Answer:
        upstream = http.client.HTTPConnection("127.0.0.1", self.to.upstream, timeout=60)
        try:
            headers = {**self.headers, "Connection": "close"}
            upstream.request(self.command, self.path, body, headers)
            answer = upstream.getresponse()
            if self.command == "PATCH":
                offset = int(self.headers["Upload-Offset"])
                self.to.pieces.append(Piece(self.path, offset, len(body), answer.status))
            return Answer(answer.status, answer.getheaders(), answer.read())
        finally:
            upstream.close()

    def _give(self, answer: Answer, whole: bool = True) -> None:
        self.send_response_only(answer.status)
        for name, value in answer.headers:
            if name.lower() not in HOP_BY_HOP:
                self.send_header(name, value)
        if answer.status not in (204, 304):
            self.send_header("Content-Length", str(len(answer.body)))
        self.end_headers()
        if self.command == "HEAD":
            return
        if whole:
            self.wfile.write(answer.body)
        else:
            self.wfile.write(answer.body[: self.to.chance.randrange(len(answer.body) + 1) // 2])
            self._break_off()

    def _break_off(self) -> None:
        self.close_connection = True

    def _corrupted(self, body: bytes) -> bytes:
        """One letter or digit becomes another, so that it reads as well as before."""
        places = [at for at, byte in enumerate(body) if chr(byte).isalnum() and byte < 128]
        if not places:
            return body
        at = self.to.chance.choice(places)
        other = b"7" if chr(body[at]).isdigit() and body[at] != ord("7") else b"3"
        return body[:at] + other + body[at + 1 :]

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing is written: tests say what they need to know."""
