"""What is known of people and devices, as it is handed out."""

from __future__ import annotations

from typing import Any

from tubertrack.apps.accounts.models import Device, Member, User


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
