"""Addresses of the farm's stock: lists to read, and the door for scripts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any, ClassVar

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.mixins import ListModelMixin, RetrieveModelMixin
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.serializers import RefusalSerializer
from tubertrack.apps.records import filters, models, scripts, selectors, serializers
from tubertrack.apps.records.undelivered import undelivered


class Pages(PageNumberPagination):
    """`page` and `page_size` (at most 500)."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 500


class Rows(FarmView, ListModelMixin, RetrieveModelMixin, GenericViewSet):  # type: ignore[type-arg]
    """A list of the farm's rows, and one of them by its id."""

    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}
    pagination_class = Pages
    lookup_field = "uid"
    lookup_url_kwarg = "id"
    lookup_value_regex = "[^/]+"
    ordering: ClassVar[list[str]] = ["uid"]
    ordering_fields: Any = ()
    queryset: QuerySet[Any]

    def get_queryset(self) -> QuerySet[Any]:
        return super().get_queryset().filter(farm=self.farm)

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        """Ordered in full, so that pages never overlap."""
        rows = super().filter_queryset(queryset)
        return rows.order_by(*rows.query.order_by, self.lookup_field)

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        """What the rows of one page need to know of other tables: asked once for all."""
        return {}

    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        page = self.paginate_queryset(self.filter_queryset(self.get_queryset())) or []
        context = {**self.get_serializer_context(), **self.lookups(page)}
        form = self.get_serializer_class()
        return self.get_paginated_response(form(page, many=True, context=context).data)

    def retrieve(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        row = self.get_object()
        context = {**self.get_serializer_context(), **self.lookups([row])}
        return Response(self.get_serializer_class()(row, context=context).data)


class VarietyRows(Rows):
    queryset = models.Variety.objects.all()
    serializer_class = serializers.VarietySerializer
    filterset_class = filters.VarietyFilters
    ordering_fields = ("name", "form", "size")
    ordering: ClassVar[list[str]] = ["name"]


class PlaceRows(Rows):
    queryset = models.Place.objects.all()
    serializer_class = serializers.PlaceSerializer
    filterset_class = filters.PlaceFilters
    ordering_fields = ("name", "sort")
    ordering: ClassVar[list[str]] = ["name"]


class MethodRows(Rows):
    queryset = models.Method.objects.all()
    serializer_class = serializers.MethodSerializer
    filterset_class = filters.MethodFilters
    ordering_fields = ("name", "packing")
    ordering: ClassVar[list[str]] = ["name"]


class CrateRows(Rows):
    queryset = models.Crate.objects.all()
    serializer_class = serializers.CrateSerializer
    filterset_class = filters.CrateFilters
    ordering_fields = ("number", "place", "position", "packed_on", "looked_on", "due_on")
    ordering: ClassVar[list[str]] = ["number"]

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        lots = selectors.lots_by_crate(self.farm, (row.uid for row in rows))
        inside = [lot.variety for one in lots.values() for lot in one]
        return {"lots": lots, "varieties": selectors.variety_names(self.farm, inside)}


@extend_schema_view(retrieve=extend_schema(responses=serializers.LotDetailSerializer))
class LotRows(Rows):
    queryset = models.Lot.objects.select_related("farm")
    filterset_class = filters.LotFilters
    serializer_class = serializers.LotSerializer
    ordering_fields = ("variety", "balance", "born_on", "packed_on", "looked_on")
    ordering: ClassVar[list[str]] = ["born_on"]

    def get_serializer_class(self) -> type[Any]:
        detail = getattr(self, "action", "") == "retrieve"
        return serializers.LotDetailSerializer if detail else serializers.LotSerializer

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        return {
            "varieties": selectors.variety_names(self.farm, (row.variety for row in rows)),
            "crates": selectors.crate_names(self.farm, (row.container for row in rows)),
        }


class CheckRows(Rows):
    queryset = models.Check.objects.all()
    serializer_class = serializers.CheckSerializer
    filterset_class = filters.CheckFilters
    ordering_fields = ("on", "crate")
    ordering: ClassVar[list[str]] = ["-on"]

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        return {
            "lines": selectors.lines_by_check(self.farm, (row.uid for row in rows)),
            "names": selectors.people_and_devices(self.farm),
        }


class ReadingRows(Rows):
    queryset = models.Reading.objects.all()
    serializer_class = serializers.ReadingSerializer
    filterset_class = filters.ReadingFilters
    ordering_fields = ("measured_at", "place")
    ordering: ClassVar[list[str]] = ["-measured_at"]


class PlantingRows(Rows):
    queryset = models.Planting.objects.all()
    serializer_class = serializers.PlantingSerializer
    filterset_class = filters.PlantingFilters
    ordering_fields = ("bed", "row", "on", "variety")
    ordering: ClassVar[list[str]] = ["bed", "row"]

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        return {"varieties": selectors.variety_names(self.farm, (row.variety for row in rows))}


class ProblemRows(Rows):
    queryset = models.Problem.objects.all()
    serializer_class = serializers.ProblemSerializer
    filterset_class = filters.ProblemFilters
    ordering_fields = ("code",)
    ordering: ClassVar[list[str]] = ["code"]

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        shas = [sha for row in rows for sha in row.records]
        return {
            "records": selectors.records_by_sha(self.farm, shas),
            "names": selectors.people_and_devices(self.farm),
        }


@extend_schema_view(retrieve=extend_schema(responses=serializers.RecordDetailSerializer))
class RecordRows(Rows):
    least_role: ClassVar[dict[str, str]] = {"GET": "viewer", "POST": "helper"}
    queryset = models.Record.objects.all()
    serializer_class = serializers.RecordSerializer
    filterset_class = filters.RecordFilters
    lookup_field = "sha256"
    ordering_fields = ("seq", "occurred_on", "received_at")
    ordering: ClassVar[list[str]] = ["-seq"]

    def get_serializer_class(self) -> type[Any]:
        detail = getattr(self, "action", "") == "retrieve"
        return serializers.RecordDetailSerializer if detail else serializers.RecordSerializer

    def lookups(self, rows: Sequence[Any]) -> dict[str, Any]:
        held = [row.sha256 for row in rows if row.held]
        return {
            "names": selectors.people_and_devices(self.farm),
            "aside": selectors.still_aside(self.farm, held),
        }

    @extend_schema(
        request=serializers.SubmitSerializer,
        responses={
            200: serializers.SubmittedSerializer,
            201: serializers.SubmittedSerializer,
            409: RefusalSerializer,
        },
    )
    def create(self, request: Request) -> Response:
        """Writes one record for a script. What does not fit is refused, nothing is half kept.

        201 the first time, 200 with the same answer when the client_key comes again.
        """
        form = serializers.SubmitSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        told = form.validated_data
        day = told.get("occurred_on")
        submission = scripts.Submission(
            kind=told["kind"],
            v=told["v"],
            occurred_on=day.isoformat() if day else None,
            body=request.data["body"],
            client_key=told["client_key"],
        )
        now = clock.in_ms(clock.now())
        answer, fresh = scripts.submit(self.device, submission, now=now)
        status = 201 if fresh else 200
        return Response(serializers.SubmittedSerializer(answer).data, status=status)


class UndeliveredView(FarmView):
    """Phones that have not delivered an entry, though later ones came over a week ago."""

    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(responses=serializers.UndeliveredSerializer(many=True))
    def get(self, request: Request) -> Response:
        names = selectors.people_and_devices(self.farm)
        found = [
            {**asdict(one), "device_name": names.get(one.device)}
            for one in undelivered(self.farm, now=clock.in_ms(clock.now()))
        ]
        return Response(serializers.UndeliveredSerializer(found, many=True).data)
