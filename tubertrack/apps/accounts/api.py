"""Addresses by which people and devices get in."""

from __future__ import annotations

import os
from typing import Any, ClassVar

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.middleware.csrf import get_token
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_safe
from drf_spectacular.utils import extend_schema
from rest_framework.authentication import SessionAuthentication
from rest_framework.exceptions import NotFound
from rest_framework.permissions import AllowAny, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import SimpleRateThrottle
from rest_framework.views import APIView

from tubertrack.apps.accounts import clock, selectors, serializers, services
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.models import Device, Member
from tubertrack.apps.accounts.qr import qr_svg


def _told(serializer_class: type, request: Request) -> dict[str, Any]:
    form = serializer_class(data=request.data)
    form.is_valid(raise_exception=True)
    return dict(form.validated_data)


def _enrolled(enrolled: services.Enrolled) -> Response:
    answer = {"token": enrolled.token, **selectors.farm_answer(enrolled.device)}
    return Response(serializers.EnrolAnswerSerializer(answer).data, status=201)


@require_safe
@never_cache
@sensitive_variables("token")
def start(request: HttpRequest, token: str) -> HttpResponse:
    """The one-time link that the server prints on its own machine."""
    member = services.use_start_link(token, now=clock.now())
    if member is not None and member.user is not None:
        login(request, member.user, backend="django.contrib.auth.backends.ModelBackend")
        return HttpResponseRedirect("/")
    if request.user.is_authenticated:
        return HttpResponseRedirect("/")  # the page of a used link, loaded again
    return HttpResponse(
        "This link has been used or is too old. Start Winter Tally again on its own machine;"
        " it prints a new one.",
        status=410,
        content_type="text/plain; charset=utf-8",
    )


class SessionView(APIView):
    """Who this browser is signed in as."""

    authentication_classes: ClassVar[list[Any]] = [SessionAuthentication]
    permission_classes: ClassVar[list[Any]] = [AllowAny]

    @extend_schema(responses=serializers.SessionSerializer)
    def get(self, request: Request) -> Response:
        user = request.user
        signed_in = bool(user.is_authenticated)
        told = {
            "signed_in": signed_in,
            "name": user.get_username() if signed_in else "",
            "csrf": get_token(request),
            "farms": selectors.own_farms(user) if signed_in else [],
        }
        return Response(serializers.SessionSerializer(told).data)


class OwnerSession(APIView):
    """A view for somebody who is signed in by session, with Django's CSRF check."""

    authentication_classes: ClassVar[list[Any]] = [SessionAuthentication]
    permission_classes: ClassVar[list[Any]] = [IsAuthenticated]


class FarmsView(OwnerSession):
    """New farms."""

    @extend_schema(
        request=serializers.NewFarmSerializer, responses={201: serializers.EnrolAnswerSerializer}
    )
    def post(self, request: Request) -> Response:
        """A new empty farm of the signed-in owner, with this browser as its first device."""
        told = _told(serializers.NewFarmSerializer, request)
        known = Member.objects.filter(user=request.user).order_by("farm__created_at").first()
        farm = services.create_farm(
            name=told["name"],
            time_zone=told["time_zone"],
            owner=request.user,
            owner_name=known.name if known else request.user.get_username(),
        )
        return _enrolled(
            services.enrol_device(
                farm.members.get(), name=told["device_name"], sort=Device.Sort.BROWSER
            )
        )


class DevicesView(FarmView):
    """The devices of the farm, for a device; and the way in for the browser of a signed-in owner."""

    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    def get_authenticators(self) -> list[Any]:
        return [SessionAuthentication()] if self._enrols() else super().get_authenticators()

    def get_permissions(self) -> list[Any]:
        return [IsAuthenticated()] if self._enrols() else super().get_permissions()

    def _enrols(self) -> bool:
        request = getattr(self, "request", None)
        return request is not None and request.method == "POST"

    @extend_schema(responses=serializers.DeviceSerializer(many=True), auth=[{"deviceToken": []}])
    def get(self, request: Request) -> Response:
        devices = Device.objects.filter(farm=self.farm).select_related("member")
        return Response(
            serializers.DeviceSerializer(devices.order_by("created_at", "id"), many=True).data
        )

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
        told = _told(serializers.EnrolSerializer, request)
        member = (
            Member.objects.select_related("farm")
            .filter(user=request.user, farm=told["farm"], active=True)
            .first()
        )
        if member is None:
            raise NotFound
        services.settle_time_zone(member.farm, told.get("time_zone", ""))
        return _enrolled(services.enrol_device(member, name=told["name"], sort=told["sort"]))


class RevokeView(FarmView):
    """A phone that was lost."""

    least_role: ClassVar[dict[str, str]] = {"POST": "owner"}

    @extend_schema(request=None, responses=serializers.DeviceSerializer)
    def post(self, request: Request, device_id: str) -> Response:
        device = Device.objects.filter(farm=self.farm, pk=device_id).exclude(sort="server").first()
        if device is None:
            raise NotFound
        services.revoke_device(device, now=clock.now())
        return Response(serializers.DeviceSerializer(device).data)


class PairingView(FarmView):
    """A code that lets one phone in."""

    least_role: ClassVar[dict[str, str]] = {"POST": "owner"}

    @extend_schema(
        request=serializers.PairingSerializer,
        responses={
            201: serializers.PairingAnswerSerializer,
            404: serializers.RefusalSerializer,
        },
    )
    def post(self, request: Request) -> Response:
        told = _told(serializers.PairingSerializer, request)
        member = Member.objects.filter(farm=self.farm, pk=told["member"], active=True).first()
        device = None
        if member is not None and "device" in told:
            device = Device.objects.filter(
                farm=self.farm, member=member, pk=told["device"], revoked_at__isnull=False
            ).first()
        if member is None or ("device" in told and device is None):
            raise NotFound
        code, kept = services.make_pairing_code(member, now=clock.now(), device=device)
        base = os.environ.get("TUBERTRACK_APP_URL") or request.build_absolute_uri("/")
        text = f"{base}pair/{code}"
        answer = {"code": code, "qr": text, "qr_svg": qr_svg(text), "expires_at": kept.expires_at}
        return Response(serializers.PairingAnswerSerializer(answer).data, status=201)


class PairingThrottle(SimpleRateThrottle):
    """Ten tries a minute from one address, beside the count of tries kept with each code."""

    scope = "pair"
    rate = "10/min"

    def get_cache_key(self, request: Request, view: APIView) -> str:
        return f"pair:{self.get_ident(request)}"


class PairView(APIView):
    """A phone that has a code."""

    authentication_classes: ClassVar[list[Any]] = []
    permission_classes: ClassVar[list[Any]] = [AllowAny]
    throttle_classes: ClassVar[list[Any]] = [PairingThrottle]

    @extend_schema(
        request=serializers.PairSerializer,
        responses={
            201: serializers.EnrolAnswerSerializer,
            429: serializers.RefusalSerializer,
        },
        auth=[],
    )
    def post(self, request: Request) -> Response:
        told = _told(serializers.PairSerializer, request)
        code = "".join(told["code"].split())
        return _enrolled(services.pair(code, device_name=told["device_name"], now=clock.now()))


class FarmAnswerView(FarmView):
    """The farm of this device."""

    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(responses=serializers.FarmAnswerSerializer)
    def get(self, request: Request) -> Response:
        return Response(serializers.FarmAnswerSerializer(selectors.farm_answer(self.device)).data)


class MembersView(FarmView):
    """The people of the farm."""

    least_role: ClassVar[dict[str, str]] = {"GET": "viewer", "POST": "owner"}

    @extend_schema(responses=serializers.MemberSerializer(many=True))
    def get(self, request: Request) -> Response:
        members = Member.objects.filter(farm=self.farm).order_by("name", "id")
        return Response(serializers.MemberSerializer(members, many=True).data)

    @extend_schema(
        request=serializers.NewMemberSerializer, responses={201: serializers.MemberSerializer}
    )
    def post(self, request: Request) -> Response:
        told = _told(serializers.NewMemberSerializer, request)
        member = Member.objects.create(farm=self.farm, **told)
        return Response(serializers.MemberSerializer(member).data, status=201)


class MemberView(FarmView):
    """One person of the farm."""

    least_role: ClassVar[dict[str, str]] = {"PATCH": "owner"}

    @extend_schema(
        request=serializers.MemberChangeSerializer,
        responses={200: serializers.MemberSerializer, 409: serializers.RefusalSerializer},
    )
    def patch(self, request: Request, member_id: str) -> Response:
        told = _told(serializers.MemberChangeSerializer, request)
        member = services.change_member(self.farm, member_id, **told)
        return Response(serializers.MemberSerializer(member).data)
