"""How the lists of the API are narrowed."""

from __future__ import annotations

from typing import Any, ClassVar

import django_filters
from django import forms
from django.db.models import Exists, OuterRef, QuerySet
from rest_framework.exceptions import ValidationError

from tubertrack.apps.records import models
from tubertrack.apps.records.selectors import days_of_winter, season_of


class PlainText(forms.CharField):
    """A text that any database can look for."""

    def to_python(self, value: Any) -> str:
        text = super().to_python(value)
        return "".join("\ufffd" if "\ud800" <= char <= "\udfff" else char for char in text)


class Text(django_filters.CharFilter):
    field_class = PlainText


class Day(django_filters.DateFilter):
    """A date, compared as the text that is stored."""

    def filter(self, qs: QuerySet[Any], value: Any) -> QuerySet[Any]:
        if value is None:
            return qs
        rows = qs.filter(**{f"{self.field_name}__{self.lookup_expr}": value.isoformat()})
        return rows.exclude(**{self.field_name: ""})


class Winter(Text):
    """A winter such as 2026/27, by the farm's own months."""

    def filter(self, qs: QuerySet[Any], value: str) -> QuerySet[Any]:
        if not value:
            return qs
        farm = self.parent.request.auth.farm
        season = season_of(farm)
        try:
            begins, ends = days_of_winter(value, season)
        except ValueError:
            like = "2026/27" if season.spans_new_year else "2026"
            raise ValidationError({"winter": [f"Write a winter like {like}."]}) from None
        stays = models.Stay.objects.filter(
            farm=farm, lot=OuterRef("uid"), packed_on__gte=begins, packed_on__lt=ends
        )
        return qs.filter(Exists(stays))


class ReferenceFilters(django_filters.FilterSet):
    name = Text(lookup_expr="icontains")
    archived = django_filters.BooleanFilter()


class VarietyFilters(ReferenceFilters):
    form = Text()

    class Meta:
        model = models.Variety
        fields: ClassVar[list[str]] = []


class PlaceFilters(ReferenceFilters):
    sort = Text()

    class Meta:
        model = models.Place
        fields: ClassVar[list[str]] = []


class MethodFilters(ReferenceFilters):
    packing = Text()

    class Meta:
        model = models.Method
        fields: ClassVar[list[str]] = []


class CrateFilters(django_filters.FilterSet):
    place = Text()
    method = Text()
    due = Day(field_name="due_on", lookup_expr="lte", help_text="Due on or before this day.")
    number = Text()
    code = Text()
    archived = django_filters.BooleanFilter()
    packed_from = Day(field_name="packed_on", lookup_expr="gte")
    packed_to = Day(field_name="packed_on", lookup_expr="lte")

    class Meta:
        model = models.Crate
        fields: ClassVar[list[str]] = []


class LotFilters(django_filters.FilterSet):
    variety = Text()
    unit = Text()
    eyes = Text()
    grade = Text()
    crate = Text(field_name="container")
    winter = Winter(help_text="Lay in store in this winter, by the date of packing.")
    code = Text()
    quarantined = django_filters.BooleanFilter()
    in_store = django_filters.BooleanFilter(
        field_name="balance", method="by_balance", help_text="true: some are left; false: none."
    )

    class Meta:
        model = models.Lot
        fields: ClassVar[list[str]] = []

    def by_balance(self, qs: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:  # noqa: FBT001
        return qs.exclude(balance=0) if value else qs.filter(balance=0)


class CheckFilters(django_filters.FilterSet):
    crate = Text()
    round = Text()
    look = Text()
    lot = Text(method="by_lot")
    from_day = Day(field_name="on", lookup_expr="gte")
    to_day = Day(field_name="on", lookup_expr="lte")

    class Meta:
        model = models.Check
        fields: ClassVar[list[str]] = []

    def by_lot(self, qs: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        lines = models.CheckLine.objects.filter(
            farm=OuterRef("farm"), check_uid=OuterRef("uid"), lot=value
        )
        return qs.filter(Exists(lines))


class ReadingFilters(django_filters.FilterSet):
    place = Text()
    crate = Text()
    round = Text()
    from_day = Day(field_name="on", lookup_expr="gte")
    to_day = Day(field_name="on", lookup_expr="lte")

    class Meta:
        model = models.Reading
        fields: ClassVar[list[str]] = []


class PlantingFilters(django_filters.FilterSet):
    variety = Text()
    bed = Text()
    row = Text()
    code = Text()

    class Meta:
        model = models.Planting
        fields: ClassVar[list[str]] = []


class ProblemFilters(django_filters.FilterSet):
    code = Text()
    accepted = django_filters.BooleanFilter(method="by_acceptance")

    class Meta:
        model = models.Problem
        fields: ClassVar[list[str]] = []

    def by_acceptance(self, qs: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:  # noqa: FBT001
        return qs.exclude(accepted="") if value else qs.filter(accepted="")


class RecordFilters(django_filters.FilterSet):
    kind = Text()
    held = Text(help_text="Why it was set aside at receipt.")
    set_aside = django_filters.BooleanFilter(
        method="by_standing",
        help_text="true: still set aside; false: counts, or only mends others.",
    )
    device = django_filters.UUIDFilter()
    author = django_filters.UUIDFilter()
    id = django_filters.UUIDFilter(field_name="record_id")
    after = django_filters.NumberFilter(
        field_name="seq", lookup_expr="gt", min_value=0, max_value=2**53
    )
    from_day = Day(field_name="occurred_on", lookup_expr="gte")
    to_day = Day(field_name="occurred_on", lookup_expr="lte")

    class Meta:
        model = models.Record
        fields: ClassVar[list[str]] = []

    def by_standing(self, qs: QuerySet[Any], name: str, value: bool) -> QuerySet[Any]:  # noqa: FBT001
        aside = models.HeldEntry.objects.filter(farm=OuterRef("farm"), uid=OuterRef("sha256"))
        return qs.filter(Exists(aside)) if value else qs.exclude(Exists(aside))
