"""The two addresses of the sync protocol."""

from __future__ import annotations

import json
from typing import Any, ClassVar

from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser
from rest_framework.request import Request
from rest_framework.response import Response

from tubertrack.apps.accounts import clock
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.serializers import RefusalSerializer
from tubertrack.apps.accounts.services import heard_from
from tubertrack.apps.sync import selectors, services

MOST_REQUEST_BYTES = 4 * 1024 * 1024
"""1 MiB of records with every character escaped, with room to spare."""


class PushSerializer(serializers.Serializer[Any]):
    app = serializers.CharField(required=False, help_text="Name and build of the app.")
    protocol = serializers.IntegerField(help_text="1")
    device = serializers.UUIDField()
    waiting = serializers.IntegerField(
        required=False, min_value=0, help_text="Entries that are only on the device after this."
    )
    records = serializers.ListField(
        child=serializers.CharField(), help_text="At most 200, each the text of one envelope."
    )


class VerdictSerializer(serializers.Serializer[Any]):
    sha256 = serializers.CharField()
    verdict = serializers.ChoiceField(["stored", "held", "duplicate"])
    seq = serializers.IntegerField()
    code = serializers.CharField(required=False, help_text="Why it was set aside.")


class HeadField(serializers.ListField):
    """[number of the last entry, its chain in hex]"""

    child = serializers.JSONField()


class PushAnswerSerializer(serializers.Serializer[Any]):
    verdicts = VerdictSerializer(many=True)
    head = HeadField()
    server_time = serializers.IntegerField(help_text="ms UTC")


class EntrySerializer(serializers.Serializer[Any]):
    seq = serializers.IntegerField()
    chain = serializers.CharField()
    raw = serializers.CharField(required=False)
    raw_b64 = serializers.CharField(required=False, help_text="Instead of raw: bytes, no UTF-8.")
    held = serializers.CharField(required=False)
    received_at = serializers.IntegerField()
    received_on = serializers.DateField()
    recorded_on = serializers.DateField()
    stamp_eff = serializers.ListField(child=serializers.IntegerField(), required=False)
    role = serializers.CharField(allow_blank=True)
    relayed_by = serializers.UUIDField(required=False)


class PullAnswerSerializer(serializers.Serializer[Any]):
    entries = EntrySerializer(many=True)
    head = HeadField()
    server_time = serializers.IntegerField(help_text="ms UTC")


class PushParser(JSONParser):
    """JSON, however it is nested or torn: an answer, not a crash."""

    def parse(self, stream: Any, media_type: Any = None, parser_context: Any = None) -> Any:
        try:
            return json.loads(stream.read().decode("utf-8"))
        except (ValueError, RecursionError) as problem:
            raise ParseError("the request is torn or no JSON") from problem


class PushView(FarmView):
    """What a phone hands in."""

    allowance = "sync"
    least_role: ClassVar[dict[str, str]] = {"POST": "viewer"}
    parser_classes: ClassVar[list[Any]] = [PushParser]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not str(length).isdigit() or int(length) > MOST_REQUEST_BYTES:
            raise services.TooLarge

    @extend_schema(
        request=PushSerializer, responses={200: PushAnswerSerializer, 413: RefusalSerializer}
    )
    def post(self, request: Request) -> Response:
        """Stores every record. What the farm cannot use is set aside, never refused."""
        moment = clock.now()
        answer = services.push(self.device, request.data, now=clock.in_ms(moment))
        waiting, app = services.told_of_itself(request.data)
        heard_from(self.device, now=moment, waiting=waiting, app=app)
        return Response({**answer, "server_time": clock.in_ms(moment)})


class PullView(FarmView):
    """What a phone fetches."""

    allowance = "sync"
    least_role: ClassVar[dict[str, str]] = {"GET": "viewer"}

    @extend_schema(
        parameters=[
            OpenApiParameter("after", str, required=True, description="number:chain, or 0"),
            OpenApiParameter("limit", int, description="At most 500."),
            OpenApiParameter("waiting", int, description="Entries that are only on the device."),
            OpenApiParameter("app", str, description="Name and build of the app."),
        ],
        responses={200: PullAnswerSerializer, 409: RefusalSerializer},
    )
    def get(self, request: Request) -> Response:
        """Entries after the cursor, in order. 409 history_changed when it is of another history."""
        after = selectors.read_cursor(request.query_params.get("after", "0"))
        told = request.query_params.get("limit", "")
        limit = int(told) if told.isascii() and told.isdigit() and 0 < len(told) < 6 else 500
        moment = clock.now()
        answer = selectors.pull(self.farm.pk, after, limit=max(1, limit))
        waiting, app = services.told_of_itself(request.query_params)
        heard_from(self.device, now=moment, waiting=waiting, app=app)
        return Response({**answer, "server_time": clock.in_ms(moment)})
