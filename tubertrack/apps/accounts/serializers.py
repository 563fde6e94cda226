"""Forms of what comes in and goes out about people and devices."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from tubertrack.apps.accounts.models import Device, Farm, Member


class PlainText(serializers.CharField):
    """A text that any database can hold."""

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        if any("\ud800" <= char <= "\udfff" for char in text):
            raise serializers.ValidationError("This holds half a character. Type it again.")
        return text


class RefusalSerializer(serializers.Serializer[Any]):
    """Why a request was refused (the one shape of tubertrack/config/errors.py)."""

    code = serializers.CharField()
    message = serializers.CharField()
    fields_ = serializers.DictField(required=False)


class MemberSerializer(serializers.ModelSerializer[Member]):
    class Meta:
        model = Member
        fields = ("id", "name", "role", "active")
        read_only_fields = fields


class FarmSerializer(serializers.ModelSerializer[Farm]):
    as_of = serializers.SerializerMethodField(
        help_text="The day on which a demo farm stands still, or null."
    )

    class Meta:
        model = Farm
        fields = ("id", "name", "time_zone", "as_of")
        read_only_fields = fields

    def get_as_of(self, farm: Farm) -> str | None:
        return farm.as_of or None


class DeviceNameSerializer(serializers.ModelSerializer[Device]):
    class Meta:
        model = Device
        fields = ("id", "name")
        read_only_fields = fields


class DeviceSerializer(serializers.ModelSerializer[Device]):
    member = serializers.UUIDField(source="member_id", allow_null=True, read_only=True)
    member_name = serializers.SerializerMethodField()

    class Meta:
        model = Device
        fields = (
            "id",
            "name",
            "sort",
            "member",
            "member_name",
            "quarantined",
            "created_at",
            "revoked_at",
            "last_heard_at",
        )
        read_only_fields = fields

    def get_member_name(self, device: Device) -> str | None:
        return device.member.name if device.member else None


class FarmAnswerSerializer(serializers.Serializer[Any]):
    """Who this device speaks for, and the people of the farm."""

    device = DeviceNameSerializer()
    member = MemberSerializer()
    farm = FarmSerializer()
    members = MemberSerializer(many=True)


class EnrolAnswerSerializer(FarmAnswerSerializer):
    token = serializers.CharField(help_text="Shown this once. Send it as a bearer token.")


class OwnFarmSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    name = serializers.CharField()
    role = serializers.ChoiceField(Member.Role.choices)


class SessionSerializer(serializers.Serializer[Any]):
    signed_in = serializers.BooleanField()
    name = serializers.CharField(allow_blank=True)
    csrf = serializers.CharField(help_text="Send it back as X-CSRFToken.")
    farms = OwnFarmSerializer(many=True)


class EnrolSerializer(serializers.Serializer[Any]):
    farm = serializers.UUIDField()
    name = PlainText(max_length=200)
    sort = serializers.ChoiceField(["browser", "phone", "script"], default="browser")
    time_zone = PlainText(
        max_length=64,
        required=False,
        help_text="Where the browser is: the zone of a farm that has no records yet.",
    )


class NewFarmSerializer(serializers.Serializer[Any]):
    name = PlainText(max_length=200)
    time_zone = PlainText(max_length=64)
    device_name = PlainText(max_length=200, default="This browser")


class NewMemberSerializer(serializers.Serializer[Any]):
    name = PlainText(max_length=200)
    role = serializers.ChoiceField(Member.Role.choices)


class MemberChangeSerializer(serializers.Serializer[Any]):
    name = PlainText(max_length=200, required=False)
    role = serializers.ChoiceField(Member.Role.choices, required=False)
    active = serializers.BooleanField(required=False)


class PairingSerializer(serializers.Serializer[Any]):
    member = serializers.UUIDField()
    device = serializers.UUIDField(
        required=False, help_text="A revoked phone of the member that comes back, quarantined."
    )


class PairingAnswerSerializer(serializers.Serializer[Any]):
    code = serializers.CharField(help_text="Six digits, good once, for ten minutes.")
    qr = serializers.CharField(help_text="The text to draw as a QR code.")
    qr_svg = serializers.CharField(help_text="The same, drawn.")
    expires_at = serializers.DateTimeField()


class PairSerializer(serializers.Serializer[Any]):
    code = serializers.RegexField(
        r"^\s*\d{3}\s*\d{3}\s*\Z",
        error_messages={"invalid": "The code has six digits, such as 402 913."},
    )
    device_name = PlainText(max_length=200)
