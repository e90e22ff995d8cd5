"""The addresses of the whole: the app under /field/, the interface under /api/, the desk at /."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

from survey import frontend

urlpatterns = [
    path("field/service-worker.js", frontend.service_worker, name="service-worker"),
    path("field/", frontend.app_page, name="field"),
    path("field/<path:path>", frontend.app_page),
    path("api/schema", SpectacularAPIView.as_view(), name="schema"),
    path("api/", include("survey.access.urls")),
    path("api/", include("survey.vocabulary.urls")),
    path("api/", include("survey.sync.urls")),
    path("api/", include("survey.catalogue.urls")),
    path("api/", include("survey.examination.urls")),
    path("api/", include("survey.reading.urls")),
    path("api/", include("survey.reports.urls")),
    path("", include("survey.desk.urls")),
]
