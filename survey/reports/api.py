"""Reports over HTTP: asked for, looked at while they are made, and opened."""

from typing import Any

from django.http import FileResponse, HttpResponseBase
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import APIException, NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from survey.access.api import DetailSerializer
from survey.examination.api import AnyAccept
from survey.reports import queries, services
from survey.reports.kinds import KINDS
from survey.reports.models import Report
from survey.sync.files import stored_path

NO_SUCH = OpenApiResponse(DetailSerializer, "There is none here.")
CANNOT = OpenApiResponse(DetailSerializer, "This server cannot make reports; it says what lacks.")

GONE = "The record that this report is about is not there, or was deleted."


class ReportSerializer(serializers.ModelSerializer[Report]):
    asked_by_name = serializers.CharField(source="asked_by.name", read_only=True)

    class Meta:
        model = Report
        fields = [
            "id",
            "kind",
            "about",
            "state",
            "progress",
            "step",
            "sentence",
            "sha256",
            "size_bytes",
            "pages",
            "tells",
            "asked_by_name",
            "asked_at",
            "done_at",
            "made_with",
        ]
        read_only_fields = fields


class ReportOfSerializer(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(choices=Report.Kind.choices, default=Report.Kind.EXAMINATION)
    about = serializers.UUIDField(help_text="Key of the record, of the model that the kind names.")


class DownloadSerializer(serializers.Serializer[Any]):
    download = serializers.BooleanField(
        default=False, help_text="Offer it to be saved rather than shown."
    )


class Cannot(APIException):
    status_code = status.HTTP_409_CONFLICT


class Reports(APIView):
    """The reports about a record, newest first; or ask for one."""

    @extend_schema(
        parameters=[ReportOfSerializer],
        responses={200: ReportSerializer(many=True), 404: NO_SUCH},
    )
    def get(self, request: Request) -> Response:
        kind, record = _asked(request.query_params)
        reports = queries.reports_of(kind, record.pk)
        return Response(ReportSerializer(reports, many=True).data)

    @extend_schema(
        request=ReportOfSerializer,
        responses={202: ReportSerializer, 404: NO_SUCH, 409: CANNOT},
    )
    def post(self, request: Request) -> Response:
        kind, record = _asked(request.data)
        person: Any = request.user
        try:
            report = services.ask(kind, record, person)
        except services.CannotAsk as error:
            raise Cannot(str(error)) from error
        return Response(ReportSerializer(report).data, status.HTTP_202_ACCEPTED)


class OneReport(APIView):
    """One report: how far it is, or where its record stood."""

    @extend_schema(responses={200: ReportSerializer, 404: NO_SUCH})
    def get(self, request: Request, key: str) -> Response:
        return Response(ReportSerializer(_report(key)).data)


class ReportFile(APIView):
    """The report itself, as PDF."""

    content_negotiation_class = AnyAccept

    @extend_schema(
        parameters=[DownloadSerializer],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY, 404: NO_SUCH},
    )
    def get(self, request: Request, key: str) -> HttpResponseBase:
        asked = DownloadSerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        report = _report(key)
        if report.state != Report.State.DONE:
            raise NotFound("This report is not made yet, or could not be made.")
        try:
            file = stored_path(report.sha256).open("rb")
        except FileNotFoundError:
            raise NotFound(
                "The file of this report is missing on the server. Take it from a backup, or ask "
                "for a new report."
            ) from None
        return FileResponse(
            file,
            content_type=services.CONTENT_TYPE,
            as_attachment=asked.validated_data["download"],
            filename=queries.file_name(report),
        )


def _asked(data: Any) -> tuple[str, Any]:
    """The kind of report, and its record."""
    asked = ReportOfSerializer(data=data)
    asked.is_valid(raise_exception=True)
    kind = asked.validated_data["kind"]
    record = KINDS[kind].find(asked.validated_data["about"])
    if record is None:
        raise NotFound(GONE)
    return kind, record


def _report(key: str) -> Report:
    report = get_object_or_404(Report.objects.select_related("asked_by"), pk=key)
    if KINDS[report.kind].find(report.about) is None:
        raise NotFound(GONE)
    return report
