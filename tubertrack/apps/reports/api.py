"""Addresses of the loss report: JSON, CSV and PDF, with the same figures in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from django.http import HttpResponse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.request import Request
from rest_framework.response import Response

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.paper.refusals import pdf_or_refusal
from tubertrack.apps.reports import selectors
from tubertrack.apps.reports.csv_table import report_csv
from tubertrack.apps.reports.presenting import report_json
from tubertrack.apps.reports.serializers import LossReportSerializer
from tubertrack.core.losses.filling_lines import Dimension
from tubertrack.core.losses.report import loss_report
from tubertrack.core.season import Season, winter_starts_on

PARAMETERS = [
    OpenApiParameter(
        "winter", str, description="As 2026/27; without it the newest with anything packed."
    ),
    OpenApiParameter(
        "by", str, enum=[one.value for one in Dimension], description="What the rows are."
    ),
]


@dataclass(frozen=True)
class _Asked:
    """What a request asks for, and the farm it is about."""

    farm: Farm
    season: Season
    as_of: date
    winter: str
    by: Dimension

    def report(self, *dimensions: Dimension) -> list[dict[str, Any]]:
        """The winter's report as JSON values, once for each dimension."""
        farm, season = self.farm, self.season
        lines = selectors.lines_of_winter(farm, self.winter, season, self.as_of)
        more = {"winters": selectors.winters_of(farm, season), "seq": farm.last_seq}
        return [
            report_json(loss_report(lines, winter=self.winter, by=by, as_of=self.as_of)) | more
            for by in dimensions
        ]

    def file_name(self, ending: str) -> str:
        """Name of a file to keep."""
        return f"losses-{self.winter.replace('/', '-')}-by-{self.by}.{ending}"


def _asked(request: Request, farm: Farm) -> _Asked:
    """Errors: ValidationError with a sentence for a winter or a grouping that cannot be."""
    by = request.query_params.get("by", Dimension.METHOD.value)
    known = [one.value for one in Dimension]
    if by not in known:
        raise ValidationError({"by": [f"A report goes by {', '.join(known)}, not by “{by[:40]}”."]})
    season, as_of = selectors.season_of(farm), selectors.today_of(farm, clock.now())
    winter = request.query_params.get("winter", "") or selectors.winter_now(farm, season, as_of)
    try:
        winter_starts_on(winter[:40], season)
    except ValueError as error:
        raise ValidationError({"winter": [str(error)]}) from error
    return _Asked(farm, season, as_of, winter, Dimension(by))


def _file(content: bytes, kind: str, name: str) -> HttpResponse:
    return HttpResponse(
        content,
        content_type=kind,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


class AsItIs(BaseContentNegotiation):
    """A file is sent as what it is, whatever the client would rather have; errors are JSON."""

    def select_parser(self, request: Request, parsers: Sequence[Any]) -> Any:
        return parsers[0]

    def select_renderer(
        self, request: Request, renderers: Sequence[Any], format_suffix: str | None = None
    ) -> Any:
        return renderers[0], renderers[0].media_type


class LossesView(FarmView):
    """What each storage method, variety, place or packing lost in a winter."""

    allowance = "reports"
    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(parameters=PARAMETERS, responses=LossReportSerializer)
    def get(self, request: Request) -> Response:
        asked = _asked(request, self.farm)
        return Response(asked.report(asked.by)[0])


class LossesCsvView(FarmView):
    """The tables of the report as CSV."""

    allowance = "reports"
    content_negotiation_class = AsItIs
    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(parameters=PARAMETERS, responses={(200, "text/csv"): OpenApiTypes.BINARY})
    def get(self, request: Request) -> HttpResponse:
        asked = _asked(request, self.farm)
        content = report_csv(asked.report(asked.by)[0])
        return _file(content, "text/csv; charset=utf-8", asked.file_name("csv"))


class LossesPdfView(FarmView):
    """The report to print: the opening, then by storage method and, where asked for, by another."""

    allowance = "pdf"
    content_negotiation_class = AsItIs
    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(parameters=PARAMETERS, responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    def get(self, request: Request) -> HttpResponse:
        from tubertrack.apps.reports.page import report_pdf

        asked = _asked(request, self.farm)
        parts = list(dict.fromkeys([Dimension.METHOD, asked.by]))
        if "by" not in request.query_params:
            parts = [Dimension.METHOD, Dimension.VARIETY, Dimension.PLACE]
        with pdf_or_refusal():
            content = report_pdf(
                asked.report(*parts),
                farm_name=self.farm.name,
                paper=selectors.paper_of(self.farm),
            )
        return _file(content, "application/pdf", asked.file_name("pdf"))
