"""Forms of what is asked for and handed out about labels."""

from __future__ import annotations

import math
from typing import Any

from rest_framework import serializers

from tubertrack.apps.accounts.serializers import PlainText
from tubertrack.apps.labels.services import MOST_CODES
from tubertrack.apps.labels.stock import KINDS, STOCKS, Stock

MOST_LABELS = 2000
_FARTHEST_MM = 20.0


class StockKindSerializer(serializers.Serializer[dict[str, Any]]):
    kind = serializers.ChoiceField(choices=KINDS)
    width_mm = serializers.FloatField()
    height_mm = serializers.FloatField()
    qr_box_mm = serializers.FloatField()
    close_range = serializers.BooleanField(
        help_text="The QR code is small: the phone has to come close."
    )


class StockSerializer(serializers.Serializer[dict[str, Any]]):
    key = serializers.CharField()
    name = serializers.CharField()
    note = serializers.CharField()
    is_roll = serializers.BooleanField()
    page_width_mm = serializers.FloatField()
    page_height_mm = serializers.FloatField()
    columns = serializers.IntegerField()
    rows = serializers.IntegerField()
    labels_per_sheet = serializers.IntegerField()
    left_mm = serializers.FloatField()
    top_mm = serializers.FloatField()
    pitch_x_mm = serializers.FloatField()
    pitch_y_mm = serializers.FloatField()
    corner_mm = serializers.FloatField()
    kinds = StockKindSerializer(many=True)


def stock_answer(stock: Stock) -> dict[str, Any]:
    """A stock as it is handed out."""
    kinds = [
        {
            "kind": kind,
            "width_mm": stock.label_width_mm,
            "height_mm": stock.height_mm(kind),
            "qr_box_mm": stock.qr_box_mm(kind),
            "close_range": stock.is_close_range(kind),
        }
        for kind in KINDS
    ]
    names = StockSerializer().get_fields()
    return {name: getattr(stock, name) for name in names if name != "kinds"} | {"kinds": kinds}


class Millimetres(serializers.FloatField):
    """A length that is a number."""

    def to_internal_value(self, data: Any) -> float:
        length_mm = super().to_internal_value(data)
        if not math.isfinite(length_mm):
            raise serializers.ValidationError("This is not a length in millimetres.")
        return length_mm


class PlacementSerializer(serializers.Serializer[dict[str, Any]]):
    """Stock, and the printer's corrections."""

    stock = serializers.ChoiceField(
        choices=sorted(STOCKS),
        error_messages={"invalid_choice": f"There are labels of {', '.join(sorted(STOCKS))}."},
    )
    offset_x_mm = Millimetres(
        default=0.0, min_value=-_FARTHEST_MM, max_value=_FARTHEST_MM, help_text="To the right."
    )
    offset_y_mm = Millimetres(
        default=0.0, min_value=-_FARTHEST_MM, max_value=_FARTHEST_MM, help_text="Down."
    )
    pitch_x_mm = Millimetres(default=None, allow_null=True)
    pitch_y_mm = Millimetres(default=None, allow_null=True)

    def validate(self, told: dict[str, Any]) -> dict[str, Any]:
        stock = STOCKS[told["stock"]]
        for name, usual in (("pitch_x_mm", stock.pitch_x_mm), ("pitch_y_mm", stock.pitch_y_mm)):
            pitch = told[name]
            if pitch is not None and not abs(pitch - usual) <= usual * 0.03:
                raise serializers.ValidationError(
                    {
                        name: f"The distance between these labels is {usual:.2f} mm; a printer is"
                        " off by 3 % at most. Measure again."
                    }
                )
        return told


class LabelsSerializer(PlacementSerializer):
    """A job of labels."""

    kind = serializers.ChoiceField(choices=KINDS)
    targets = serializers.ListField(
        child=PlainText(max_length=300),
        default=list,
        max_length=MOST_LABELS,
        help_text="Ids or codes: of crates, of lots, or of codes given out for blank labels.",
    )
    blanks = serializers.IntegerField(
        default=0, min_value=0, max_value=MOST_CODES, help_text="So many new codes, blank labels."
    )
    copies = serializers.IntegerField(
        default=1, min_value=1, max_value=10, help_text="Of each: a crate wants two, on two sides."
    )
    start_at = serializers.IntegerField(
        default=1, min_value=1, help_text="Position of the first label on the first sheet."
    )
    cut_marks = serializers.BooleanField(default=False)

    def validate(self, told: dict[str, Any]) -> dict[str, Any]:
        told = super().validate(told)
        if told["blanks"] and told["kind"] != "blank":
            raise serializers.ValidationError({"blanks": "Only blank labels get new codes."})
        count = (len(told["targets"]) + told["blanks"]) * told["copies"]
        if not count:
            raise serializers.ValidationError(
                {
                    "targets": "Nothing was chosen to print. Choose crates or batches, or some blanks."
                }
            )
        if count > MOST_LABELS:
            raise serializers.ValidationError(
                {"targets": f"{count} labels are too many at once. Print up to {MOST_LABELS}."}
            )
        stock = STOCKS[told["stock"]]
        if told["start_at"] > stock.labels_per_sheet:
            raise serializers.ValidationError(
                {"start_at": f"This sheet has positions 1 to {stock.labels_per_sheet}."}
            )
        return told


class BlanksSerializer(serializers.Serializer[dict[str, Any]]):
    count = serializers.IntegerField(min_value=1, max_value=MOST_CODES)


class CodesSerializer(serializers.Serializer[dict[str, Any]]):
    codes = serializers.ListField(child=serializers.CharField())
