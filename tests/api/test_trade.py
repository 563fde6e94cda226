"""Buyers, sales and prices: for owners and growers, changed and erased, and never in the log."""

import uuid

import pytest

from tests.farms import crate_id, found, lot_id
from tubertrack.apps.accounts.models import Buyer, Sale
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.transfer import export_lines

pytestmark = pytest.mark.django_db
SALE = crate_id(501)
NURSERY = {"name": "Moss Hollow Nursery", "contact": "moss@hollow.example", "note": "pays late"}


def refused(answer, status, code):
    assert (status, code) == (answer.status_code, answer.json()["code"])
    return answer.json()


def post(phone, path, told, status=201):
    answer = phone.client.post(path, told)
    assert status == answer.status_code, answer.content
    return answer.json()


def rows(phone, name):
    return phone.client.get(f"/api/{name}/").json()


def test_a_buyer_is_written_changed_and_erased(farms):
    buyer = post(farms.grower, "/api/buyers/", NURSERY)
    assert {"id": buyer["id"], **NURSERY} == buyer
    path = f"/api/buyers/{buyer['id']}/"
    assert "pays now" == farms.owner.client.patch(path, {"note": "pays now"}).json()["note"]
    assert [{**buyer, "note": "pays now"}] == rows(farms.owner, "buyers")
    sale = post(farms.grower, "/api/sales/", {"id": SALE, "buyer": buyer["id"]})
    assert buyer["id"] == sale["buyer"]
    assert 204 == farms.grower.client.delete(path).status_code
    assert 404 == farms.grower.client.delete(path).status_code
    assert (0, None) == (Buyer.objects.count(), rows(farms.owner, "sales")[0]["buyer"])


def test_a_sale_stands_beside_its_entries(farms):
    farms.owner.append(farms.owner.raw("found", found(1, 10, 1)))
    out = {"lot": lot_id(1), "count": 4, "how": "sold", "sale": SALE}
    farms.owner.append(farms.owner.raw("gone_out", out))
    buyer = post(farms.owner, "/api/buyers/", NURSERY)
    told = {
        "id": SALE,
        "buyer": buyer["id"],
        "price_minor": 2600,
        "currency": "GBP",
        "note": "by post",
    }
    assert told == post(farms.owner, "/api/sales/", told)
    log = "".join(export_lines(farms.farm)) + "".join(map(str, Record.objects.values_list("raw")))
    assert SALE in log
    for secret in ("Moss", "moss@", "2600", "GBP", "by post"):
        assert secret not in log


def test_a_sale_that_comes_again_is_that_one_and_another_s_is_kept(farms):
    told = {"id": SALE, "price_minor": 2600, "currency": "GBP"}
    first = post(farms.owner, "/api/sales/", told)
    assert first == post(farms.owner, "/api/sales/", told, status=200)
    refused(farms.grower.client.post("/api/sales/", {**told, "price_minor": 1}), 409, "sale_there")
    assert [first] == rows(farms.owner, "sales")


def test_a_sale_is_changed_and_taken_away(farms):
    post(farms.owner, "/api/sales/", {"id": SALE, "price_minor": 2600, "currency": "GBP"})
    path = f"/api/sales/{SALE}/"
    client = farms.grower.client
    assert "by post" == client.patch(path, {"note": "by post"}).json()["note"]
    changed = client.patch(path, {"price_minor": None, "id": crate_id(777)}).json()
    assert (None, SALE) == (changed["price_minor"], changed["id"])
    assert 204 == client.delete(path).status_code
    assert 0 == Sale.objects.count()


def test_a_buyer_of_another_farm_is_nobody_here(farms):
    theirs = post(farms.cleo, "/api/buyers/", NURSERY)["id"]
    answer = farms.owner.client.post("/api/sales/", {"id": SALE, "buyer": theirs})
    unknown = farms.owner.client.post("/api/sales/", {"id": SALE, "buyer": str(uuid.uuid4())})
    assert refused(answer, 400, "bad_input") == refused(unknown, 400, "bad_input")
    assert "buyer" in answer.json()["fields"]
    for path in (f"/api/buyers/{theirs}/", f"/api/sales/{SALE}/"):
        assert 404 == farms.owner.client.patch(path, {"note": "x"}).status_code
        assert 404 == farms.owner.client.delete(path).status_code
    assert [theirs] == [one["id"] for one in rows(farms.cleo, "buyers")]
    assert [] == rows(farms.owner, "buyers")


def test_one_sale_id_on_two_farms_is_two_sales(farms):
    post(farms.owner, "/api/sales/", {"id": SALE, "note": "ours"})
    post(farms.cleo, "/api/sales/", {"id": SALE, "note": "theirs"})
    farms.owner.client.delete(f"/api/sales/{SALE}/")
    assert ["theirs"] == [one["note"] for one in rows(farms.cleo, "sales")]


PRICE = {"variety": None, "unit": "tuber", "price_minor": 400, "currency": "EUR"}


def test_the_price_list_has_one_price_for_one_thing(farms):
    variety = lot_id(1)
    every = post(farms.grower, "/api/prices/", PRICE)
    own = post(farms.grower, "/api/prices/", {**PRICE, "variety": variety, "price_minor": 650})
    for told in (PRICE, {**PRICE, "variety": variety}):
        refused(farms.owner.client.post("/api/prices/", told), 409, "price_there")
    post(farms.owner, "/api/prices/", {**PRICE, "currency": "GBP"})
    post(farms.owner, "/api/prices/", {**PRICE, "unit": "clump"})
    path = f"/api/prices/{own['id']}/"
    assert 700 == farms.owner.client.patch(path, {"price_minor": 700}).json()["price_minor"]
    refused(farms.owner.client.patch(path, {"variety": None}), 409, "price_there")
    assert 204 == farms.owner.client.delete(f"/api/prices/{every['id']}/").status_code
    assert 3 == len(rows(farms.owner, "prices"))
    post(farms.cleo, "/api/prices/", PRICE)
    assert 404 == farms.cleo.client.delete(path).status_code


@pytest.mark.parametrize("name", ["buyers", "sales", "prices"])
@pytest.mark.parametrize("role", ["helper", "viewer"])
def test_others_neither_read_nor_write(farms, name, role):
    post(farms.owner, "/api/buyers/", NURSERY)
    client = getattr(farms, role).client
    answer = client.get(f"/api/{name}/")
    refused(answer, 403, "not_permitted")
    assert "Moss" not in str(answer.json())
    refused(client.post(f"/api/{name}/", {}), 403, "not_permitted")


@pytest.mark.parametrize(
    ("path", "told", "field"),
    [
        ("buyers", {"name": ""}, "name"),
        ("buyers", {"name": "   "}, "name"),
        ("buyers", {"name": "x" * 201}, "name"),
        ("buyers", {"name": "a\0b"}, "name"),
        ("buyers", {"contact": "x"}, "name"),
        ("sales", {}, "id"),
        ("sales", {"id": "no id"}, "id"),
        ("sales", {"id": SALE, "price_minor": -1, "currency": "EUR"}, "price_minor"),
        ("sales", {"id": SALE, "price_minor": 1.5, "currency": "EUR"}, "price_minor"),
        ("sales", {"id": SALE, "price_minor": 2**53, "currency": "EUR"}, "price_minor"),
        ("sales", {"id": SALE, "price_minor": 1}, "currency"),
        ("sales", {"id": SALE, "price_minor": 1, "currency": "eur"}, "currency"),
        ("sales", {"id": SALE, "currency": "EURO"}, "currency"),
        ("prices", {**PRICE, "unit": "sack"}, "unit"),
        ("prices", {**PRICE, "variety": "unknown"}, "variety"),
        ("prices", {**PRICE, "price_minor": None}, "price_minor"),
        ("prices", {**PRICE, "currency": ""}, "currency"),
    ],
)
def test_what_does_not_fit_is_said_at_its_field(farms, path, told, field):
    answer = farms.owner.client.post(f"/api/{path}/", told)
    refused(answer, 400, "bad_input")
    assert [field] == list(answer.json()["fields"])
    assert [] == rows(farms.owner, path)


def test_a_price_keeps_its_currency_when_only_one_is_changed(farms):
    post(farms.owner, "/api/sales/", {"id": SALE, "price_minor": 5, "currency": "EUR"})
    answer = farms.owner.client.patch(f"/api/sales/{SALE}/", {"currency": ""})
    refused(answer, 400, "bad_input")
    assert "EUR" == rows(farms.owner, "sales")[0]["currency"]
