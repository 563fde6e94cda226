"""Two farms side by side: Ana's, where Gil, Ben and Vi work, and Cleo's, with the same codes.

Every fixture holds both, so that a query without its farm shows in any test.
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from typing import Any

from rest_framework.test import APIClient

from tubertrack.apps.accounts.models import Device, Farm, Member, User
from tubertrack.apps.accounts.secrets import new_token, token_hash
from tubertrack.apps.accounts.services import create_farm, enrol_device
from tubertrack.apps.records.services import Verdict, append

NOON = 1731578400000
"""2024-11-14 10:00 UTC in ms."""
DAY_MS = 86_400_000


@dataclass
class Phone:
    """A device with its token, which writes records as a phone does."""

    device: Device
    token: str
    written: int = 0

    def envelope(self, kind: str, body: dict[str, Any], **told: Any) -> dict[str, Any]:
        self.written += 1
        envelope = {
            "id": str(uuid.uuid4()),
            "farm": str(self.device.farm_id),
            "device": str(self.device.pk),
            "device_seq": self.written,
            "author": str(self.device.member_id),
            "kind": kind,
            "v": 1,
            "occurred_on": "2024-11-14",
            "recorded_at": NOON,
            "body": body,
        }
        if kind == "field_set":
            envelope["stamp"] = [NOON, self.written]
        return {**envelope, **told}

    def raw(self, kind: str, body: dict[str, Any], **told: Any) -> bytes:
        return json.dumps(self.envelope(kind, body, **told)).encode()

    def append(self, *raws: bytes, now: int = NOON) -> list[Verdict]:
        return append(self.device.farm_id, raws, device=self.device, now=now)

    @property
    def client(self) -> APIClient:
        client = APIClient()
        client.credentials(HTTP_AUTHORIZATION=f"Bearer {self.token}")
        return client

    def push(self, *raws: bytes | str) -> Any:
        records = [raw if isinstance(raw, str) else raw.decode() for raw in raws]
        told = {"app": "test", "protocol": 1, "device": str(self.device.pk), "records": records}
        return self.client.post(
            "/sync/v1/push", data=json.dumps(told), content_type="application/json"
        )

    def pull(self, after: str = "0", **params: Any) -> Any:
        return self.client.get("/sync/v1/pull", {"after": after, **params})


@dataclass
class TwoFarms:
    farm: Farm
    other: Farm
    phones: dict[str, Phone] = field(default_factory=dict)
    cleo: Phone = None  # type: ignore[assignment]  set below

    def __getattr__(self, role: str) -> Phone:
        try:
            return self.__dict__["phones"][role]
        except KeyError:
            raise AttributeError(role) from None


def phone_of(member: Member, sort: str = "phone") -> Phone:
    enrolled = enrol_device(member, name=f"{member.name}'s phone", sort=sort)
    return Phone(enrolled.device, enrolled.token)


def two_farms(**told: Any) -> TwoFarms:
    """Ana owns the farm, Gil grows, Ben helps, Vi looks on; Cleo owns the other one."""
    ana = User.objects.create(username="ana")
    cleo = User.objects.create(username="cleo")
    farm = create_farm(
        **{"name": "Tarrowby", "time_zone": "UTC", "owner": ana, "owner_name": "Ana", **told}
    )
    other = create_farm(name="Hill", time_zone="UTC", owner=cleo, owner_name="Cleo")
    for name, role in (("Gil", "grower"), ("Ben", "helper"), ("Vi", "viewer")):
        Member.objects.create(farm=farm, name=name, role=role)
    phones = {member.role: phone_of(member) for member in farm.members.all()}
    return TwoFarms(farm, other, phones, phone_of(other.members.get()))


def crate_id(n: int) -> str:
    return f"00000000-0000-4000-8000-0000000c{n:04d}"


def lot_id(n: int) -> str:
    return f"00000000-0000-4000-8000-0000000a{n:04d}"


def place_id(n: int) -> str:
    return f"00000000-0000-4000-8000-0000000b{n:04d}"


def found(n: int, count: int, crate: int, variety: str = "unknown") -> dict[str, Any]:
    return {
        "lot": lot_id(n),
        "variety": variety,
        "unit": "tuber",
        "count": count,
        "container": crate_id(crate),
    }


def packed(n: int, count: int, crate: int, **told: Any) -> dict[str, Any]:
    line = {"lot": lot_id(n), "count": count}
    return {"from": [line], "lots": [line], "crate": crate_id(crate), **told}


def farm_of_histories() -> dict[str, Phone]:
    """The farm that tests/histories.py writes about, with its people; its phones by device id."""
    from tests import histories

    farm = create_farm(name="Histories", time_zone="UTC", farm_id=histories.FARM)
    farm.members.all().delete()
    for pk, role in histories.ROLES.items():
        Member.objects.create(pk=pk, farm=farm, name=f"{role} {pk[-4:]}", role=role)
    farm.devices.all().delete()
    Device.objects.create(pk=histories.SERVER, farm=farm, name="Server", sort="server")
    owner = farm.members.get(pk=histories.MEMBERS[0])
    phones = {}
    for pk in histories.DEVICES:
        token = new_token()
        device = Device.objects.create(
            pk=pk, farm=farm, member=owner, name=pk[-4:], sort="phone", token_hash=token_hash(token)
        )
        phones[pk] = Phone(device, token)
    return phones
