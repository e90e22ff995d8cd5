"""Readings over HTTP: asked for, looked at while they are made, corrected; and their pictures."""

from typing import Any

from django.core.exceptions import PermissionDenied as Forbidden
from django.http import FileResponse, HttpResponseBase
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import APIException, NotFound, PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from survey.access.api import DetailSerializer
from survey.examination.api import FOR_GOOD, AnyAccept
from survey.examination.models import Examination, Side
from survey.reading import queries, services
from survey.reading.models import Alignment, Correction, Reading
from survey.reading.pictures import picture_path
from survey.sync.api import storable

MAY_NOT = OpenApiResponse(DetailSerializer, "Only conservators and the head may do this.")
NO_SUCH = OpenApiResponse(DetailSerializer, "There is none here.")
NOT_YET = OpenApiResponse(DetailSerializer, "It cannot be read yet; the sentence says why.")
NOT_SO = OpenApiResponse(DetailSerializer, "What was said does not fit with the reading.")


class CorrectionSerializer(serializers.ModelSerializer[Correction]):
    person_name = serializers.CharField(source="person.name", read_only=True)

    class Meta:
        model = Correction
        fields = ["id", "changes", "result", "person_name", "at", "reason"]
        read_only_fields = fields


class ReadingSerializer(serializers.ModelSerializer[Reading]):
    photographs = serializers.ListField(
        child=serializers.UUIDField(), read_only=True, help_text="Those used, in order."
    )
    pictures = serializers.DictField(
        child=serializers.CharField(), read_only=True, help_text="SHA-256 by name."
    )
    correction = CorrectionSerializer(
        read_only=True, allow_null=True, help_text="The last one: its result counts."
    )

    class Meta:
        model = Reading
        fields = [
            "id",
            "kind",
            "examination",
            "side",
            "photographs",
            "state",
            "progress",
            "step",
            "result",
            "sentence",
            "pictures",
            "correction",
            "asked_at",
            "done_at",
            "made_with",
        ]
        read_only_fields = fields


class AlignmentSerializer(serializers.ModelSerializer[Alignment]):
    light = serializers.CharField(source="photograph.light", read_only=True)
    side = serializers.CharField(source="photograph.side", read_only=True)
    matrix = serializers.ListField(
        child=serializers.FloatField(),
        read_only=True,
        help_text="Nine numbers, row by row: upright pixels at full size of the photograph to "
        "those of the one it lies on.",
    )
    nudged = serializers.SerializerMethodField(help_text="Whether a person moved it by hand.")

    class Meta:
        model = Alignment
        fields = [
            "photograph",
            "onto",
            "light",
            "side",
            "matrix",
            "residual_mm",
            "residual_95_mm",
            "moved_mm",
            "nudged",
            "at",
        ]
        read_only_fields = fields

    def get_nudged(self, alignment: Alignment) -> bool:
        return alignment.nudged_by_id is not None


class OfExaminationSerializer(serializers.Serializer[Any]):
    examination = serializers.UUIDField()


class AskSerializer(serializers.Serializer[Any]):
    examination = serializers.UUIDField()
    side = serializers.ChoiceField(choices=Side.choices, default=Side.RECTO)
    kind = serializers.ChoiceField(choices=Reading.Kind.choices)
    given = serializers.DictField(
        default=dict, help_text="What this kind needs to be told, such as a target’s corners."
    )

    def validate_given(self, given: dict[str, Any]) -> Any:
        return storable(given)


class CorrectSerializer(serializers.Serializer[Any]):
    changes = serializers.DictField(help_text="What its kind lets be corrected.")
    reason = serializers.CharField(max_length=300, allow_blank=True, default="")

    def validate_changes(self, changes: dict[str, Any]) -> Any:
        return storable(changes)


class NotYet(APIException):
    status_code = status.HTTP_409_CONFLICT


class NotSo(APIException):
    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY


class Readings(APIView):
    """The readings of an examination, newest first; or ask for one."""

    @extend_schema(
        parameters=[OfExaminationSerializer],
        responses={200: ReadingSerializer(many=True), 404: NO_SUCH},
    )
    def get(self, request: Request) -> Response:
        readings = queries.readings_of(_examination(request.query_params))
        return Response(ReadingSerializer(readings, many=True).data)

    @extend_schema(
        request=AskSerializer,
        responses={202: ReadingSerializer, 403: MAY_NOT, 404: NO_SUCH, 409: NOT_YET},
    )
    def post(self, request: Request) -> Response:
        asked = AskSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        given = asked.validated_data
        examination = _examination(request.data)
        try:
            reading = services.ask(
                given["kind"], examination, given["side"], _person(request), given["given"]
            )
        except services.CannotAsk as error:
            raise NotYet(str(error)) from error
        except Forbidden as error:
            raise PermissionDenied(str(error)) from error
        return Response(ReadingSerializer(reading).data, status.HTTP_202_ACCEPTED)


class OneReading(APIView):
    """One reading: how far it is, or what came of it."""

    @extend_schema(responses={200: ReadingSerializer, 404: NO_SUCH})
    def get(self, request: Request, key: str) -> Response:
        return Response(ReadingSerializer(_reading(key)).data)


class Corrections(APIView):
    """Correct a reading. Its own result stays; the corrected one counts."""

    @extend_schema(
        request=CorrectSerializer,
        responses={201: CorrectionSerializer, 403: MAY_NOT, 404: NO_SUCH, 422: NOT_SO},
    )
    def post(self, request: Request, key: str) -> Response:
        said = CorrectSerializer(data=request.data)
        said.is_valid(raise_exception=True)
        try:
            correction = services.correct(
                _reading(key),
                _person(request),
                said.validated_data["changes"],
                said.validated_data["reason"],
            )
        except services.CannotCorrect as error:
            raise NotSo(str(error)) from error
        except Forbidden as error:
            raise PermissionDenied(str(error)) from error
        return Response(CorrectionSerializer(correction).data, status.HTTP_201_CREATED)


class Picture(APIView):
    """A picture that a reading made, as JPEG."""

    content_negotiation_class = AnyAccept

    @extend_schema(responses={(200, "image/jpeg"): OpenApiTypes.BINARY, 404: NO_SUCH})
    def get(self, request: Request, sha256: str) -> HttpResponseBase:
        try:
            file = picture_path(sha256).open("rb")
        except (ValueError, FileNotFoundError):
            raise NotFound(
                "This picture is not kept here any more. Ask for the reading again: it makes it "
                "anew."
            ) from None
        response = FileResponse(file, content_type="image/jpeg")
        response["Cache-Control"] = FOR_GOOD
        return response


class Alignments(APIView):
    """How the photographs of an examination lie on each other."""

    @extend_schema(
        parameters=[OfExaminationSerializer],
        responses={200: AlignmentSerializer(many=True), 404: NO_SUCH},
    )
    def get(self, request: Request) -> Response:
        alignments = queries.alignments_of(_examination(request.query_params))
        return Response(AlignmentSerializer(alignments, many=True).data)


def _examination(data: Any) -> Examination:
    asked = OfExaminationSerializer(data=data)
    asked.is_valid(raise_exception=True)
    rows = Examination.objects.filter(deleted_at=None).select_related("object")
    return get_object_or_404(rows, pk=asked.validated_data["examination"])


def _reading(key: str) -> Reading:
    rows = Reading.objects.select_related("examination__object").prefetch_related(
        "corrections__person"
    )
    return get_object_or_404(rows, pk=key)


def _person(request: Request) -> Any:
    return request.user
