"""The vocabulary over HTTP."""

from django.http import HttpResponseBase
from django.utils.cache import get_conditional_response, patch_cache_control
from django.utils.http import quote_etag
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from survey.vocabulary import queries


class VocabularyView(APIView):
    """Lights, terms, cautions, hazards, grades, kinds of work and materials, all at once.

    Send the last ETag as If-None-Match: 304 means that nothing changed.
    """

    open_to_passes = True

    @extend_schema(responses={200: OpenApiTypes.OBJECT, 304: None})
    def get(self, request: Request) -> HttpResponseBase:
        content = queries.vocabulary()
        etag = quote_etag(content["version"])
        response = Response(content, headers={"ETag": etag})
        patch_cache_control(response, private=True, no_cache=True)
        return get_conditional_response(request, etag=etag, response=response) or response
