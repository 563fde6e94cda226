"""Bodies that break parsers, sent to every address that takes one: an answer in words, never a crash."""

from __future__ import annotations

import json

import pytest
from django.core.cache import cache

from tests.api.test_walls import addresses, filled
from tubertrack.apps.accounts.models import User

pytestmark = pytest.mark.django_db

DEEP = 100_000
# Source of the forms: RFC 8259, sections 4, 6, 8 and 9 (what parsers may limit or disagree about).
ODD = {
    "deep lists": b"[" * DEEP + b"]" * DEEP,
    "deep objects": b'{"a":' * DEEP + b"1" + b"}" * DEEP,
    "unended": b"[" * DEEP,
    "a number of 5000 digits": b'{"name": ' + b"9" * 5000 + b', "count": ' + b"9" * 5000 + b"}",
    "beyond a float": b'{"count": 1e999, "offset_x_mm": -1e999, "price_minor": 1e400}',
    "not a number": b'{"count": NaN, "offset_x_mm": Infinity}',
    "no UTF-8": b'{"name": "\xff\xfe"}',
    "half a character": b'{"name": "\\ud83c", "device_name": "\\udf31", "code": "\\ud800"}',
    "NUL": b'{"name": "\\u0000", "device_name": "\\u0000", "code": "\\u0000"}',
    "a mark of byte order": b"\xef\xbb\xbf{}",
    "one key twice": b'{"name": 1, "name": [2], "name": {"name": 3}}',
    "a list": b"[]",
    "null": b"null",
    "a text": b'"text"',
    "nothing": b"",
    "keys of prototypes": b'{"__proto__": {"admin": true}, "constructor": 1, "pk": 1, "id": 1, "farm": 1}',
    "a hundred thousand keys": json.dumps({str(n): n for n in range(100_000)}).encode(),
    "a long list of records": b'{"protocol": 1, "records": [' + b'"",' * 99_999 + b'""]}',
}


@pytest.mark.parametrize("name", ODD)
def test_no_body_is_more_than_an_address_can_answer(farms, client, name):
    client.force_login(User.objects.get(username="ana"))
    asked = 0
    for address, view in addresses():
        for method in ("post", "put", "patch"):
            if not hasattr(getattr(view, "cls", None), method) and method != "post":
                continue
            for caller, more in ((farms.owner.client, {}), (client, {})):
                cache.clear()
                answer = caller.generic(
                    method.upper(), filled(address), ODD[name], "application/json", **more
                )
                asked += 1
                assert answer.status_code < 500, (method, address, name)
                if answer.status_code >= 400 and address.startswith(("api/", "sync/")):
                    assert {"code", "message"} <= set(answer.json()), (method, address)
    assert asked > 50


def test_a_header_that_no_token_has_is_a_stranger(farms):
    client = farms.owner.client
    for header in (
        "Bearer",
        "Bearer a b",
        "Bearer \xff",
        "Bearer " + "x" * 10_000,
        "Basic eDp5",
        "",
    ):
        client.credentials(HTTP_AUTHORIZATION=header)
        assert 401 == client.get("/api/farm/").status_code, header[:20]
