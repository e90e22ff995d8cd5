"""Tells a message that was altered on the way from one that came as it was sent.

Content-Digest (RFC 9530) goes with every answer of the interface, and with the requests of the
tablet app. TCP's own checksum is weak, and proxies do more than pass on: a revision or a word
that came altered would else be taken for what somebody wrote.
"""

import base64
import hashlib
import re
from collections.abc import Callable

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase

HEADER = "Content-Digest"
# The tus protocol's number for bytes that were damaged on the way: they may be sent again.
DAMAGED = 460
_SHA256 = re.compile(r"(?:^|,)\s*sha-256=:([A-Za-z0-9+/=]*):")


def digest_of(content: bytes) -> str:
    """The header's value for a content: its SHA-256 as a structured field."""
    return f"sha-256=:{base64.b64encode(hashlib.sha256(content).digest()).decode()}:"


class ContentDigests:
    """Middleware for everything under /api/."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if not request.path.startswith("/api/"):
            return self.get_response(request)
        if told := _SHA256.search(request.headers.get(HEADER, "")):
            try:
                content = request.body
            except RequestDataTooBig:
                return JsonResponse({"detail": "This is more than is taken at once."}, status=413)
            if digest_of(content) != f"sha-256=:{told[1]}:":
                return JsonResponse(
                    {"detail": "This was damaged on the way here. Send it again."}, status=DAMAGED
                )
        answer = self.get_response(request)
        if isinstance(answer, HttpResponse) and request.method != "HEAD":
            answer[HEADER] = digest_of(answer.content)
        return answer
