"""Addresses of this room, below /api/."""

from django.urls import path

from survey.sync import api, tus

urlpatterns = [
    path("sync/push", api.Push.as_view(), name="api-push"),
    path("sync/pull", api.Pull.as_view(), name="api-pull"),
    path("sync/scope", api.Scope.as_view(), name="api-scope"),
    path("sync/stored", api.Stored.as_view(), name="api-stored"),
    path("sync/received", api.Received.as_view(), name="api-received"),
    path("uploads/", tus.Uploads.as_view(), name="api-uploads"),
    path("uploads/<uuid:key>", tus.OneUpload.as_view(), name="api-upload"),
]
