"""Nobody asks without end, and no honest phone is ever held up."""

from __future__ import annotations

import threading

import pytest

from tests.api.conftest import stock
from tests.api.test_walls import addresses
from tests.farms import crate_id
from tubertrack.apps.accounts import rates
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.rates import ALLOWANCES, DeviceRate, Rates
from tubertrack.apps.paper import pdf
from tubertrack.apps.sync.selectors import MOST_ENTRIES
from tubertrack.apps.sync.services import MOST_RECORDS

RECORDS = 200_000


class Clock:
    now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def memory(monkeypatch, clock):
    fresh = Rates(clock)
    monkeypatch.setattr(rates, "RATES", fresh)
    return fresh


def test_a_phone_that_catches_up_on_200000_entries_is_never_held_up(clock):
    memory = Rates(clock)
    requests = RECORDS // MOST_RECORDS + RECORDS // MOST_ENTRIES
    assert 1400 == requests
    # Worst of all for it: a server so fast that no time passes.
    assert [0.0] == list({memory.wait_s("phone", "sync") for _ in range(requests)})


def test_who_asks_without_end_is_told_when_to_come_back_and_then_let_in(clock):
    memory = Rates(clock)
    taken = 0
    while not (wait_s := memory.wait_s("phone", "pdf")):
        taken += 1
    assert (15, 5.0) == (taken, wait_s)
    assert 0 == memory.wait_s("phone", "sync")
    assert 0 == memory.wait_s("another", "pdf")
    clock.now_s += 4
    assert pytest.approx(1.0) == memory.wait_s("phone", "pdf")
    clock.now_s += 1.01
    assert 0 == memory.wait_s("phone", "pdf")
    clock.now_s += 1e9  # an allowance never grows beyond what it is
    assert 15 == sum(not memory.wait_s("phone", "pdf") for _ in range(100))


def test_devices_that_rest_are_forgotten(clock, monkeypatch):
    monkeypatch.setattr(rates, "MOST_REMEMBERED", 100)
    memory = Rates(clock)
    for n in range(1000):
        clock.now_s += 1
        memory.wait_s(str(n), "sync")
    assert len(memory.left) <= 100


def test_every_view_of_the_farm_has_an_allowance():
    views = {view.cls for _, view in addresses() if issubclass(getattr(view, "cls", int), FarmView)}
    assert len(views) > 15
    for view in views:
        assert DeviceRate in view.throttle_classes, view
        assert view.allowance in ALLOWANCES, view


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("method", "path", "what"),
    [
        ("post", "/sync/v1/push", "sync"),
        ("get", "/sync/v1/pull", "sync"),
        ("get", "/api/crates/", "pages"),
        ("get", "/api/reports/losses/", "reports"),
        ("get", "/api/reports/losses.csv", "reports"),
        ("get", "/api/reports/losses.pdf", "pdf"),
        ("post", "/api/labels/pdf/", "pdf"),
        ("get", "/api/labels/calibration/", "pdf"),
    ],
)
def test_beyond_its_allowance_a_device_is_refused_with_a_time(farms, memory, method, path, what):
    who = f"Device {farms.owner.device.pk}"
    while not memory.wait_s(who, what):
        pass
    answer = getattr(farms.owner.client, method)(path, {}, format="json")
    assert (429, "too_many_requests") == (answer.status_code, answer.json()["code"])
    assert int(answer["Retry-After"]) >= 1
    others = getattr(farms.viewer.client, method)(path, {}, format="json")
    assert 429 != others.status_code


@pytest.mark.django_db
def test_a_refused_push_stores_nothing_and_comes_in_later(farms, memory, clock):
    phone = farms.owner
    raw = phone.raw("emptied", {"crate": crate_id(1)})
    while not memory.wait_s(f"Device {phone.device.pk}", "sync"):
        pass
    assert 429 == phone.push(raw).status_code
    clock.now_s += 60
    assert [] == phone.pull().json()["entries"]
    assert "stored" == phone.push(raw).json()["verdicts"][0]["verdict"]


@pytest.mark.django_db
def test_the_third_who_wants_a_pdf_is_told_that_two_are_before_them(farms):
    """Threads that wait for pages would be missing to phones that push."""
    stock(farms.owner, 1)
    holding, may_end = threading.Event(), threading.Event()

    def long_job() -> None:
        with pdf._turn():
            holding.set()
            may_end.wait(30)

    first = threading.Thread(target=long_job)
    first.start()
    assert holding.wait(30)
    assert pdf._ROOM.acquire(blocking=False)  # the second, who waits
    try:
        told = {"kind": "crate", "targets": [crate_id(1)]}
        stocks = farms.owner.client.get("/api/labels/stocks/").json()
        told["stock"] = stocks[0]["key"]
        for answer in (
            farms.owner.client.post("/api/labels/pdf/", told, format="json"),
            farms.owner.client.get("/api/reports/losses.pdf"),
        ):
            assert (503, "printing_busy") == (answer.status_code, answer.json()["code"])
            assert "10" == answer["Retry-After"]
    finally:
        pdf._ROOM.release()
        may_end.set()
        first.join()
    assert 200 == farms.owner.client.get("/api/reports/losses.pdf").status_code
