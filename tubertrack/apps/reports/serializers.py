"""The shape of a loss report, for the OpenAPI file and the client typed from it."""

from __future__ import annotations

from rest_framework import serializers


class NamedSerializer(serializers.Serializer):
    id = serializers.CharField(allow_blank=True)
    label = serializers.CharField()


class FigureSerializer(serializers.Serializer):
    """A count with the crates and entries it comes from."""

    count = serializers.IntegerField()
    crates = serializers.ListField(child=serializers.CharField())
    records = serializers.ListField(child=serializers.CharField())


class ThrownSerializer(FigureSerializer):
    cause = serializers.CharField()
    words = serializers.CharField()


class GoneOutSerializer(FigureSerializer):
    how = serializers.CharField()
    words = serializers.CharField()


class SentenceSerializer(serializers.Serializer):
    topic = serializers.CharField()
    text = serializers.CharField()
    crates = serializers.ListField(child=serializers.CharField())
    records = serializers.ListField(child=serializers.CharField())


class CauseCountSerializer(serializers.Serializer):
    cause = serializers.CharField()
    words = serializers.CharField()
    count = serializers.IntegerField()


class WorstCrateSerializer(serializers.Serializer):
    crate = NamedSerializer()
    unit = serializers.CharField()
    lost = serializers.IntegerField()
    held = serializers.IntegerField()
    causes = CauseCountSerializer(many=True)
    varieties = serializers.ListField(child=serializers.CharField())
    text = serializers.CharField()
    records = serializers.ListField(child=serializers.CharField())


class SeenSerializer(serializers.Serializer):
    seen = serializers.IntegerField()
    seen_from = serializers.DateField(allow_null=True)
    seen_to = serializers.DateField(allow_null=True)
    not_seen = serializers.IntegerField()
    not_seen_since = serializers.DateField(allow_null=True)


class CameThroughSerializer(serializers.Serializer):
    """A share (0 to 1) with the limits of its range, and what it rests on."""

    share = serializers.FloatField()
    low = serializers.FloatField()
    high = serializers.FloatField()
    method = serializers.ChoiceField(choices=["crate_wilson", "early_leavers"])
    crates = serializers.IntegerField()
    tubers = serializers.IntegerField()
    few = serializers.BooleanField(help_text="Fewer than ten: draw it hollow.")
    notes = serializers.ListField(child=serializers.CharField())
    through_on = serializers.DateField(allow_null=True)


class LossRowSerializer(serializers.Serializer):
    key = NamedSerializer()
    unit = serializers.CharField()
    packed = FigureSerializer()
    found = FigureSerializer()
    moved_in = serializers.IntegerField()
    thrown = ThrownSerializer(many=True)
    thrown_out = serializers.IntegerField()
    gone_out = GoneOutSerializer(many=True)
    went_out = serializers.IntegerField()
    missing = FigureSerializer()
    moved_out = serializers.IntegerField()
    brought_out = FigureSerializer()
    in_store = FigureSerializer()
    cut_away = FigureSerializer()
    about = serializers.IntegerField()
    seen = SeenSerializer()
    came_through = CameThroughSerializer(allow_null=True)
    without_accidents = CameThroughSerializer(allow_null=True)
    by_the_book = serializers.FloatField(allow_null=True)
    worst_case = serializers.FloatField(allow_null=True)
    outside = serializers.IntegerField()
    guess = serializers.CharField(allow_blank=True)
    range_text = serializers.CharField(allow_blank=True)
    outside_text = serializers.CharField(allow_blank=True)
    crates = serializers.ListField(child=serializers.CharField())
    checks = serializers.ListField(child=serializers.CharField())


class LossTableSerializer(serializers.Serializer):
    unit = serializers.CharField()
    unit_words = serializers.CharField()
    everything = LossRowSerializer()
    rows = LossRowSerializer(many=True)


class LossReportSerializer(serializers.Serializer):
    winter = serializers.CharField()
    winters = serializers.ListField(child=serializers.CharField())
    by = serializers.CharField()
    as_of = serializers.DateField()
    seq = serializers.IntegerField(help_text="Number of the last entry that is in the report.")
    under_way = serializers.BooleanField()
    opening = SentenceSerializer(many=True)
    worst = WorstCrateSerializer(many=True)
    methods = SentenceSerializer(many=True)
    verdict = SentenceSerializer(many=True)
    tables = LossTableSerializer(many=True)
    crates = serializers.DictField(child=serializers.CharField(), help_text="Crate id: its name.")
