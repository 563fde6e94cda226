"""Who is asking: a device by its token, and what its member may do."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import (
    BaseAuthentication,
    SessionAuthentication,
    get_authorization_header,
)
from rest_framework.exceptions import APIException, AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request
from rest_framework.views import APIView

from tubertrack.apps.accounts.models import Device, Farm, Member
from tubertrack.apps.accounts.rates import DeviceRate
from tubertrack.apps.accounts.secrets import token_hash
from tubertrack.core.stock.kinds import roles


class SignedOut(AuthenticationFailed):
    """The token is none of ours any more; the device keeps all it holds."""

    default_code = "not_signed_in"
    default_detail = (
        "This device is not signed in any more. Nothing on it is lost: sign in again with a code"
        " from the owner, and it goes on where it was."
    )


class NotYours(APIException):
    """The member's role is too small for this."""

    status_code = 403
    default_code = "not_permitted"
    default_detail = "Your role on this farm does not allow this. Ask the owner."


def device_under_lock(device: Device) -> Device:
    """The device as it stands now, its farm locked until the transaction ends.

    For what a device writes: it may have been revoked, released or given to another role since the
    request began. SignedOut when it may not speak any more.
    """
    Farm.objects.select_for_update().get(pk=device.farm_id)
    devices = Device.objects.select_related("member", "farm")
    found = devices.filter(pk=device.pk, revoked_at=None, token_hash=device.token_hash).first()
    if found is None or found.member is None or not found.member.active:
        raise SignedOut
    return found


class DeviceToken(BaseAuthentication):
    """`Authorization: Bearer <token>`: request.user is the member, request.auth the device."""

    def authenticate(self, request: Request) -> tuple[Member, Device] | None:
        parts = get_authorization_header(request).split()
        if not parts or parts[0].lower() != b"bearer":
            return None
        if len(parts) != 2:
            raise SignedOut
        device = (
            Device.objects.select_related("member", "farm")
            .filter(
                token_hash=token_hash(parts[1].decode("latin-1")),
                revoked_at=None,
                member__active=True,
            )
            .first()
        )
        if device is None or device.member is None:
            raise SignedOut
        return device.member, device

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"


class DeviceTokenScheme(OpenApiAuthenticationExtension):
    target_class = DeviceToken
    name = "deviceToken"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer"}


class PageSession(SessionAuthentication):
    """Django's session, and its CSRF check also before anybody is signed in.

    Else a page elsewhere could sign a browser in as somebody else (login CSRF), who then reads what
    is written there.
    """

    def authenticate(self, request: Request) -> tuple[Any, None] | None:
        if request.method not in ("GET", "HEAD", "OPTIONS"):
            self.enforce_csrf(request)
        return super().authenticate(request)


class PageSessionScheme(OpenApiAuthenticationExtension):
    target_class = PageSession
    name = "cookieAuth"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


class MayByRole(BasePermission):
    """A view's `least_role` by method decides; a method without a row is nobody's."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        if not isinstance(request.auth, Device):
            return False
        if request.method in (None, "OPTIONS"):
            return True
        method = "GET" if request.method == "HEAD" else str(request.method)
        least = getattr(view, "least_role", {}).get(method)
        if least is None:
            return method not in view.allowed_methods  # the view itself answers 405
        if roles().index(request.auth.role) < roles().index(least):
            raise NotYours
        return True


class FarmView(APIView):
    """A view behind the farm wall: only devices, only rows of `self.farm`."""

    authentication_classes: ClassVar[list[Any]] = [DeviceToken]
    permission_classes: ClassVar[list[Any]] = [MayByRole]
    throttle_classes: ClassVar[list[Any]] = [DeviceRate]
    allowance = "pages"
    least_role: ClassVar[dict[str, str]] = {}

    @property
    def device(self) -> Device:
        return self.request.auth

    @property
    def farm(self) -> Farm:
        return self.request.auth.farm
