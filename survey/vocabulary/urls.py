"""Addresses of this room, below /api/."""

from django.urls import path

from survey.vocabulary import api

urlpatterns = [
    path("vocabulary", api.VocabularyView.as_view(), name="vocabulary"),
]
