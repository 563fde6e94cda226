"""Addresses of labels: sizes, new codes, sheets as PDF, the calibration page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.conf import settings
from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.negotiation import BaseContentNegotiation, DefaultContentNegotiation
from rest_framework.request import Request
from rest_framework.response import Response

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.labels import selectors, serializers, services
from tubertrack.apps.labels.calibration import render_calibration
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.layout import Placement
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.labels.stock import STOCKS
from tubertrack.apps.paper.refusals import pdf_or_refusal

_PDF: dict[Any, Any] = {(200, "application/pdf"): OpenApiTypes.BINARY}
_LABELS_OF = {
    "crate": selectors.crate_labels,
    "lot": selectors.lot_labels,
    "blank": selectors.blank_labels,
}


class AnswersAnyAccept(BaseContentNegotiation):
    """Whoever asks for application/pdf alone gets it, and a refusal as JSON."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        return DefaultContentNegotiation().select_parser(request, parsers)

    def select_renderer(self, request: Request, renderers: Any, format_suffix: Any = None) -> Any:
        return renderers[0], renderers[0].media_type


class StocksView(FarmView):
    """The sizes of labels that can be printed."""

    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(responses=serializers.StockSerializer(many=True))
    def get(self, request: Request) -> Response:
        return Response([serializers.stock_answer(stock) for stock in STOCKS.values()])


class BlanksView(FarmView):
    """New codes."""

    least_role: ClassVar[dict[str, str]] = {"POST": "helper"}

    @extend_schema(
        request=serializers.BlanksSerializer, responses={201: serializers.CodesSerializer}
    )
    def post(self, request: Request) -> Response:
        """Codes that this farm has never had: to print ahead, or to give to crates."""
        form = serializers.BlanksSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        codes = services.issue_codes(self.farm, form.validated_data["count"], now=clock.now())
        return Response({"codes": codes}, status=201)


class LabelsPdfView(FarmView):
    """Sheets of labels."""

    allowance = "pdf"
    content_negotiation_class = AnswersAnyAccept
    least_role: ClassVar[dict[str, str]] = {"POST": "helper"}

    @extend_schema(request=serializers.LabelsSerializer, responses=_PDF)
    def post(self, request: Request) -> HttpResponse:
        """The labels of these things, in this order, as a PDF at exact size."""
        form = serializers.LabelsSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        told = form.validated_data
        labels = [label for label in self._labels(told) for _ in range(told["copies"])]

        def made() -> bytes:
            return render_labels(
                labels,
                STOCKS[told["stock"]],
                start_at=told["start_at"],
                offset_x_mm=told["offset_x_mm"],
                offset_y_mm=told["offset_y_mm"],
                pitch_x_mm=told["pitch_x_mm"],
                pitch_y_mm=told["pitch_y_mm"],
                cut_marks=told["cut_marks"],
                fonts=services.label_fonts(),
            )

        day = selectors.farm_day(self.farm, clock.now())
        return _pdf(made, f"labels-{day}.pdf")

    def _labels(self, told: dict[str, Any]) -> list[LabelData]:
        targets = list(told["targets"])
        try:
            labels = _LABELS_OF[told["kind"]](self.farm, targets, settings.LABEL_HOST)
        except selectors.TargetsMissing as missing:
            raise ValidationError({"targets": missing.sentences[:20]}) from missing
        if told["blanks"]:
            codes = services.issue_codes(self.farm, told["blanks"], now=clock.now())
            labels += selectors.blank_labels(self.farm, codes, settings.LABEL_HOST)
        return labels


class CalibrationView(FarmView):
    """The page that shows where a printer puts things."""

    allowance = "pdf"
    content_negotiation_class = AnswersAnyAccept
    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(parameters=[serializers.PlacementSerializer], responses=_PDF)
    def get(self, request: Request) -> HttpResponse:
        form = serializers.PlacementSerializer(data=request.query_params)
        form.is_valid(raise_exception=True)
        told = dict(form.validated_data)
        stock = STOCKS[told.pop("stock")]
        return _pdf(
            lambda: render_calibration(stock, Placement(**told), services.label_fonts()),
            f"calibration-{stock.key}.pdf",
        )


def _pdf(made: Callable[[], bytes], name: str) -> HttpResponse:
    with pdf_or_refusal():
        content = made()
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'attachment; filename="{name}"',
            "Cache-Control": "no-store",
        },
    )
