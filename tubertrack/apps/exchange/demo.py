"""Brings the invented farm in, through the same door as every other record."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import date
from itertools import islice

from django.db import transaction

from fixtures_demo.stall import CURRENCY, ONLOOKER, Stall, stall_of
from fixtures_demo.tarrowby import AS_OF, FARM_NAME, SEED, TIME_ZONE, Story, tarrowby
from tubertrack.apps.accounts.models import Buyer, Device, Farm, Member, Price, Sale, User
from tubertrack.apps.accounts.services import create_farm
from tubertrack.apps.records.services import append


@transaction.atomic
def load_demo(*, as_of: date = AS_OF, seed: int = SEED, owner: User | None = None) -> Farm:
    """A new demo farm that stands at `as_of`, with its people, phones and three winters."""
    farm_id = uuid.uuid4()
    story = tarrowby(as_of=as_of, seed=seed, farm=str(farm_id))
    farm = create_farm(name=FARM_NAME, time_zone=TIME_ZONE, farm_id=farm_id)
    _let_people_in(farm, story, owner)
    devices = {str(device.pk): device for device in farm.devices.all()}
    for device, received_at, records in _large_pushes(story):
        append(farm.pk, records, device=devices[device], now=received_at)
    _set_up_stall(farm, stall_of(story))
    farm.refresh_from_db()
    return farm


def _let_people_in(farm: Farm, story: Story, owner: User | None) -> None:
    farm.members.all().delete()
    for person in story.people:
        is_owner = person.role == Member.Role.OWNER
        member = Member.objects.create(
            id=person.member,
            farm=farm,
            name=person.name,
            role=person.role,
            user=owner if is_owner else None,
        )
        Device.objects.create(
            id=person.device, farm=farm, member=member, name=person.phone, sort=Device.Sort.PHONE
        )


def _set_up_stall(farm: Farm, stall: Stall) -> None:
    """What is kept beside the log: buyers, sales, prices, and who only looks on."""
    Member.objects.create(id=stall.onlooker, farm=farm, name=ONLOOKER, role=Member.Role.VIEWER)
    Buyer.objects.bulk_create(
        Buyer(id=one.id, farm=farm, name=one.name, contact=one.contact, note=one.note)
        for one in stall.buyers
    )
    Sale.objects.bulk_create(
        Sale(
            uid=one.id,
            farm=farm,
            buyer_id=one.buyer,
            price_minor=one.price_minor,
            currency="" if one.price_minor is None else CURRENCY,
            note=one.note,
        )
        for one in stall.sales
    )
    Price.objects.bulk_create(
        Price(
            farm=farm,
            variety=one.variety,
            unit=one.unit,
            price_minor=one.price_minor,
            currency=CURRENCY,
        )
        for one in stall.prices
    )


def _large_pushes(story: Story) -> Iterator[tuple[str, int, list[bytes]]]:
    for device, received_at, records in story.scribe.pushes():
        rest = iter(records)
        while batch := list(islice(rest, 200)):
            yield device, received_at, batch
