"""Addresses of this room, below /api/."""

from django.urls import path

from survey.reading.api import Alignments, Corrections, OneReading, Picture, Readings

urlpatterns = [
    path("readings", Readings.as_view(), name="api-readings"),
    path("readings/<uuid:key>", OneReading.as_view(), name="api-reading"),
    path("readings/<uuid:key>/corrections", Corrections.as_view(), name="api-corrections"),
    path("readings/pictures/<str:sha256>", Picture.as_view(), name="api-reading-picture"),
    path("alignments", Alignments.as_view(), name="api-alignments"),
]
