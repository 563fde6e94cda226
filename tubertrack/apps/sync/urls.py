"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver, path

from tubertrack.apps.sync import api

urlpatterns: list[URLPattern | URLResolver] = [
    path("sync/v1/push", api.PushView.as_view(), name="push"),
    path("sync/v1/pull", api.PullView.as_view(), name="pull"),
]
