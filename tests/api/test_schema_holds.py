"""Every operation of the served OpenAPI file, called by everybody with what it allows and what not.

Schemathesis makes the requests; the farm's log takes what it must. A 500, an answer that the file does
not describe, or a byte of the other farm's fails. `--fuzz-examples N` asks more of each.
"""

from __future__ import annotations

import random
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.db import close_old_connections, transaction
from django.test import Client
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.api.conftest import stock
from tests.farms import Phone, TwoFarms, crate_id, phone_of, two_farms
from tests.security.bodies import Bodies, kinds
from tubertrack.apps.accounts.rates import RATES
from tubertrack.config.wsgi import application

pytestmark = pytest.mark.django_db

SCHEMA = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
SCHEMA.app = application
OPERATIONS = [found.ok() for found in SCHEMA.get_all_operations()]
ROLES = ("owner", "grower", "helper", "viewer")
CALLERS = (*ROLES, "quarantined", "revoked", "session", "nobody")
SECRETS = (
    "Otherfarm-Wessel",
    "Otherperson-Jorun",
    "Otherphone-Kadlin",
    "Othervariety-Sprenk",
    "Otherbuyer-Pell",
)
"""Words of the other farm that no request ever holds."""


def no_leak(ctx: Any, response: Any, case: Any) -> None:
    """Nothing of the other farm is in the answer, headers included."""
    told = response.content + str(dict(response.headers)).encode()
    seen = [word for word in SECRETS if word.encode() in told]
    if seen:
        raise AssertionError(f"{case.method} {case.path} showed {seen}")


CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
    no_leak,
)


@contextmanager
def one_connection() -> Iterator[None]:
    """As Django's own test client: the test's transaction outlives each request."""
    ends = (request_started, request_finished)
    for signal in ends:
        signal.disconnect(close_old_connections)
    try:
        yield
    finally:
        for signal in ends:
            signal.connect(close_old_connections)


@dataclass
class World:
    """Two stocked farms and everybody who may come to the first one's door."""

    farms: TwoFarms
    headers: dict[str, dict[str, str]]
    ids: dict[str, list[str]]

    def ids_below(self, path: str) -> list[str]:
        """Ids of both farms for the addresses that begin with this path."""
        if path not in self.ids:
            self.ids[path] = []
            for phone in (self.farms.owner, self.farms.cleo):
                answer = phone.client.get(path)
                told = answer.json() if answer.status_code == 200 else []
                rows = told.get("results", []) if isinstance(told, dict) else told
                for row in rows[-2:]:
                    self.ids[path].append(str(row.get("sha256") or row["id"]))
        return self.ids[path]


def world() -> World:
    farms = two_farms()
    other, theirs = farms.other, farms.cleo.device
    other.name, theirs.member.name, theirs.name = SECRETS[:3]
    for row in (other, theirs.member, theirs):
        row.save()
    stock(farms.owner, 2)
    stock(farms.cleo, 3)
    body = {"table": "varieties", "row": crate_id(77), "field": "name", "value": SECRETS[3]}
    farms.cleo.append(farms.cleo.raw("field_set", body))
    trade(farms.owner, "Marnie Oxley")
    trade(farms.cleo, SECRETS[4])
    return World(farms, headers_of(farms), {})


def trade(phone: Phone, name: str) -> None:
    """A buyer, a sale and a price, which are kept off the log."""
    sale = {"id": str(uuid.uuid4()), "buyer": None, "price_minor": 450, "currency": "EUR"}
    price = {"id": str(uuid.uuid4()), "variety": None, "unit": "tuber"}
    for path, told in (
        ("/api/buyers/", {"name": name, "contact": name, "note": name}),
        ("/api/sales/", {**sale, "note": name}),
        ("/api/prices/", {**price, "price_minor": 450, "currency": "EUR"}),
    ):
        answer = phone.client.post(path, told, format="json")
        assert answer.status_code in (200, 201), (path, answer.content)


def headers_of(farms: TwoFarms) -> dict[str, dict[str, str]]:
    """How each caller shows who they are."""
    member = farms.owner.device.member
    lost, back = phone_of(member), phone_of(member)
    lost.device.revoked_at = lost.device.created_at
    back.device.quarantined = True
    lost.device.save()
    back.device.save()
    phones: dict[str, Phone] = {**farms.phones, "quarantined": back, "revoked": lost}
    browser = Client()
    browser.force_login(member.user)
    token = browser.get("/api/session/").json()["csrf"]
    cookies = "; ".join(f"{name}={each.value}" for name, each in browser.cookies.items())
    return {
        **{who: {"Authorization": f"Bearer {phone.token}"} for who, phone in phones.items()},
        "session": {"Cookie": cookies, "X-CSRFToken": token},
        "nobody": {},
    }


def cases(operation: Any) -> st.SearchStrategy[Any]:
    """Requests that the file allows, some that it does not, and a choice of ids to put in."""
    sorts = [operation.as_strategy(generation_mode=GenerationMode.POSITIVE)]
    if operation.body or operation.query or operation.path_parameters:
        sorts.append(operation.as_strategy(generation_mode=GenerationMode.NEGATIVE))
    return st.tuples(st.one_of(sorts), st.integers(0, 5))


def with_real_ids(case: Any, here: World, pick: int) -> Any:
    """Half of the requests are about something that is there, on this farm or on the other."""
    for name in case.path_parameters or {}:
        ids = here.ids_below(case.operation.path.split("{")[0])
        if pick % 2 and ids:
            case.path_parameters[name] = ids[pick % len(ids)]
    if pick % 2 and isinstance(case.body, dict):
        if "targets" in case.body:
            case.body["targets"] = [crate_id(1)]
        for name, path in (("member", "/api/members/"), ("device", "/api/devices/")):
            ids = here.ids_below(path)
            if name in case.body and ids:
                case.body[name] = ids[pick % len(ids)]
    return case


def examples(config: pytest.Config, operation: Any, who: str) -> int:
    told = int(config.getoption("--fuzz-examples", default=0) or 0)
    makes_pages = "pdf" in operation.path or "calibration" in operation.path
    if told:
        return told // 10 or 1 if makes_pages else told
    if makes_pages:
        return 2 if who in ("owner", "viewer") else 1
    return 8 if who == "owner" else 3


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda one: f"{one.method} {one.path}")
def test_what_is_served_is_what_is_described(operation, pytestconfig):
    here = world()
    strategy = cases(operation)
    called = {who: call_as(who, here, strategy, pytestconfig, operation) for who in CALLERS}
    assert min(called.values()) >= 1, called


def call_as(who: str, here: World, strategy: Any, config: pytest.Config, operation: Any) -> int:
    called = 0

    @settings(
        max_examples=examples(config, operation, who),
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(told=strategy)
    def call(told: tuple[Any, int]) -> None:
        nonlocal called
        case, pick = told
        cache.clear()
        RATES.left.clear()
        with transaction.atomic():  # each request meets the farm as it was
            asked = with_real_ids(case, here, pick)
            with one_connection():
                asked.call_and_validate(headers=here.headers[who], checks=CHECKS)
            transaction.set_rollback(True)
        called += 1

    call()
    return called


READS = [one for one in OPERATIONS if one.method == "get" and "{" not in one.path]


@pytest.mark.parametrize("seed", range(3))
def test_whatever_counts_can_be_shown(seed, pytestconfig):
    """Records made from the kinds' schemas, with any text, fold into answers that the file describes."""
    here = world()
    owner = here.farms.owner
    rnd = random.Random(seed)
    bodies = Bodies(rnd, lambda _: "".join(chr(rnd.choice(ODD)) for _ in range(rnd.randint(0, 9))))
    more = int(pytestconfig.getoption("--fuzz-examples", default=0) or 0)
    per_kind = min(10, max(2, more))  # they are about three lots, which grow tangled
    stored = 0
    for _ in range(per_kind):
        for kind, version in kinds():
            raw = owner.raw(kind, bodies.body(kind, version), v=version)
            [verdict] = owner.append(raw)
            bodies.targets.append(verdict.sha256)
            stored += verdict.verdict == "stored"
    assert stored > 0.9 * per_kind * len(kinds())
    for operation in READS:
        query = {"after": "0"} if operation.path.endswith("pull") else {}
        for who in ("owner", "viewer"):
            case = operation.Case(query=query)
            with one_connection():
                case.call_and_validate(headers=here.headers[who], checks=CHECKS)


ODD = (
    0, 9, 10, 13, 0x20, 0x22, 0x26, 0x27, 0x2B, 0x3C, 0x3D, 0x40, 0x61, 0x301, 0x202E, 0x2066, 0x200B,
    0xD800, 0xDFFF, 0xFEFF, 0xFFFE, 0x1F331, 0x10FFFF,
)  # fmt: skip
