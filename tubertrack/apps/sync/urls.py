"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver

urlpatterns: list[URLPattern | URLResolver] = []
