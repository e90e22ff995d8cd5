"""Signing a tablet in and out."""

from typing import Any

from django.contrib.auth import authenticate
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers, status
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from survey.access import passes, services
from survey.access.authentication import SCHEME
from survey.access.guesses import WrongGuesses
from survey.access.models import Device, Person


class SignInSerializer(serializers.Serializer[Any]):
    username = serializers.CharField(max_length=150)
    password = serializers.CharField(max_length=4096, trim_whitespace=False)
    device_id = serializers.UUIDField(allow_null=True, default=None)
    device_name = serializers.CharField(max_length=80, allow_blank=True, default="")


class PersonSerializer(serializers.ModelSerializer[Person]):
    id = serializers.CharField(source="pk", read_only=True)
    name = serializers.CharField(read_only=True)

    class Meta:
        model = Person
        fields = ["id", "username", "name", "role"]
        read_only_fields = fields


class SignedInSerializer(serializers.Serializer[Any]):
    token = serializers.CharField()
    expires_at = serializers.DateTimeField()
    device_id = serializers.UUIDField()
    person = PersonSerializer()


class OpenPassSerializer(serializers.Serializer[Any]):
    token = serializers.CharField(max_length=100)
    device_token = serializers.CharField(
        min_length=40, max_length=100, help_text="Made by the device, and kept by it as its own."
    )
    device_name = serializers.CharField(max_length=80, allow_blank=True, default="")


class OpenedPassSerializer(SignedInSerializer):
    loan = serializers.CharField(help_text="Key of the one loan that it opens.")


class DetailSerializer(serializers.Serializer[Any]):
    detail = serializers.CharField(help_text="A sentence for the person.")


class SignIn(APIView):
    """Enrol this tablet for a person. A tablet that was theirs before comes back as itself."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    @extend_schema(
        auth=[],
        request=SignInSerializer,
        responses={
            200: SignedInSerializer,
            401: OpenApiResponse(DetailSerializer, "The name or the password is wrong."),
            429: OpenApiResponse(DetailSerializer, "Too many wrong tries within a minute."),
        },
    )
    def post(self, request: Request) -> Response:
        asked = SignInSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        given = asked.validated_data
        guesses = WrongGuesses(given["username"])
        guesses.check(request)
        person = authenticate(request, username=given["username"], password=given["password"])
        if not isinstance(person, Person):
            guesses.count()
            services.note(None, "sign-in refused", given["username"])
            return Response(
                {"detail": "This name and password do not belong together. Try again."},
                status.HTTP_401_UNAUTHORIZED,
                headers={"WWW-Authenticate": SCHEME},
            )
        device, token = services.enrol(person, given["device_name"] or "Tablet", given["device_id"])
        signed_in = {
            "token": token,
            "expires_at": device.expires_at,
            "device_id": device.pk,
            "person": person,
        }
        return Response(SignedInSerializer(signed_in).data)


class OpenPass(APIView):
    """Open a courier's pass on this device, for good: it opens on no other."""

    authentication_classes = ()
    permission_classes = (AllowAny,)

    @extend_schema(
        auth=[],
        request=OpenPassSerializer,
        responses={
            200: OpenedPassSerializer,
            403: OpenApiResponse(DetailSerializer, "It does not open; the sentence says why."),
        },
    )
    def post(self, request: Request) -> Response:
        asked = OpenPassSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        given = asked.validated_data
        try:
            device = passes.open_pass(
                given["token"], given["device_token"], given["device_name"] or "Phone"
            )
        except passes.CannotOpen as error:
            services.note(None, "pass refused", str(error))
            return Response({"detail": str(error)}, status.HTTP_403_FORBIDDEN)
        opened = {
            "token": given["device_token"],
            "expires_at": device.expires_at,
            "device_id": device.pk,
            "person": device.person,
            "loan": device.scope["loan"],
        }
        return Response(OpenedPassSerializer(opened).data)


class SignOut(APIView):
    """End this tablet's sign-in. What it holds stays on it."""

    open_to_passes = True

    @extend_schema(request=None, responses={204: None})
    def post(self, request: Request) -> Response:
        if isinstance(request.auth, Device):
            services.revoke(request.auth, request.auth.person)
        return Response(status=status.HTTP_204_NO_CONTENT)
