"""Addresses of this room, below /api/."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
