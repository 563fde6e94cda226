"""How views of this room read forms and write answers."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from tubertrack.apps.accounts import selectors, serializers, services
from tubertrack.apps.accounts.tries import TooManyTries


def told(serializer_class: type, request: Request, *, partial: bool = False) -> dict[str, Any]:
    """What the request says, by its form; ValidationError with a sentence for each field."""
    form = serializer_class(data=request.data, partial=partial)
    form.is_valid(raise_exception=True)
    return dict(form.validated_data)


def enrolled(device: services.Enrolled) -> Response:
    """201 with the token, shown this once, and the farm."""
    answer = {"token": device.token, **selectors.farm_answer(device.device)}
    return Response(serializers.EnrolAnswerSerializer(answer).data, status=201)


class CountedView(APIView):
    """A view whose wrong tries are counted: it says how long to wait."""

    def handle_exception(self, exc: Exception) -> Response:
        response = super().handle_exception(exc)
        if isinstance(exc, TooManyTries):
            response.data["retry_after_s"] = exc.wait
        return response
