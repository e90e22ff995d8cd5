"""The tus resumable upload protocol, version 1.0.0 (tus.io, Resumable Upload Protocol).

Extensions: creation, checksum (sha1, sha256), expiration, termination. Upload-Metadata names
the content by ``sha256`` (64 hex digits); ``filename`` and ``filetype`` may go with it.
A client first asks /api/sync/stored which contents need not be sent at all.
"""

import base64
import binascii
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils.http import http_date
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from survey.access.models import Device, Person
from survey.sync import uploads
from survey.sync.models import Upload
from survey.sync.uploads import UploadRefused

VERSION = "1.0.0"
EXTENSIONS = "creation,checksum,expiration,termination"
BODY_TYPE = "application/offset+octet-stream"


def _header(name: str, description: str, *, required: bool = True) -> OpenApiParameter:
    return OpenApiParameter(
        name, OpenApiTypes.STR, OpenApiParameter.HEADER, required=required, description=description
    )


TUS_RESUMABLE = _header("Tus-Resumable", "1.0.0")
LENGTH = _header("Upload-Length", "Size of the file in bytes.")
METADATA = _header("Upload-Metadata", "Pairs of a key and a Base64 value; sha256 must be there.")
OFFSET = _header("Upload-Offset", "Where these bytes begin.")
CHECKSUM = _header("Upload-Checksum", "sha1 or sha256, and the Base64 digest.", required=False)
NOTHING = OpenApiResponse(description="No body: see the headers.")


class WrongVersion(APIException):
    status_code = 412
    default_detail = f"This server speaks tus {VERSION}: say so in Tus-Resumable."


class TusView(APIView):
    """What every request of the protocol has in common."""

    open_to_passes = True

    def check_permissions(self, request: Request) -> None:
        # A client may ask what the server can do before anybody is signed in.
        if request.method != "OPTIONS":
            super().check_permissions(request)

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        # The protocol's way through proxies that know no PATCH.
        override = request.headers.get("X-HTTP-Method-Override")
        if override:
            request.method = override.upper()
        return super().dispatch(request, *args, **kwargs)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        if request.method != "OPTIONS" and request.headers.get("Tus-Resumable") != VERSION:
            raise WrongVersion

    def finalize_response(
        self, request: Request, response: Any, *args: Any, **kwargs: Any
    ) -> Response:
        answer = super().finalize_response(request, response, *args, **kwargs)
        answer["Tus-Resumable"] = VERSION
        if answer.status_code == WrongVersion.status_code:
            answer["Tus-Version"] = VERSION
        return answer

    @extend_schema(exclude=True)
    def options(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Response:
        return Response(
            status=204,
            headers={
                "Tus-Version": VERSION,
                "Tus-Extension": EXTENSIONS,
                "Tus-Max-Size": str(settings.UPLOAD_LIMIT_BYTES),
                "Tus-Checksum-Algorithm": ",".join(uploads.CHECKSUMS),
            },
        )


class Uploads(TusView):
    @extend_schema(
        operation_id="uploads_create",
        description="Begin an upload. Location says where its bytes go.",
        parameters=[TUS_RESUMABLE, LENGTH, METADATA],
        request=None,
        responses={201: NOTHING},
    )
    def post(self, request: Request) -> Response:
        if "Upload-Defer-Length" in request.headers:
            raise UploadRefused(400, "Say the size of the file in Upload-Length.")
        upload = uploads.create(
            _person(request),
            request.auth if isinstance(request.auth, Device) else None,
            _whole_number(request, "Upload-Length"),
            _metadata(request.headers.get("Upload-Metadata", "")),
        )
        location = reverse("api-upload", kwargs={"key": upload.pk})
        return Response(status=201, headers={"Location": location, **_state(upload)})


class OneUpload(TusView):
    def head(self, request: Request, key: UUID) -> Response:
        upload = uploads.find(_person(request), key)
        pairs = [
            f"{name} {base64.b64encode(value.encode()).decode()}".rstrip()
            for name, value in upload.metadata.items()
        ]
        headers = {
            "Upload-Length": str(upload.length),
            "Upload-Metadata": ",".join(pairs),
            "Cache-Control": "no-store",
        }
        return Response(status=200, headers={**headers, **_state(upload)})

    @extend_schema(
        operation_id="uploads_append",
        description="Send bytes from the offset on. 460: damaged on the way. 422: no photograph.",
        parameters=[TUS_RESUMABLE, OFFSET, CHECKSUM],
        request={BODY_TYPE: OpenApiTypes.BINARY},
        responses={204: NOTHING},
    )
    def patch(self, request: Request, key: UUID) -> Response:
        upload = uploads.find(_person(request), key)
        if request.content_type != BODY_TYPE:
            raise UploadRefused(415, f"The bytes of an upload come as {BODY_TYPE}.")
        if "Content-Length" not in request.headers:
            raise UploadRefused(411, "Say in Content-Length how many bytes come.")
        offset = _whole_number(request, "Upload-Offset")
        if offset + _whole_number(request, "Content-Length") > upload.length:
            raise UploadRefused(413, "These are more bytes than were announced.")
        checksum = _checksum(request.headers.get("Upload-Checksum"))
        # The bare request: its bytes are read as they come, never held in memory.
        uploads.append(upload, offset, request._request, checksum)
        return Response(status=204, headers=_state(upload))

    @extend_schema(
        operation_id="uploads_discard",
        description="Give an upload up and free its space. Stored content stays.",
        parameters=[TUS_RESUMABLE],
        responses={204: NOTHING},
    )
    def delete(self, request: Request, key: UUID) -> Response:
        uploads.discard(uploads.find(_person(request), key))
        return Response(status=204)


def _person(request: Request) -> Person:
    assert isinstance(request.user, Person), "permissions let nobody else through"
    return request.user


def _state(upload: Upload) -> dict[str, str]:
    headers = {"Upload-Offset": str(upload.offset)}
    if upload.finished_at is None:
        headers["Upload-Expires"] = http_date(upload.expires_at.timestamp())
    return headers


def _whole_number(request: Request, header: str) -> int:
    text = request.headers.get(header, "")
    if not (text.isascii() and text.isdigit() and len(text) < 19):
        raise UploadRefused(400, f"{header} must be a whole number of bytes.")
    return int(text)


def _metadata(header: str) -> dict[str, str]:
    metadata = {}
    for pair in filter(None, (pair.strip() for pair in header.split(","))):
        key, _, value = pair.partition(" ")
        try:
            metadata[key] = base64.b64decode(value, validate=True).decode()
        except (binascii.Error, UnicodeDecodeError):
            raise UploadRefused(400, f"Upload-Metadata: “{key}” is not in Base64.") from None
    return metadata


def _checksum(header: str | None) -> uploads.Checksum | None:
    if header is None:
        return None
    algorithm, _, value = header.partition(" ")
    if algorithm not in uploads.CHECKSUMS:
        known = " or ".join(uploads.CHECKSUMS)
        raise UploadRefused(400, f"Upload-Checksum: “{algorithm}” is not known here, only {known}.")
    try:
        return uploads.Checksum(algorithm, base64.b64decode(value, validate=True))
    except binascii.Error:
        raise UploadRefused(400, "Upload-Checksum: the digest is not in Base64.") from None
