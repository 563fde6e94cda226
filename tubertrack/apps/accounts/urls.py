"""Addresses of this app, in full (config includes them without a prefix)."""

from django.urls import URLPattern, URLResolver, path

from tubertrack.apps.accounts.api import devices, doors, people, trade

urlpatterns: list[URLPattern | URLResolver] = [
    path("start/<str:token>", doors.start, name="start"),
    path("api/session/", doors.SessionView.as_view(), name="session"),
    path("api/sign-in/", doors.SignInView.as_view(), name="sign-in"),
    path("api/sign-out/", doors.SignOutView.as_view(), name="sign-out"),
    path("api/password/", doors.PasswordView.as_view(), name="password"),
    path("api/farms/", doors.FarmsView.as_view(), name="farms"),
    path("api/farm/", people.FarmAnswerView.as_view(), name="farm"),
    path("api/devices/", devices.DevicesView.as_view(), name="devices"),
    path("api/devices/<uuid:device_id>/", devices.DeviceView.as_view(), name="device"),
    path(
        "api/devices/<uuid:device_id>/revoke/", devices.RevokeView.as_view(), name="device-revoke"
    ),
    path(
        "api/devices/<uuid:device_id>/release/",
        devices.ReleaseView.as_view(),
        name="device-release",
    ),
    path("api/pairing/", devices.PairingView.as_view(), name="pairing"),
    path("api/pair/", devices.PairView.as_view(), name="pair"),
    path("api/members/", people.MembersView.as_view(), name="members"),
    path("api/members/<uuid:member_id>/", people.MemberView.as_view(), name="member"),
    path(
        "api/members/<uuid:member_id>/erase/",
        people.MemberEraseView.as_view(),
        name="member-erase",
    ),
    path("api/buyers/", trade.BuyersView.as_view(), name="buyers"),
    path("api/buyers/<uuid:buyer_id>/", trade.BuyerView.as_view(), name="buyer"),
    path("api/sales/", trade.SalesView.as_view(), name="sales"),
    path("api/sales/<uuid:sale_id>/", trade.SaleView.as_view(), name="sale"),
    path("api/prices/", trade.PricesView.as_view(), name="prices"),
    path("api/prices/<uuid:price_id>/", trade.PriceView.as_view(), name="price"),
]
