"""Addresses of this room, below /api/."""

from django.urls import path

from survey.examination.api import Original, Preview, Region
from survey.examination.pictures import THUMBNAIL_PX

urlpatterns = [
    path("photographs/<str:sha256>/original", Original.as_view(), name="api-original"),
    path("photographs/<str:sha256>/preview", Preview.as_view(), name="api-preview"),
    path(
        "photographs/<str:sha256>/thumbnail",
        Preview.as_view(longest_px=THUMBNAIL_PX),
        name="api-thumbnail",
    ),
    path("photographs/<str:sha256>/region", Region.as_view(), name="api-region"),
]
