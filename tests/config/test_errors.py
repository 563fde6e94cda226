"""Every error under the JSON addresses has one shape, whoever made it."""

import json
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, HttpResponseNotAllowed
from django.test import Client, RequestFactory
from rest_framework import exceptions
from rest_framework.exceptions import ErrorDetail

from tubertrack.config.errors import json_errors, plain_error, refusal_handler


def answer_to(exc: Exception) -> dict[str, Any]:
    response = refusal_handler(exc, {})
    assert response is not None
    return response.data


@pytest.mark.parametrize(
    ("exc", "code"),
    [
        (Http404(), "not_found"),
        (PermissionDenied(), "not_permitted"),
        (exceptions.NotAuthenticated(), "not_signed_in"),
        (exceptions.MethodNotAllowed("PUT"), "method_not_allowed"),
        (exceptions.UnsupportedMediaType("text/csv"), "unsupported_media_type"),
        (exceptions.ParseError("line 1"), "bad_json"),
        (exceptions.Throttled(wait=3), "too_many_requests"),
    ],
)
def test_the_frameworks_errors_have_a_code_and_a_sentence(exc: Exception, code: str) -> None:
    body = answer_to(exc)

    assert {"code", "message"} == set(body)
    assert code == body["code"]
    assert body["message"].endswith(".")


def test_field_errors_are_named_by_their_path() -> None:
    body = answer_to(
        exceptions.ValidationError({"lines": [{"seen": ["Write a whole number."]}], "look": ["?"]})
    )

    assert {"lines.0.seen": ["Write a whole number."], "look": ["?"]} == body["fields"]
    assert "lines.0.seen: Write a whole number." == body["message"]
    assert "bad_input" == body["code"]


def test_a_sentence_about_the_whole_request_keeps_its_code() -> None:
    body = answer_to(exceptions.ValidationError([ErrorDetail("Sign the crate out.", "crate_in")]))

    assert {"code": "crate_in", "message": "Sign the crate out."} == body


def test_a_refusal_of_our_own_goes_through_with_its_fields() -> None:
    class AlreadyPaired(exceptions.APIException):
        status_code = 409
        default_code = "already_paired"
        default_detail = "This code was used. Ask for a new one."
        fields = {"code": ["used"]}

    assert {
        "code": "already_paired",
        "message": "This code was used. Ask for a new one.",
        "fields": {"code": ["used"]},
    } == answer_to(AlreadyPaired())


def test_a_mistake_of_ours_stays_a_mistake() -> None:
    assert refusal_handler(KeyError("lot"), {}) is None


@pytest.mark.parametrize("status", [400, 403, 404, 500])
def test_djangos_own_error_pages_are_json_under_api_and_plain_elsewhere(status: int) -> None:
    view = plain_error(status)

    under_api = view(RequestFactory().get("/api/lots/"))
    elsewhere = view(RequestFactory().get("/nothing.txt"))

    assert {"code", "message"} == set(json.loads(under_api.content))
    assert status == under_api.status_code == elsewhere.status_code
    assert elsewhere["Content-Type"].startswith("text/plain")


def test_a_plain_answer_of_a_view_is_put_into_the_shape_with_its_headers() -> None:
    worded = json_errors(lambda _request: HttpResponseNotAllowed(["POST"]))

    response = worded(RequestFactory().get("/sync/v1/push"))

    assert "method_not_allowed" == json.loads(response.content)["code"]
    assert "POST" == response["Allow"]


def test_success_and_other_addresses_are_left_alone() -> None:
    page = HttpResponse("gone", status=410)

    assert json_errors(lambda _request: page)(RequestFactory().get("/start/x")) is page


@pytest.mark.django_db
def test_an_unknown_address_under_api_is_a_json_404(client: Client) -> None:
    response = client.get("/api/nothing/")

    assert 404 == response.status_code
    assert "not_found" == response.json()["code"]
