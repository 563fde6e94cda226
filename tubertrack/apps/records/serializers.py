"""Rows as the API tells them: null for what is not known, names beside ids."""

from __future__ import annotations

from typing import Any

from django.db import models as fields
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from tubertrack.apps.records import models, selectors
from tubertrack.apps.records.feed import raw_as_json

_INTEGERS = {"type": "object", "additionalProperties": {"type": "integer"}}
_STRINGS = {"type": "array", "items": {"type": "string"}}
_BY_WORD = {"type": "object", "additionalProperties": {"type": "string"}}
_FORMS: dict[str, Any] = {
    **dict.fromkeys(("accounts", "out", "removed", "noted", "unassigned", "marks"), _INTEGERS),
    "thrown": {"type": "object", "additionalProperties": _INTEGERS},
    **dict.fromkeys(("parents", "records", "voidable", "outs"), _STRINGS),
    "flags": _BY_WORD,
    "facts": {
        "type": "object",
        "additionalProperties": {"oneOf": [{"type": "string"}, {"type": "integer"}]},
    },
    "curing": {"type": "object", "additionalProperties": True},
    "woken": {"type": "object", "additionalProperties": True},
    "sources": {
        "type": "array",
        "items": {
            "type": "object",
            "properties": {"lot": {"type": "string"}, "count": {"type": "integer"}},
            "required": ["lot", "count"],
        },
    },
}


class BlankIsNull(serializers.CharField):
    """A text, or null for ""."""

    def to_representation(self, value: Any) -> str | None:
        return super().to_representation(value) or None


class MinusOneIsNull(serializers.IntegerField):
    """A whole number, or null for -1."""

    def to_representation(self, value: Any) -> int | None:
        return None if value == -1 else super().to_representation(value)


def _formed(form: Any) -> type[serializers.JSONField]:
    return extend_schema_field(form)(type("FormedField", (serializers.JSONField,), {}))


class RowSerializer(serializers.ModelSerializer[Any]):
    """A projected row; `id` is the thing's id in the farm's records."""

    id = serializers.CharField(source="uid", read_only=True)

    def build_standard_field(self, field_name: str, model_field: Any) -> Any:
        """Columns with "", -1 or JSON as the API tells them."""
        field, options = super().build_standard_field(field_name, model_field)
        if isinstance(model_field, fields.CharField | fields.TextField) and model_field.blank:
            return BlankIsNull, {"allow_null": True, "read_only": True}
        if isinstance(model_field, fields.BigIntegerField) and model_field.default == -1:
            return MinusOneIsNull, {"allow_null": True, "read_only": True}
        if field_name in _FORMS:
            return _formed(_FORMS[field_name]), {"read_only": True}
        return field, options

    def told(self, name: str) -> dict[str, Any]:
        """One of the lookups that the view prepared for the whole page."""
        return dict(self.context.get(name, {}))


def _columns(model: Any, *, without: tuple[str, ...] = ()) -> tuple[str, ...]:
    names = (field.name for field in model._meta.concrete_fields)
    return ("id", *(name for name in names if name not in ("id", "uid", "farm", *without)))


class VarietySerializer(RowSerializer):
    class Meta:
        model = models.Variety
        fields = _columns(models.Variety)
        read_only_fields = fields


class PlaceSerializer(RowSerializer):
    class Meta:
        model = models.Place
        fields = _columns(models.Place)
        read_only_fields = fields


class MethodSerializer(RowSerializer):
    class Meta:
        model = models.Method
        fields = _columns(models.Method)
        read_only_fields = fields


class InCrateSerializer(RowSerializer):
    """A lot as its crate shows it: how many, and since when that is known."""

    variety_name = serializers.SerializerMethodField()

    class Meta:
        model = models.Lot
        fields = (
            "id",
            "variety",
            "variety_name",
            "unit",
            "eyes",
            "balance",
            "about",
            "packed_on",
            "packed_count",
            "all_on",
            "looked_on",
            "quarantined",
        )
        read_only_fields = fields

    def get_variety_name(self, lot: models.Lot) -> str | None:
        return self.told("varieties").get(lot.variety)


class CrateSerializer(RowSerializer):
    lots = serializers.SerializerMethodField()

    class Meta:
        model = models.Crate
        fields = _columns(models.Crate)
        read_only_fields = fields

    @extend_schema_field(InCrateSerializer(many=True))
    def get_lots(self, crate: models.Crate) -> Any:
        lots = self.told("lots").get(crate.uid, [])
        return InCrateSerializer(lots, many=True, context=self.context).data


class StaySerializer(RowSerializer):
    class Meta:
        model = models.Stay
        fields = _columns(models.Stay, without=("lot",))
        read_only_fields = fields


class LotSerializer(RowSerializer):
    variety_name = serializers.SerializerMethodField()
    crate_name = serializers.SerializerMethodField()

    class Meta:
        model = models.Lot
        fields = (*_columns(models.Lot), "variety_name", "crate_name")
        read_only_fields = fields

    def get_variety_name(self, lot: models.Lot) -> str | None:
        return self.told("varieties").get(lot.variety)

    def get_crate_name(self, lot: models.Lot) -> str | None:
        return self.told("crates").get(lot.container) or None


class LotDetailSerializer(LotSerializer):
    stays = serializers.SerializerMethodField()

    class Meta(LotSerializer.Meta):
        fields = (*LotSerializer.Meta.fields, "stays")
        read_only_fields = fields

    @extend_schema_field(StaySerializer(many=True))
    def get_stays(self, lot: models.Lot) -> Any:
        return StaySerializer(selectors.stays_of(lot.farm, lot.uid), many=True).data


class CheckLineSerializer(RowSerializer):
    class Meta:
        model = models.CheckLine
        fields = _columns(models.CheckLine, without=("check_uid",))
        read_only_fields = fields


class CheckSerializer(RowSerializer):
    lines = serializers.SerializerMethodField()
    author_name = serializers.SerializerMethodField()
    device_name = serializers.SerializerMethodField()

    class Meta:
        model = models.Check
        fields = (*_columns(models.Check), "author_name", "device_name", "lines")
        read_only_fields = fields

    def get_author_name(self, check: models.Check) -> str | None:
        return self.told("names").get(check.author)

    def get_device_name(self, check: models.Check) -> str | None:
        return self.told("names").get(check.device)

    @extend_schema_field(CheckLineSerializer(many=True))
    def get_lines(self, check: models.Check) -> Any:
        return CheckLineSerializer(self.told("lines").get(check.uid, []), many=True).data


class ReadingSerializer(RowSerializer):
    class Meta:
        model = models.Reading
        fields = _columns(models.Reading)
        read_only_fields = fields


class PlantingSerializer(RowSerializer):
    variety_name = serializers.SerializerMethodField()

    class Meta:
        model = models.Planting
        fields = (*_columns(models.Planting), "variety_name")
        read_only_fields = fields

    def get_variety_name(self, planting: models.Planting) -> str | None:
        return self.told("varieties").get(planting.variety)


WHY_ASIDE = {
    "unreadable": "It cannot be read.",
    "bad_envelope": "Something is missing that every entry has.",
    "wrong_farm": "It was written for another farm.",
    "too_large": "It is larger than 64 KiB.",
    "quarantined": "It comes from a phone that was signed out and let in again.",
    "unknown_kind": "This server does not know that kind of entry yet.",
    "newer_version": "It was written by a newer app than this server knows.",
    "bad_body": "What it says does not fit its kind.",
    "not_permitted": "Its author, or the phone that sent it, may not write such entries.",
}


class RecordSerializer(serializers.ModelSerializer[models.Record]):
    """An entry of the farm's log: what, who, when, on which device, and whether it counts."""

    id = serializers.UUIDField(source="record_id", allow_null=True, read_only=True)
    kind = BlankIsNull(allow_null=True, read_only=True)
    occurred_on = BlankIsNull(allow_null=True, read_only=True)
    held = BlankIsNull(allow_null=True, read_only=True)
    why_aside = serializers.SerializerMethodField()
    set_aside = serializers.SerializerMethodField()
    author_name = serializers.SerializerMethodField()
    device_name = serializers.SerializerMethodField()
    relayed_by = serializers.UUIDField(source="relayed_by_id", allow_null=True, read_only=True)
    relayed_by_name = serializers.SerializerMethodField()
    body = serializers.SerializerMethodField()

    class Meta:
        model = models.Record
        fields = (
            "sha256",
            "seq",
            "id",
            "kind",
            "v",
            "occurred_on",
            "recorded_at",
            "received_at",
            "received_on",
            "author",
            "author_name",
            "device",
            "device_name",
            "device_seq",
            "relayed_by",
            "relayed_by_name",
            "role",
            "held",
            "set_aside",
            "why_aside",
            "body",
        )
        read_only_fields = fields

    def _name(self, pk: Any) -> str | None:
        return self.context.get("names", {}).get(str(pk))

    def get_why_aside(self, record: models.Record) -> str | None:
        return WHY_ASIDE.get(record.held)

    def get_set_aside(self, record: models.Record) -> bool:
        return record.sha256 in self.context.get("aside", ())

    def get_author_name(self, record: models.Record) -> str | None:
        return self._name(record.author)

    def get_device_name(self, record: models.Record) -> str | None:
        return self._name(record.device)

    def get_relayed_by_name(self, record: models.Record) -> str | None:
        return self._name(record.relayed_by_id)

    @extend_schema_field({"type": "object", "additionalProperties": True, "nullable": True})
    def get_body(self, record: models.Record) -> Any:
        return selectors.body_of(record)


class RecordDetailSerializer(RecordSerializer):
    raw = serializers.SerializerMethodField(help_text="The record's own text, byte for byte.")
    raw_b64 = serializers.SerializerMethodField(help_text="Instead of raw: bytes, no UTF-8.")

    class Meta(RecordSerializer.Meta):
        fields = (*RecordSerializer.Meta.fields, "raw", "raw_b64")
        read_only_fields = fields

    def get_raw(self, record: models.Record) -> str | None:
        return raw_as_json(bytes(record.raw)).get("raw")

    def get_raw_b64(self, record: models.Record) -> str | None:
        return raw_as_json(bytes(record.raw)).get("raw_b64")


class WrittenSerializer(serializers.ModelSerializer[models.Record]):
    """Who wrote an entry, when, and on which device."""

    author_name = serializers.SerializerMethodField()
    device_name = serializers.SerializerMethodField()

    class Meta:
        model = models.Record
        fields = (
            "sha256",
            "seq",
            "kind",
            "occurred_on",
            "recorded_at",
            "received_at",
            "author",
            "author_name",
            "device",
            "device_name",
        )
        read_only_fields = fields

    def get_author_name(self, record: models.Record) -> str | None:
        return self.context.get("names", {}).get(str(record.author))

    def get_device_name(self, record: models.Record) -> str | None:
        return self.context.get("names", {}).get(str(record.device))


class ProblemSerializer(RowSerializer):
    entries = serializers.SerializerMethodField(help_text="The records, with who wrote them when.")

    class Meta:
        model = models.Problem
        fields = (*_columns(models.Problem), "entries")
        read_only_fields = fields

    @extend_schema_field(WrittenSerializer(many=True))
    def get_entries(self, problem: models.Problem) -> Any:
        known = self.told("records")
        found = [known[sha] for sha in problem.records if sha in known]
        return WrittenSerializer(found, many=True, context=self.context).data


class SubmitSerializer(serializers.Serializer[Any]):
    """What a script writes down."""

    kind = serializers.CharField(max_length=60)
    v = serializers.IntegerField(default=1, min_value=1, max_value=1000)
    occurred_on = serializers.DateField(required=False, help_text="Today without it.")
    body = extend_schema_field({"type": "object", "additionalProperties": True})(
        serializers.DictField
    )()
    client_key = serializers.CharField(
        max_length=200, help_text="Yours, one a record: sending it again writes nothing new."
    )


class SubmittedSerializer(serializers.Serializer[Any]):
    sha256 = serializers.CharField()
    seq = serializers.IntegerField()
    id = serializers.UUIDField()
    kind = serializers.CharField()
    occurred_on = serializers.DateField()


class UndeliveredSerializer(serializers.Serializer[Any]):
    """Entries that a phone has numbered and never delivered."""

    device = serializers.UUIDField()
    device_name = serializers.CharField(allow_null=True)
    missing = serializers.ListField(child=serializers.IntegerField(), help_text="The first 50.")
    count = serializers.IntegerField()
