"""Addresses of phones and browsers: how they get in, who they are, how they are let out."""

from __future__ import annotations

import os
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import NotFound
from rest_framework.permissions import AllowAny, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response

from tubertrack.apps.accounts import clock, pairing, selectors, serializers, services
from tubertrack.apps.accounts.api.answers import CountedView, enrolled, told
from tubertrack.apps.accounts.auth import FarmView, NotYours, PageSession
from tubertrack.apps.accounts.may import least_role
from tubertrack.apps.accounts.models import Device, Member
from tubertrack.apps.accounts.qr import qr_svg
from tubertrack.apps.accounts.whereabouts import place_of


class DevicesView(FarmView):
    """The devices of the farm, for a device; and the way in for the browser of a signed-in owner."""

    least_role: ClassVar[dict[str, str]] = least_role("devices")

    def get_authenticators(self) -> list[Any]:
        return [PageSession()] if self._enrols() else super().get_authenticators()

    def get_permissions(self) -> list[Any]:
        return [IsAuthenticated()] if self._enrols() else super().get_permissions()

    def _enrols(self) -> bool:
        request = getattr(self, "request", None)
        return request is not None and request.method == "POST"

    @extend_schema(responses=serializers.DeviceSerializer(many=True), auth=[{"deviceToken": []}])
    def get(self, request: Request) -> Response:
        devices = selectors.devices_told(self.farm)
        return Response(serializers.DeviceSerializer(devices, many=True).data)

    @extend_schema(
        request=serializers.EnrolSerializer,
        responses={
            201: serializers.EnrolAnswerSerializer,
            404: serializers.RefusalSerializer,
        },
        auth=[{"cookieAuth": []}],
    )
    def post(self, request: Request) -> Response:
        """This browser becomes a device of a farm. By session, with Django's CSRF check."""
        form = told(serializers.EnrolSerializer, request)
        member = (
            Member.objects.select_related("farm")
            .filter(user=request.user, farm=form["farm"], active=True)
            .first()
        )
        if member is None:
            raise NotFound
        services.settle_time_zone(member.farm, form.get("time_zone", ""))
        return enrolled(services.enrol_device(member, name=form["name"], sort=form["sort"]))


class OneDeviceView(FarmView):
    """A view of one phone, browser or script of the farm."""

    def one(self, device_id: Any) -> Device:
        return services.device_of(self.farm, device_id)

    def answer(self, device: Device) -> Response:
        [row] = selectors.devices_told(self.farm, device)
        return Response(serializers.DeviceSerializer(row).data)


class DeviceView(OneDeviceView):
    """The name of a device."""

    least_role: ClassVar[dict[str, str]] = least_role("device")

    @extend_schema(
        request=serializers.DeviceChangeSerializer, responses=serializers.DeviceSerializer
    )
    def patch(self, request: Request, device_id: Any) -> Response:
        """An owner names any device; everybody the one in their own hand."""
        device = self.one(device_id)
        if device.pk != self.device.pk and self.device.role != Member.Role.OWNER:
            raise NotYours
        form = told(serializers.DeviceChangeSerializer, request)
        services.name_device(device, form["name"])
        return self.answer(device)


class RevokeView(OneDeviceView):
    """A phone that was lost."""

    least_role: ClassVar[dict[str, str]] = least_role("device-revoke")

    @extend_schema(request=None, responses=serializers.DeviceSerializer)
    def post(self, request: Request, device_id: Any) -> Response:
        """Its token opens nothing from now on; what it sent stays, and what it holds stays on it."""
        device = self.one(device_id)
        services.revoke_device(device, now=clock.now())
        return self.answer(device)


class ReleaseView(OneDeviceView):
    """A lost phone that came back and is trusted again."""

    least_role: ClassVar[dict[str, str]] = least_role("device-release")

    @extend_schema(request=None, responses=serializers.DeviceSerializer)
    def post(self, request: Request, device_id: Any) -> Response:
        """What it sends from now on counts; what it sent stays set aside until it is decided."""
        device = self.one(device_id)
        services.release_device(device)
        return self.answer(device)


class PairingView(FarmView):
    """A code that lets one phone in."""

    least_role: ClassVar[dict[str, str]] = least_role("pairing")

    @extend_schema(
        request=serializers.PairingSerializer,
        responses={
            201: serializers.PairingAnswerSerializer,
            404: serializers.RefusalSerializer,
        },
    )
    def post(self, request: Request) -> Response:
        form = told(serializers.PairingSerializer, request)
        made = pairing.make_code(
            self.farm, form["member"], device_id=form.get("device"), now=clock.now()
        )
        base = os.environ.get("TUBERTRACK_APP_URL") or request.build_absolute_uri("/")
        text = f"{base}pair/{made.secret}"
        answer = {
            "code": made.code,
            "qr": text,
            "qr_svg": qr_svg(text),
            "expires_at": made.expires_at,
        }
        return Response(serializers.PairingAnswerSerializer(answer).data, status=201)


class PairView(CountedView):
    """A phone that has a code."""

    authentication_classes: ClassVar[list[Any]] = []
    permission_classes: ClassVar[list[Any]] = [AllowAny]

    @extend_schema(
        request=serializers.PairSerializer,
        responses={
            201: serializers.EnrolAnswerSerializer,
            429: serializers.TooManySerializer,
        },
        auth=[],
    )
    def post(self, request: Request) -> Response:
        """By the six digits on the owner's screen, or by the secret in the picture above them."""
        form = told(serializers.PairSerializer, request)
        code = "".join(form["code"].split())
        name, now = form["device_name"], clock.now()
        if code.isdigit():
            place = place_of(request._request)
            return enrolled(pairing.pair_by_digits(code, place=place, device_name=name, now=now))
        return enrolled(pairing.pair_by_secret(code, device_name=name, now=now))
