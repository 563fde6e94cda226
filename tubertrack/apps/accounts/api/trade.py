"""Addresses of buyers, sales and prices: beside the record log, for owners and growers."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from tubertrack.apps.accounts import erasure, serializers, trade
from tubertrack.apps.accounts.api.answers import told
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.may import least_role
from tubertrack.apps.accounts.models import Buyer, Price, Sale


class BuyersView(FarmView):
    """Who buys from the farm."""

    least_role: ClassVar[dict[str, str]] = least_role("buyers")

    @extend_schema(responses=serializers.BuyerSerializer(many=True))
    def get(self, request: Request) -> Response:
        buyers = Buyer.objects.filter(farm=self.farm).order_by("name", "id")
        return Response(serializers.BuyerSerializer(buyers, many=True).data)

    @extend_schema(
        request=serializers.BuyerSerializer, responses={201: serializers.BuyerSerializer}
    )
    def post(self, request: Request) -> Response:
        form = told(serializers.BuyerSerializer, request)
        buyer = trade.write_buyer(self.farm, None, **form)
        return Response(serializers.BuyerSerializer(buyer).data, status=201)


class BuyerView(FarmView):
    """One buyer."""

    least_role: ClassVar[dict[str, str]] = least_role("buyer")

    @extend_schema(request=serializers.BuyerSerializer, responses=serializers.BuyerSerializer)
    def patch(self, request: Request, buyer_id: Any) -> Response:
        buyer = trade.buyer_of(self.farm, buyer_id)
        form = told(serializers.BuyerSerializer, request, partial=True)
        buyer = trade.write_buyer(self.farm, buyer, **form)
        return Response(serializers.BuyerSerializer(buyer).data)

    @extend_schema(responses={204: None})
    def delete(self, request: Request, buyer_id: Any) -> Response:
        """Erases the buyer for good; their sales stay, without a buyer.

        Not what was printed or exported before, nor names in notes of sales.
        """
        erasure.erase_buyer(trade.buyer_of(self.farm, buyer_id))
        return Response(status=204)


class SalesView(FarmView):
    """Buyers and prices of what entries say was sold or promised."""

    least_role: ClassVar[dict[str, str]] = least_role("sales")

    @extend_schema(responses=serializers.SaleSerializer(many=True))
    def get(self, request: Request) -> Response:
        sales = Sale.objects.filter(farm=self.farm).order_by("pk")
        return Response(serializers.SaleSerializer(sales, many=True).data)

    @extend_schema(
        request=serializers.SaleSerializer,
        responses={
            200: serializers.SaleSerializer,
            201: serializers.SaleSerializer,
            409: serializers.RefusalSerializer,
        },
    )
    def post(self, request: Request) -> Response:
        """201 the first time, 200 when the same comes again since the answer was lost."""
        form = told(serializers.SaleSerializer, request)
        sale, fresh = trade.write_sale(self.farm, None, **_sale(form))
        return Response(serializers.SaleSerializer(sale).data, status=201 if fresh else 200)


class SaleView(FarmView):
    """What stands beside the entries of one sale."""

    least_role: ClassVar[dict[str, str]] = least_role("sale")

    @extend_schema(request=serializers.SaleChangeSerializer, responses=serializers.SaleSerializer)
    def patch(self, request: Request, sale_id: Any) -> Response:
        sale = trade.sale_of(self.farm, sale_id)
        form = told(serializers.SaleChangeSerializer, request, partial=True)
        sale, _ = trade.write_sale(self.farm, sale, **_sale(form))
        return Response(serializers.SaleSerializer(sale).data)

    @extend_schema(responses={204: None})
    def delete(self, request: Request, sale_id: Any) -> Response:
        """Takes buyer and price away; the entries still say what went out."""
        trade.sale_of(self.farm, sale_id).delete()
        return Response(status=204)


def _sale(form: dict[str, Any]) -> dict[str, Any]:
    if "buyer_id" in form:
        form["buyer"] = form.pop("buyer_id")
    return form


class PricesView(FarmView):
    """The farm's own price list."""

    least_role: ClassVar[dict[str, str]] = least_role("prices")

    @extend_schema(responses=serializers.PriceSerializer(many=True))
    def get(self, request: Request) -> Response:
        prices = Price.objects.filter(farm=self.farm).order_by("unit", "currency", "id")
        return Response(serializers.PriceSerializer(prices, many=True).data)

    @extend_schema(
        request=serializers.PriceSerializer,
        responses={201: serializers.PriceSerializer, 409: serializers.RefusalSerializer},
    )
    def post(self, request: Request) -> Response:
        form = told(serializers.PriceSerializer, request)
        price = trade.write_price(self.farm, None, **form)
        return Response(serializers.PriceSerializer(price).data, status=201)


class PriceView(FarmView):
    """One line of the price list."""

    least_role: ClassVar[dict[str, str]] = least_role("price")

    @extend_schema(
        request=serializers.PriceSerializer,
        responses={200: serializers.PriceSerializer, 409: serializers.RefusalSerializer},
    )
    def patch(self, request: Request, price_id: Any) -> Response:
        price = trade.price_of(self.farm, price_id)
        form = told(serializers.PriceSerializer, request, partial=True)
        price = trade.write_price(self.farm, price, **form)
        return Response(serializers.PriceSerializer(price).data)

    @extend_schema(responses={204: None})
    def delete(self, request: Request, price_id: Any) -> Response:
        trade.price_of(self.farm, price_id).delete()
        return Response(status=204)
