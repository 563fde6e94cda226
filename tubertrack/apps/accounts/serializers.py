"""Forms of what comes in and goes out about people and devices."""

from __future__ import annotations

from typing import Any, ClassVar

from rest_framework import serializers

from tubertrack.apps.accounts.models import Buyer, Device, Farm, Member, Price
from tubertrack.apps.accounts.trade import MOST_MINOR


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
        fields = ("id", "name", "role", "active", "erased")
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


class DeviceMemberSerializer(serializers.ModelSerializer[Member]):
    class Meta:
        model = Member
        fields = ("id", "name", "role")
        read_only_fields = fields


class RunSerializer(serializers.ListField):
    """[first, last]"""

    child = serializers.IntegerField()
    min_length = max_length = 2


class DeviceSerializer(serializers.Serializer[Any]):
    """A device, when it was last heard, and what is only on it (selectors.devices_told)."""

    id = serializers.UUIDField(source="device.id")
    name = serializers.CharField(source="device.name")
    sort = serializers.ChoiceField(Device.Sort.choices, source="device.sort")
    member = DeviceMemberSerializer(
        source="device.member", allow_null=True, help_text="null: the farm's own computer."
    )
    created_at = serializers.DateTimeField(source="device.created_at")
    last_heard_at = serializers.DateTimeField(source="device.last_heard_at", allow_null=True)
    revoked_at = serializers.DateTimeField(source="device.revoked_at", allow_null=True)
    quarantined = serializers.BooleanField(source="device.quarantined")
    app = serializers.CharField(source="device.app", help_text="The build it last told.")
    waiting = serializers.IntegerField(
        source="device.waiting",
        allow_null=True,
        help_text="Entries it said it still held; null: it never said.",
    )
    waiting_at = serializers.DateTimeField(source="device.waiting_at", allow_null=True)
    records = serializers.IntegerField(
        source="delivered.records", help_text="Entries written on it that are here."
    )
    highest_seq = serializers.IntegerField(source="delivered.highest_seq")
    missing = serializers.ListField(
        child=RunSerializer(),
        source="delivered.missing",
        help_text="Its own numbers below the highest that never came; the first 50 runs.",
    )


class DeviceChangeSerializer(serializers.Serializer[Any]):
    name = PlainText(max_length=200)


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
    has_password = serializers.BooleanField()
    old_password_needed = serializers.BooleanField(
        help_text="Whether a new password asks for the old one: not soon after a start link."
    )
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


class SecretText(PlainText):
    """A password: kept as it was typed, spaces at its ends too."""

    def __init__(self, **told: Any) -> None:
        super().__init__(trim_whitespace=False, write_only=True, **told)


class SignInSerializer(serializers.Serializer[Any]):
    name = PlainText(max_length=150)
    password = SecretText(max_length=1024)


class PasswordSerializer(serializers.Serializer[Any]):
    new_password = SecretText(max_length=1024)
    old_password = SecretText(max_length=1024, required=False, allow_blank=True)
    name = PlainText(
        max_length=150, required=False, allow_blank=True, help_text="To sign in by; else as it is."
    )


class TooManySerializer(RefusalSerializer):
    """A refusal that says how long to wait."""

    retry_after_s = serializers.IntegerField()


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
    qr = serializers.CharField(
        help_text="The text to draw as a QR code: an address with a secret of its own."
    )
    qr_svg = serializers.CharField(help_text="The same, drawn.")
    expires_at = serializers.DateTimeField()


class PairSerializer(serializers.Serializer[Any]):
    code = serializers.RegexField(
        r"^\s*(\d{3}\s*\d{3}|[A-Za-z0-9_-]{22})\s*\Z",
        error_messages={
            "invalid": "The code has six digits, such as 402 913, or is the secret of the picture."
        },
    )
    device_name = PlainText(max_length=200)


class BuyerSerializer(serializers.ModelSerializer[Buyer]):
    name = PlainText(max_length=200)
    contact = PlainText(max_length=500, required=False, allow_blank=True)
    note = PlainText(max_length=2000, required=False, allow_blank=True)

    class Meta:
        model = Buyer
        fields = ("id", "name", "contact", "note")


class Currency(serializers.RegexField):
    """A code of ISO 4217, such as EUR."""

    def __init__(self, **told: Any) -> None:
        words = {"invalid": "Write the currency in three capitals, such as EUR."}
        super().__init__(r"^[A-Z]{3}\Z", error_messages=words, **told)


class SaleSerializer(serializers.Serializer[Any]):
    id = serializers.UUIDField(source="uid", help_text="As the entries of the sale carry it.")
    buyer = serializers.UUIDField(source="buyer_id", required=False, allow_null=True)
    price_minor = serializers.IntegerField(
        required=False,
        allow_null=True,
        min_value=0,
        max_value=MOST_MINOR,
        help_text="Of the whole sale, in the currency's smallest part (cents, pence).",
    )
    currency = Currency(required=False, allow_blank=True)
    note = PlainText(max_length=2000, required=False, allow_blank=True)


class SaleChangeSerializer(SaleSerializer):
    id = None  # type: ignore[assignment]  # a sale keeps its id


class PriceSerializer(serializers.ModelSerializer[Price]):
    variety = serializers.UUIDField(
        required=False, allow_null=True, help_text="Id of a variety; null: any without a line."
    )
    price_minor = serializers.IntegerField(min_value=0, max_value=MOST_MINOR)
    currency = Currency()

    class Meta:
        model = Price
        fields = ("id", "variety", "unit", "price_minor", "currency")
        validators: ClassVar[list[Any]] = []  # trade.write_price says it in words
