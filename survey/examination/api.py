"""Photographs over HTTP: the original, and two sizes for a screen."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.utils.cache import get_conditional_response
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import APIException, NotFound
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request
from rest_framework.views import APIView

from survey.access.api import DetailSerializer
from survey.access.models import Device
from survey.examination import pictures
from survey.examination.models import Photograph
from survey.imaging.previews import NoPreview
from survey.sync import registry
from survey.sync.models import StoredFile

# An address names its content, so the content never changes. Not for shared caches.
FOR_GOOD = "private, max-age=31536000, immutable"
# What every browser shows by itself; anything else is offered for download.
SHOWN = {"image/jpeg", "image/png", "image/webp", "image/gif"}
ABSENT = OpenApiResponse(DetailSerializer, "The photograph has not arrived here.")
NOT_SHOWN = OpenApiResponse(DetailSerializer, "It is kept, but no preview can be made of it.")


class AnyAccept(BaseContentNegotiation):
    """A client that asks for image/jpeg alone is not turned away; errors are JSON."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        return parsers[0]

    def select_renderer(self, request: Request, renderers: Any, format_suffix: Any = None) -> Any:
        return renderers[0], renderers[0].media_type


class CannotBeShown(APIException):
    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY


class Original(APIView):
    """The file byte for byte as it was shot."""

    open_to_passes = True
    content_negotiation_class = AnyAccept

    @extend_schema(responses={(200, "image/*"): OpenApiTypes.BINARY, 304: None, 404: ABSENT})
    def get(self, request: Request, sha256: str) -> HttpResponseBase:
        return kept_for_good(request, sha256, lambda path: original(path, sha256))


class Preview(APIView):
    """An upright sRGB JPEG, its longer side 1600 px (preview) or 400 px (thumbnail) at most."""

    open_to_passes = True
    content_negotiation_class = AnyAccept
    longest_px = pictures.PREVIEW_PX

    @extend_schema(
        responses={
            (200, "image/jpeg"): OpenApiTypes.BINARY,
            304: None,
            404: ABSENT,
            422: NOT_SHOWN,
        }
    )
    def get(self, request: Request, sha256: str) -> HttpResponseBase:
        return kept_for_good(request, sha256, lambda path: preview(path, self.longest_px))


class PartSerializer(serializers.Serializer[Any]):
    """Which part of a photograph is wanted, in pixels of the upright original at full size."""

    x = serializers.IntegerField(min_value=0, help_text="Its left edge.")
    y = serializers.IntegerField(min_value=0, help_text="Its top edge.")
    width = serializers.IntegerField(min_value=1)
    height = serializers.IntegerField(min_value=1)
    longest = serializers.IntegerField(
        min_value=1,
        max_value=pictures.LARGEST_REGION_PX,
        default=pictures.LARGEST_REGION_PX,
        help_text="The longer side of the JPEG has at most so many pixels; nothing is enlarged.",
    )


class Region(APIView):
    """A part of the photograph as an upright sRGB JPEG, for looking closely at a large one."""

    open_to_passes = True
    content_negotiation_class = AnyAccept

    @extend_schema(
        parameters=[PartSerializer],
        responses={
            (200, "image/jpeg"): OpenApiTypes.BINARY,
            304: None,
            400: OpenApiResponse(OpenApiTypes.OBJECT, "A sentence for each number that is wrong."),
            404: ABSENT,
            422: NOT_SHOWN,
        },
    )
    def get(self, request: Request, sha256: str) -> HttpResponseBase:
        asked = PartSerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        part = asked.validated_data
        box = (part["x"], part["y"], part["x"] + part["width"], part["y"] + part["height"])
        return kept_for_good(
            request, sha256, lambda path: shown(lambda: pictures.region(path, box, part["longest"]))
        )


def kept_for_good(
    request: Request, sha256: str, answer: Callable[[Path], HttpResponseBase]
) -> HttpResponseBase:
    """The answer for a photograph that is here, or 304, with headers to keep it for good."""
    path = pictures.original_path(sha256)
    if path is None or not is_carried(request, sha256):
        raise NotFound(
            "This photograph is not here. It may still be on the tablet that took it: "
            "let that tablet send."
        )
    etag = f'"{sha256}"'
    unchanged = get_conditional_response(request._request, etag)
    response: HttpResponseBase = unchanged if unchanged is not None else answer(path)
    response["Cache-Control"] = FOR_GOOD
    response["ETag"] = etag
    return response


def is_carried(request: Request, sha256: str) -> bool:
    """A pass shows the photographs it carries and no others: those it takes for not here."""
    if not isinstance(request.auth, Device) or not request.auth.is_of_pass:
        return True
    entity = registry.named("photograph")
    assert entity is not None, "this room registers it"
    rows = Photograph.objects.filter(sha256=sha256, deleted_at=None)
    return registry.carried(entity, rows, request.auth.scope).exists()


def original(path: Path, sha256: str) -> HttpResponseBase:
    facts = StoredFile.objects.get(pk=sha256).facts
    content_type = facts.get("content_type", "application/octet-stream")
    return FileResponse(
        path.open("rb"),
        content_type=content_type,
        as_attachment=content_type not in SHOWN,
        filename=pictures.file_name(sha256),
    )


def preview(path: Path, longest_px: int) -> HttpResponseBase:
    return shown(lambda: pictures.preview(path, longest_px))


def shown(make: Callable[[], bytes]) -> HttpResponseBase:
    try:
        return HttpResponse(make(), content_type="image/jpeg")
    except NoPreview as error:
        raise CannotBeShown(str(error)) from error
