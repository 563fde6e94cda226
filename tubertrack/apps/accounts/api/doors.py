"""Addresses by which people get in at a screen: links, names and passwords, sessions."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, ClassVar

from django.contrib.auth import login, logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.middleware.csrf import get_token
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_safe
from drf_spectacular.utils import extend_schema
from rest_framework.permissions import AllowAny, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from tubertrack.apps.accounts import clock, passwords, selectors, serializers, services
from tubertrack.apps.accounts.api.answers import CountedView, enrolled, told
from tubertrack.apps.accounts.auth import PageSession
from tubertrack.apps.accounts.models import Device, Member, User

CAME_BY_LINK = "came_by_link_ms"
"""In a session: when its start link was used."""


def _open_session(request: HttpRequest, user: User) -> None:
    """A session with a fresh key, so that one that was planted before opens nothing."""
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")


def _proved_by_link(request: Request) -> bool:
    used_ms = request.session.get(CAME_BY_LINK)
    if not isinstance(used_ms, int):
        return False
    past = timedelta(milliseconds=clock.in_ms(clock.now()) - used_ms)
    return timedelta(0) <= past < passwords.LINK_STANDS_FOR_PASSWORD


def _session_answer(request: Request) -> Response:
    user = request._request.user  # signing in and out change it below rest_framework
    needed = bool(user.is_authenticated) and user.has_password
    answer = selectors.session_told(
        user, old_password_needed=needed and not _proved_by_link(request)
    )
    answer["csrf"] = get_token(request)
    return Response(serializers.SessionSerializer(answer).data)


@require_safe
@never_cache
@sensitive_variables("token")
def start(request: HttpRequest, token: str) -> HttpResponse:
    """The one-time link that the server prints on its own machine."""
    member = services.use_start_link(token, now=clock.now())
    if member is not None and member.user is not None:
        _open_session(request, member.user)
        request.session[CAME_BY_LINK] = clock.in_ms(clock.now())
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

    authentication_classes: ClassVar[list[Any]] = [PageSession]
    permission_classes: ClassVar[list[Any]] = [AllowAny]

    @extend_schema(responses=serializers.SessionSerializer)
    def get(self, request: Request) -> Response:
        return _session_answer(request)


class SignInView(CountedView):
    """An owner with name and password."""

    authentication_classes: ClassVar[list[Any]] = [PageSession]
    permission_classes: ClassVar[list[Any]] = [AllowAny]

    @extend_schema(
        request=serializers.SignInSerializer,
        responses={200: serializers.SessionSerializer, 429: serializers.TooManySerializer},
    )
    def post(self, request: Request) -> Response:
        """Opens a session in this browser. Needs the csrf text of GET /api/session/."""
        form = told(serializers.SignInSerializer, request)
        user = passwords.sign_in(request._request, now=clock.now(), **form)
        _open_session(request._request, user)
        return _session_answer(request)


class OwnerSession(CountedView):
    """A view for somebody who is signed in by session, with Django's CSRF check."""

    authentication_classes: ClassVar[list[Any]] = [PageSession]
    permission_classes: ClassVar[list[Any]] = [IsAuthenticated]


class SignOutView(OwnerSession):
    """The end of a session; devices stay signed in."""

    @extend_schema(request=None, responses=serializers.SessionSerializer)
    def post(self, request: Request) -> Response:
        logout(request._request)
        return _session_answer(request)


class PasswordView(OwnerSession):
    """The first password, or another one."""

    @extend_schema(
        request=serializers.PasswordSerializer,
        responses={
            200: serializers.SessionSerializer,
            409: serializers.RefusalSerializer,
            429: serializers.TooManySerializer,
        },
    )
    def post(self, request: Request) -> Response:
        """Every other session of this person ends."""
        form = told(serializers.PasswordSerializer, request)
        user = passwords.choose_password(
            request.user,
            new_password=form["new_password"],
            old_password=form.get("old_password", ""),
            name=form.get("name", ""),
            proved_by_link=_proved_by_link(request),
            now=clock.now(),
        )
        update_session_auth_hash(request._request, user)
        request._request.user = user
        request.session.pop(CAME_BY_LINK, None)
        return _session_answer(request)


class FarmsView(OwnerSession):
    """New farms."""

    @extend_schema(
        request=serializers.NewFarmSerializer, responses={201: serializers.EnrolAnswerSerializer}
    )
    def post(self, request: Request) -> Response:
        """A new empty farm of the signed-in owner, with this browser as its first device."""
        form = told(serializers.NewFarmSerializer, request)
        known = Member.objects.filter(user=request.user).order_by("farm__created_at").first()
        farm = services.create_farm(
            name=form["name"],
            time_zone=form["time_zone"],
            owner=request.user,
            owner_name=known.name if known else request.user.get_username(),
        )
        return enrolled(
            services.enrol_device(
                farm.members.get(), name=form["device_name"], sort=Device.Sort.BROWSER
            )
        )
