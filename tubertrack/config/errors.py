"""One shape for every error under /api and /sync: {"code", "message", "fields"?}.

`code` is for programs and does not change; `message` is one or two sentences for people: what is
wrong, what to do. `fields` names the fields of the request with a list of sentences each.

A view raises any rest_framework APIException. A subclass of its own with `default_code`,
`default_detail` and, where useful, an attribute `fields` goes through unchanged.
"""

import logging
import math
from collections.abc import Callable, Mapping
from typing import Any

from django.core.exceptions import DisallowedHost, PermissionDenied
from django.db import InterfaceError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

logger = logging.getLogger("tubertrack.errors")

JSON_PREFIXES = ("/api/", "/sync/", "/blob/")

# Sentences for what no view of ours has worded, by status.
SENTENCES: dict[int, tuple[str, str]] = {
    400: ("bad_request", "The server could not read this request. Check what was sent."),
    401: ("not_signed_in", "Sign in first: this device is not known to the server."),
    403: ("not_permitted", "You may not do this. Ask the owner of the farm."),
    404: ("not_found", "There is nothing at this address."),
    405: ("method_not_allowed", "This address does not take that method."),
    406: ("not_acceptable", "The server answers in JSON only. Ask for application/json."),
    411: ("length_required", "Send the length of this along (Content-Length)."),
    413: ("too_large", "This is more than the server takes at once. Send it in smaller parts."),
    415: ("unsupported_media_type", "Send this as JSON (Content-Type: application/json)."),
    429: ("too_many_requests", "Too many tries. Wait a little, then try again."),
    500: ("server_error", "The server made a mistake. Nothing was stored. Try again later."),
    503: ("database_away", "The server cannot reach its database just now. Try again in a moment."),
}
PAGE_TOO_OLD = "This page has been open for too long. Load it again, then repeat what you did."
UNKNOWN_HOST = (
    "This server does not answer to that name. Use the address that it prints when it starts, or add"
    " the name to TUBERTRACK_HOSTS."
)
_OUR_CODES = {
    "parse_error": "bad_json",
    "not_authenticated": "not_signed_in",
    "authentication_failed": "not_signed_in",
    "permission_denied": "not_permitted",
    "throttled": "too_many_requests",
    "invalid": "bad_input",
}


class DatabaseAway(exceptions.APIException):
    """It is the server that is ill, not the request: a phone sets none of its entries aside."""

    status_code = 503
    default_code, default_detail = SENTENCES[503]
    wait = 5


# Class of SQLSTATE (PostgreSQL's appendix A): connection, resources, operator intervention, system.
_AWAY_CLASSES = ("08", "53", "57", "58")
# Names of SQLite's result codes.
_AWAY_RESULTS = ("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_FULL", "SQLITE_IOERR", "SQLITE_CANTOPEN")


def database_is_away(exc: BaseException) -> bool:
    """Whether the same request may well succeed once the database is back, unlocked or has room."""
    if isinstance(exc, InterfaceError):
        return True  # the connection was closed under us
    if not isinstance(exc, OperationalError):
        return False
    told = exc.__cause__
    result = getattr(told, "sqlite_errorname", None)
    if result is not None:
        return str(result).startswith(_AWAY_RESULTS)
    state = getattr(told, "sqlstate", None)
    return state is None or str(state).startswith(_AWAY_CLASSES)


def refusal_handler(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """The answer to an exception in a view; None lets a mistake of ours become a logged 500."""
    if isinstance(exc, Http404):
        exc = exceptions.NotFound()
    elif isinstance(exc, PermissionDenied):
        exc = exceptions.PermissionDenied()
    elif database_is_away(exc):
        logger.warning("database: %s", exc)
        exc = DatabaseAway()
    if not isinstance(exc, exceptions.APIException):
        return None
    set_rollback()
    headers: dict[str, str] = {}
    if getattr(exc, "auth_header", None):
        headers["WWW-Authenticate"] = exc.auth_header
    if getattr(exc, "wait", None):
        headers["Retry-After"] = str(math.ceil(exc.wait))
    return Response(_body(exc), status=exc.status_code, headers=headers)


def _body(exc: exceptions.APIException) -> dict[str, Any]:
    if isinstance(exc, exceptions.ValidationError):
        return _validation_body(exc.detail)
    detail = exc.detail
    code = getattr(detail, "code", None) or exc.default_code
    message = str(detail)
    if type(exc).__module__ == exceptions.__name__:  # not worded by us
        plain = str(detail) == str(type(exc).default_detail)
        ours = SENTENCES.get(exc.status_code)
        if ours and (plain or exc.status_code in {405, 415, 429}):
            message = ours[1]
        if code == "parse_error":
            message = f"This is not valid JSON: {detail}. Nothing was stored."
    if message.startswith("CSRF Failed"):  # as rest_framework's SessionAuthentication has it
        code, message = "page_too_old", PAGE_TOO_OLD
    body: dict[str, Any] = {"code": _OUR_CODES.get(code, code), "message": message}
    fields = getattr(exc, "fields", None)
    if fields:
        body["fields"] = fields
    return body


def _validation_body(detail: Any) -> dict[str, Any]:
    """Field errors flattened to dotted names; the message is the first sentence of all."""
    fields: dict[str, list[str]] = {}
    codes: list[str] = []

    def walk(node: Any, path: str) -> None:
        if isinstance(node, Mapping):
            for key, below in node.items():
                walk(below, f"{path}.{key}" if path else str(key))
        elif isinstance(node, list):
            for place, below in enumerate(node):
                deeper = isinstance(below, Mapping | list)
                walk(below, f"{path}.{place}" if deeper and path else path)
        else:
            fields.setdefault(path or "non_field_errors", []).append(str(node))
            codes.append(getattr(node, "code", "invalid"))

    walk(detail, "")
    whole = fields.pop("non_field_errors", [])
    if whole:
        message = whole[0]
    elif fields:
        name, sentences = next(iter(fields.items()))
        message = f"{name}: {sentences[0]}"
    else:
        message = SENTENCES[400][1]
    only = codes[0] if len(set(codes)) == 1 and whole and not fields else "invalid"
    body: dict[str, Any] = {"code": _OUR_CODES.get(only, only), "message": message}
    if fields:
        body["fields"] = fields
    return body


def error_response(status: int, code: str = "", message: str = "") -> JsonResponse:
    """An answer in the one shape; without words of its own it has the ones of its status."""
    usual = SENTENCES.get(status, SENTENCES[500 if status >= 500 else 400])
    return JsonResponse({"code": code or usual[0], "message": message or usual[1]}, status=status)


def json_errors(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Middleware: an error under the JSON addresses is in the one shape, whoever made it."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code < 400 or not request.path.startswith(JSON_PREFIXES):
            return response
        if response.get("Content-Type", "").startswith("application/json"):
            return response
        worded = error_response(response.status_code)
        for name in ("Allow", "WWW-Authenticate", "Retry-After"):
            if name in response:
                worded[name] = response[name]
        worded.cookies = response.cookies
        return worded

    return answer


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Django's view for a form whose hidden token does not match its cookie."""
    logger.info("csrf: %s", reason)
    if request.path.startswith(JSON_PREFIXES):
        return error_response(403, "page_too_old", PAGE_TOO_OLD)
    return HttpResponse(PAGE_TOO_OLD, status=403, content_type="text/plain; charset=utf-8")


def plain_error(status: int) -> Callable[..., HttpResponse]:
    """A view for Django's handler404 and its like: one plain sentence, no template."""

    def view(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
        code, words = SENTENCES[status]
        if isinstance(exception, DisallowedHost):
            code, words = "unknown_host", UNKNOWN_HOST
        if request.path.startswith(JSON_PREFIXES):
            return error_response(status, code, words)
        return HttpResponse(words, status=status, content_type="text/plain; charset=utf-8")

    return view
