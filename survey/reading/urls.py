"""Addresses of this room, below /api/."""

from django.urls.resolvers import URLPattern

urlpatterns: list[URLPattern] = []
