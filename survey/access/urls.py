"""Addresses of this room, below /api/."""

from django.urls import path

from survey.access import api

urlpatterns = [
    path("sign-in", api.SignIn.as_view(), name="api-sign-in"),
    path("passes/open", api.OpenPass.as_view(), name="api-pass-open"),
    path("sign-out", api.SignOut.as_view(), name="api-sign-out"),
]
