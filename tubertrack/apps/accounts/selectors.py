"""What is known of people and devices, as it is handed out."""

from __future__ import annotations

from typing import Any

from tubertrack.apps.accounts import deliveries
from tubertrack.apps.accounts.models import Device, Farm, Member, User


def farm_answer(device: Device) -> dict[str, Any]:
    """The device, its member, its farm, and the farm's people by name."""
    return {
        "device": device,
        "member": device.member,
        "farm": device.farm,
        "members": Member.objects.filter(farm=device.farm).order_by("name", "id"),
    }


def own_farms(user: User) -> list[dict[str, Any]]:
    """The farms that this user is a member of, the oldest first."""
    members = Member.objects.filter(user=user, active=True).select_related("farm")
    return [
        {"id": member.farm_id, "name": member.farm.name, "role": member.role}
        for member in members.order_by("farm__created_at", "farm_id")
    ]


def devices_told(farm: Farm, device: Device | None = None) -> list[dict[str, Any]]:
    """The devices of the farm, the oldest first, or this one: who, when heard, what is only there."""
    devices = Device.objects.filter(farm=farm).select_related("member")
    if device is not None:
        devices = devices.filter(pk=device.pk)
    delivered = deliveries.of_farm(farm, str(device.pk) if device else None)
    return [
        {"device": one, "delivered": delivered.get(str(one.pk), deliveries.Delivered())}
        for one in devices.order_by("created_at", "id")
    ]


def session_told(user: Any, *, old_password_needed: bool) -> dict[str, Any]:
    """Who is signed in by a browser's cookie, without the token for its writes."""
    signed_in = bool(user.is_authenticated)
    return {
        "signed_in": signed_in,
        "name": user.get_username() if signed_in else "",
        "has_password": signed_in and user.has_password,
        "old_password_needed": signed_in and old_password_needed,
        "farms": own_farms(user) if signed_in else [],
    }


def people_told(farm: Farm) -> dict[str, Any]:
    """What a farm keeps of people beside its entries, to be handed to whoever asks for it."""
    members = farm.members.select_related("user").order_by("name", "id")
    return {
        "farm": {"id": str(farm.pk), "name": farm.name},
        "members": [
            {
                "id": str(one.pk),
                "name": one.name,
                "role": one.role,
                "active": one.active,
                "erased": one.erased,
                "sign_in_name": one.user.get_username() if one.user else "",
                "email": one.user.email if one.user else "",
                "devices": [
                    {"id": str(phone.pk), "name": phone.name, "last_heard_at": phone.last_heard_at}
                    for phone in one.devices.order_by("created_at", "id")
                ],
            }
            for one in members.prefetch_related("devices")
        ],
        "buyers": list(farm.buyers.order_by("name", "id").values("id", "name", "contact", "note")),
        "sales": [
            {
                "id": str(one.uid),
                "buyer": str(one.buyer_id) if one.buyer_id else None,
                "price_minor": one.price_minor,
                "currency": one.currency,
                "note": one.note,
            }
            for one in farm.sales.order_by("pk")
        ],
        "prices": list(
            farm.prices.order_by("pk").values("id", "variety", "unit", "price_minor", "currency")
        ),
    }
