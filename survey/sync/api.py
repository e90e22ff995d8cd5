"""Push, pull and what goes with them; uploads are in tus.py."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from survey.access.models import Device
from survey.sync import files, queries, services
from survey.sync.models import Change

MOST_CHANGES = 500
MOST_HASHES = 1000
MOST_CHANGE_IDS = 1000


def storable(value: Any) -> Any:
    """JSON without NUL and halves of characters, which no database holds: � stands for each."""
    if isinstance(value, str):
        whole = value.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
        return whole.replace("\0", "�")
    if isinstance(value, dict):
        return {storable(key): storable(part) for key, part in value.items()}
    if isinstance(value, list):
        return [storable(part) for part in value]
    return value


class ChangeSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField(help_text="UUIDv7 made on the tablet; a replay has the same.")
    entity = serializers.CharField(max_length=32)
    entity_id = serializers.CharField(max_length=64)
    fields = serializers.DictField(help_text="Only the fields that were touched.")  # type: ignore[assignment]
    base = serializers.IntegerField(
        min_value=0, max_value=2**63 - 1, help_text="Revision the person was looking at."
    )
    at = serializers.CharField(max_length=64, help_text="Hybrid logical clock.")
    settles = serializers.UUIDField(
        allow_null=True,
        default=None,
        help_text="The open question that this answers: it is about one of the fields.",
    )

    def validate_fields(self, fields: dict[str, Any]) -> Any:
        return storable(fields)


class PushSerializer(serializers.Serializer[Any]):
    changes: Any = serializers.ListSerializer(child=ChangeSerializer(), max_length=MOST_CHANGES)


class ResultSerializer(serializers.ModelSerializer[Change]):
    reasons = serializers.DictField(
        child=serializers.CharField(), help_text="A sentence by field; “” for the whole change."
    )

    class Meta:
        model = Change
        fields = ["id", "outcome", "number", "reasons", "clock_clamped"]


class PushedSerializer(serializers.Serializer[Any]):
    results = ResultSerializer(many=True)
    clock = serializers.CharField(help_text="The server's clock, for the tablet's to catch up.")


class ScopeSerializer(serializers.Serializer[Any]):
    locations = serializers.ListField(
        child=serializers.CharField(), help_text="Keys of locations; none means everything."
    )


class CursorSerializer(serializers.Serializer[Any]):
    cursor = serializers.IntegerField(min_value=0, max_value=2**63 - 1, default=0)
    limit = serializers.IntegerField(
        min_value=1, max_value=queries.MOST_ROWS, default=queries.MOST_ROWS
    )


class RowSerializer(serializers.Serializer[Any]):
    entity = serializers.CharField()
    id = serializers.CharField()
    revision = serializers.IntegerField()
    deleted = serializers.BooleanField(help_text="Deleted, or no longer carried by the device.")
    fields = serializers.DictField(allow_null=True)  # type: ignore[assignment]


class SideSerializer(serializers.Serializer[Any]):
    value = serializers.JSONField(allow_null=True)
    at = serializers.CharField()
    person = serializers.CharField(help_text="Name; empty for the server itself.")


class QuestionSerializer(serializers.Serializer[Any]):
    id = serializers.CharField()
    entity = serializers.CharField()
    entity_id = serializers.CharField()
    field = serializers.CharField()
    shown = SideSerializer()
    kept = SideSerializer()
    settled = serializers.BooleanField()


class PageSerializer(serializers.Serializer[Any]):
    rows = RowSerializer(many=True)
    questions = QuestionSerializer(many=True)
    cursor = serializers.IntegerField()
    more = serializers.BooleanField()
    scope = ScopeSerializer()
    expires_at = serializers.DateTimeField(
        allow_null=True, help_text="When this device's sign-in ends; a courier's pass can be moved."
    )


class AskedScopeSerializer(serializers.Serializer[Any]):
    locations = serializers.ListField(child=serializers.UUIDField(), max_length=10_000)


class HashesSerializer(serializers.Serializer[Any]):
    sha256 = serializers.ListField(
        child=serializers.RegexField(
            r"\A[0-9a-f]{64}\Z", error_messages={"invalid": "This is not a SHA-256."}
        ),
        max_length=MOST_HASHES,
    )


class StoredSerializer(serializers.Serializer[Any]):
    stored = serializers.ListField(child=serializers.CharField())


class ChangeIdsSerializer(serializers.Serializer[Any]):
    changes = serializers.ListField(child=serializers.UUIDField(), max_length=MOST_CHANGE_IDS)


class ReceivedSerializer(serializers.Serializer[Any]):
    received = serializers.ListField(child=serializers.UUIDField())


class Push(APIView):
    """Send changes. Each gets its own outcome; sending one twice does nothing the second time."""

    open_to_passes = True

    @extend_schema(request=PushSerializer, responses=PushedSerializer)
    def post(self, request: Request) -> Response:
        asked = PushSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        author = {"person": request.user, "device": _device(request)}
        arrived = [Change(**change, **author) for change in asked.validated_data["changes"]]
        results, clock = services.push(arrived)
        return Response(PushedSerializer({"results": results, "clock": str(clock)}).data)


class Pull(APIView):
    """The rows that changed after the cursor. Repeat with the new cursor until more is false."""

    open_to_passes = True

    @extend_schema(parameters=[CursorSerializer], responses=PageSerializer)
    def get(self, request: Request) -> Response:
        asked = CursorSerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        device = _device(request)
        page = queries.page_after(**asked.validated_data, scope=queries.scope_of(device))
        ends = {"expires_at": device.expires_at if device else None}
        return Response(PageSerializer(vars(page) | ends).data)


class Scope(APIView):
    """Say which locations this tablet carries. It then pulls again from cursor 0."""

    @extend_schema(request=AskedScopeSerializer, responses=ScopeSerializer)
    def put(self, request: Request) -> Response:
        asked = AskedScopeSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        device = _device(request)
        if device is None:
            raise ValidationError({"detail": "Only a tablet that is signed in has a scope."})
        device.scope = {"locations": [str(key) for key in asked.validated_data["locations"]]}
        device.save(update_fields=["scope"])
        return Response(device.scope)


class Stored(APIView):
    """Which of these contents the server holds, so that they need not be sent."""

    open_to_passes = True

    @extend_schema(request=HashesSerializer, responses=StoredSerializer)
    def post(self, request: Request) -> Response:
        asked = HashesSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        return Response({"stored": files.stored_of(asked.validated_data["sha256"])})


class Received(APIView):
    """Which of these changes the server has had, whatever became of them.

    A tablet that lost its storage asks this of the changes it had noted as not sent yet.
    """

    open_to_passes = True

    @extend_schema(request=ChangeIdsSerializer, responses=ReceivedSerializer)
    def post(self, request: Request) -> Response:
        asked = ChangeIdsSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        received = queries.received_of(asked.validated_data["changes"])
        return Response(ReceivedSerializer({"received": received}).data)


def _device(request: Request) -> Device | None:
    return request.auth if isinstance(request.auth, Device) else None
