"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver, path

from tubertrack.apps.accounts import api

urlpatterns: list[URLPattern | URLResolver] = [
    path("start/<str:token>", api.start, name="start"),
    path("api/session/", api.SessionView.as_view(), name="session"),
    path("api/farms/", api.FarmsView.as_view(), name="farms"),
    path("api/farm/", api.FarmAnswerView.as_view(), name="farm"),
    path("api/devices/", api.DevicesView.as_view(), name="devices"),
    path("api/devices/<uuid:device_id>/revoke/", api.RevokeView.as_view(), name="device-revoke"),
    path("api/pairing/", api.PairingView.as_view(), name="pairing"),
    path("api/pair/", api.PairView.as_view(), name="pair"),
    path("api/members/", api.MembersView.as_view(), name="members"),
    path("api/members/<uuid:member_id>/", api.MemberView.as_view(), name="member"),
]
