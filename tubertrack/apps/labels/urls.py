"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver, path

from tubertrack.apps.labels import api

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/labels/stocks/", api.StocksView.as_view(), name="label-stocks"),
    path("api/labels/blanks/", api.BlanksView.as_view(), name="label-blanks"),
    path("api/labels/pdf/", api.LabelsPdfView.as_view(), name="labels-pdf"),
    path("api/labels/calibration/", api.CalibrationView.as_view(), name="label-calibration"),
]
