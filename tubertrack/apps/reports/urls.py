"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver, path

from tubertrack.apps.reports import api

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/reports/losses/", api.LossesView.as_view(), name="losses"),
    path("api/reports/losses.csv", api.LossesCsvView.as_view(), name="losses-csv"),
    path("api/reports/losses.pdf", api.LossesPdfView.as_view(), name="losses-pdf"),
]
