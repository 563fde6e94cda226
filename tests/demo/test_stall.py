"""Buyers, sales and prices of the demo farm fit the story that its entries tell."""

from __future__ import annotations

import json

import pytest

from fixtures_demo.stall import OWN_PRICES, PER_TUBER, stall_of
from fixtures_demo.tarrowby import tarrowby
from tests.demo.test_story import FARM, folded
from tubertrack.apps.accounts.models import Buyer, Member, Price, Sale
from tubertrack.apps.exchange.demo import load_demo
from tubertrack.apps.records.models import Record

STORY = tarrowby(farm=FARM)


def test_every_sale_costs_what_the_list_says_of_what_the_fold_says_was_sold() -> None:
    names = {row: name for name, row in STORY.varieties.items()}
    fold = folded(STORY)
    price_of = {}
    for act in fold.acts.values():
        if act.kind == "gone_out" and "sale" in act.body:
            variety = names[fold.tables["lots"][act.body["lot"]]["variety"]]
            each = OWN_PRICES.get(variety, PER_TUBER)
            price_of[act.body["sale"]] = each * act.body["count"]
    sales = {one.id: one.price_minor for one in stall_of(STORY).sales if one.price_minor}
    assert price_of == sales
    assert len(sales) > 20


def test_the_same_farm_has_the_same_stall() -> None:
    assert stall_of(STORY) == stall_of(tarrowby(farm=FARM))


@pytest.mark.django_db
def test_the_stall_stands_beside_the_log() -> None:
    farm = load_demo()
    assert (3, 26, 5) == tuple(model.objects.count() for model in (Buyer, Sale, Price))
    assert {farm.pk} == set(Sale.objects.values_list("buyer__farm", flat=True))
    assert ["viewer"] == [one.role for one in Member.objects.filter(devices=None)]
    ids = {str(one) for one in Sale.objects.values_list("uid", flat=True)}
    bodies = [
        json.loads(bytes(raw))["body"] for raw in Record.objects.values_list("raw", flat=True)
    ]
    named = {body.get("sale") or body.get("order") for body in bodies} - {None}
    assert ids == named
    log = b"".join(bytes(raw) for raw in Record.objects.values_list("raw", flat=True))
    assert not [
        name for name in Buyer.objects.values_list("name", flat=True) if name.encode() in log
    ]
