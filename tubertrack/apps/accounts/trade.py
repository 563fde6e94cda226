"""Buyers, sales and the farm's prices: off the record log, so that they can be changed and erased.

Entries carry the id of a sale and nothing else of it.
"""

from __future__ import annotations

from typing import Any

from django.db import IntegrityError, transaction
from rest_framework.exceptions import APIException, NotFound, ValidationError

from tubertrack.apps.accounts.models import Buyer, Farm, Price, Sale

MOST_MINOR = 2**53 - 1
"""The largest whole number that JavaScript holds exactly (ECMA-262, Number.MAX_SAFE_INTEGER)."""


class SaleThere(APIException):
    """Two people wrote beside the same sale."""

    status_code = 409
    default_code = "sale_there"
    default_detail = (
        "Somebody has written a price or buyer beside this sale. Load it, then change it."
    )


class PriceThere(APIException):
    """A list with two prices for one thing says nothing."""

    status_code = 409
    default_code = "price_there"
    default_detail = "The list has a price for this in that currency already. Change that one."


def buyer_of(farm: Farm, buyer_id: Any) -> Buyer:
    return _one(Buyer.objects.filter(farm=farm, pk=buyer_id))


def sale_of(farm: Farm, uid: Any) -> Sale:
    return _one(Sale.objects.filter(farm=farm, uid=uid))


def price_of(farm: Farm, price_id: Any) -> Price:
    return _one(Price.objects.filter(farm=farm, pk=price_id))


def _one(rows: Any) -> Any:
    found = rows.first()
    if found is None:
        raise NotFound
    return found


def write_buyer(farm: Farm, buyer: Buyer | None, **told: Any) -> Buyer:
    """A new buyer, or this one changed."""
    kept = buyer or Buyer(farm=farm)
    _take(kept, told)
    kept.save()
    return kept


@transaction.atomic
def write_sale(farm: Farm, sale: Sale | None, **told: Any) -> tuple[Sale, bool]:
    """(sale, fresh): what stands beside the entries of a sale.

    A new one that is there already with the same words is that one: its answer was lost. With
    other words SaleThere. ValidationError for a buyer whom this farm does not know, and for a price
    without a currency.
    """
    Farm.objects.select_for_update().get(pk=farm.pk)
    if told.get("buyer") is not None:
        told["buyer"] = _own_buyer(farm, told["buyer"])
    known = None if sale else Sale.objects.filter(farm=farm, uid=told["uid"]).first()
    kept = sale or Sale(farm=farm)
    _take(kept, told)
    if kept.price_minor is not None and not kept.currency:
        raise ValidationError({"currency": ["Say which currency the price is in, such as EUR."]})
    if known is not None:
        if _words(known) != _words(kept):
            raise SaleThere
        return known, False
    kept.save()
    return kept, sale is None


def _words(sale: Sale) -> tuple[Any, ...]:
    return sale.buyer_id, sale.price_minor, sale.currency, sale.note


def _own_buyer(farm: Farm, buyer_id: Any) -> Buyer:
    found = Buyer.objects.filter(farm=farm, pk=buyer_id).first()
    if found is None:
        raise ValidationError({"buyer": ["This buyer is not in the farm's list, or was erased."]})
    return found


def write_price(farm: Farm, price: Price | None, **told: Any) -> Price:
    """A new line of the list, or this one changed; PriceThere for a second one of the same thing."""
    kept = price or Price(farm=farm)
    _take(kept, told)
    try:
        with transaction.atomic():
            kept.save()
    except IntegrityError as refused:
        raise PriceThere from refused
    return kept


def _take(row: Any, told: dict[str, Any]) -> None:
    for name, value in told.items():
        setattr(row, name, value)
