"""Every error under the JSON addresses has one shape, whoever made it."""

import json
import sqlite3
from pathlib import Path
from typing import Any

import psycopg
import psycopg_pool
import pytest
from django.core.exceptions import PermissionDenied
from django.db import InterfaceError, OperationalError
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


def sqlite_error(statement: str, *, path: str = ":memory:") -> sqlite3.OperationalError:
    with pytest.raises(sqlite3.OperationalError) as met:
        sqlite3.connect(path).execute(statement)
    return met.value


def locked(folder: Path) -> sqlite3.OperationalError:
    path = str(folder / "locked.sqlite3")
    writer = sqlite3.connect(path, isolation_level=None)
    writer.execute("BEGIN IMMEDIATE")
    other = sqlite3.connect(path, isolation_level=None, timeout=0)
    with pytest.raises(sqlite3.OperationalError) as met:
        other.execute("BEGIN IMMEDIATE")
    return met.value


def from_database(cause: Exception) -> OperationalError:
    """As Django passes an error of the driver on."""
    error = OperationalError(str(cause))
    error.__cause__ = cause
    return error


# The codes are those of PostgreSQL's appendix A.
@pytest.mark.parametrize(
    "cause",
    [
        psycopg.OperationalError("the connection is lost"),
        psycopg_pool.PoolTimeout("couldn't get a connection after 5.00 sec"),
        psycopg.errors.AdminShutdown(),  # 57P01
        psycopg.errors.CrashShutdown(),  # 57P02
        psycopg.errors.ConnectionFailure(),  # 08006
        psycopg.errors.TooManyConnections(),  # 53300
    ],
)
def test_a_database_that_is_away_is_no_fault_of_the_request(cause: Exception) -> None:
    response = refusal_handler(from_database(cause), {})

    assert response is not None
    assert (503, "database_away") == (response.status_code, response.data["code"])
    assert "5" == response["Retry-After"]


def test_a_locked_file_and_one_that_cannot_be_opened_are_no_fault_of_the_request(
    tmp_path: Path,
) -> None:
    closed = sqlite_error("SELECT 1", path=str(tmp_path / "no folder" / "farm.sqlite3"))
    for cause in (locked(tmp_path), closed):
        assert "database_away" == answer_to(from_database(cause))["code"]
    assert "database_away" == answer_to(InterfaceError("connection already closed"))["code"]


def test_a_mistake_of_ours_in_a_statement_stays_one(tmp_path: Path) -> None:
    too_much = psycopg.errors.ProgramLimitExceeded()  # 54000
    for cause in (sqlite_error("SELECT * FROM nothing"), too_much):
        assert refusal_handler(from_database(cause), {}) is None


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
