"""Addresses of this room, below /api/."""

from django.urls import path

from survey.reports.api import OneReport, ReportFile, Reports

urlpatterns = [
    path("reports", Reports.as_view(), name="api-reports"),
    path("reports/<uuid:key>", OneReport.as_view(), name="api-report"),
    path("reports/<uuid:key>/file", ReportFile.as_view(), name="api-report-file"),
]
