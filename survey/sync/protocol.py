"""Which versions of the protocol between tablet and server this server speaks.

A tablet says its own with every request, in the header Fieldleaf-Protocol. An app that says
nothing speaks version 1: that was before there was a header. A version outside the range is
refused before anything is read, and the tablet keeps its work until one of the two is renewed.

A change that an older tablet or server can simply pass over, such as a further field, needs no
new version. Raise NEWEST, here and in frontend/store/server.js, when the meaning of what is sent
changes; raise OLDEST only when what the older version says can no longer be taken as it was meant.
"""

from collections.abc import Callable

from django.http import HttpRequest, JsonResponse
from django.http.response import HttpResponseBase

HEADER = "Fieldleaf-Protocol"
OLDEST = 1
NEWEST = 1
# Not Implemented. Not a 4xx: an app from before the header would take that for a refusal of each
# single change, while it keeps everything and tries again later after any 5xx.
REFUSED = 501


class ProtocolVersions:
    """Middleware for everything that a tablet asks."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if not _is_from_a_tablet(request) or OLDEST <= (version := _version(request)) <= NEWEST:
            return self.get_response(request)
        detail = (
            "This device's Fieldleaf is too old for the server. Its work is kept on the device. "
            "Use the app's new version: open Fieldleaf once more while there is a network."
            if version < OLDEST
            else "The server is older than this device's Fieldleaf. Its work is kept on the "
            "device. Tell whoever looks after the server to bring it up to date."
        )
        return JsonResponse({"detail": detail, "oldest": OLDEST, "newest": NEWEST}, status=REFUSED)


def _is_from_a_tablet(request: HttpRequest) -> bool:
    if not request.path.startswith("/api/"):
        return False
    is_signing_in = request.path == "/api/sign-in"
    has_token = request.headers.get("Authorization", "").startswith("Device ")
    return is_signing_in or has_token or HEADER in request.headers


def _version(request: HttpRequest) -> int:
    """0, older than any, for what is no number."""
    said = request.headers.get(HEADER, "1")
    return int(said) if said.isascii() and said.isdigit() and len(said) < 9 else 0
