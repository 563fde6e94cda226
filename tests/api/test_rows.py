"""The lists of the API: what they hold, how they are narrowed, and what they cost."""

import pytest

from tests.api.conftest import CODE, METHOD, VARIETY, stock
from tests.farms import crate_id, found, lot_id, packed, place_id

pytestmark = pytest.mark.django_db
LISTS = (
    "varieties",
    "places",
    "methods",
    "crates",
    "lots",
    "checks",
    "readings",
    "plantings",
    "problems",
    "records",
)


def rows(phone, path, **params):
    answer = phone.client.get(f"/api/{path}/", params)
    assert 200 == answer.status_code, answer.content
    return answer.json()["results"]


def ids(phone, path, **params):
    return {row["id"] for row in rows(phone, path, **params)}


@pytest.mark.parametrize("path", LISTS)
def test_a_list_costs_the_same_for_3_and_30_rows(farms, path, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    costs = []
    for size in (3, 30):
        stock(farms.owner, size)
        with CaptureQueriesContext(
            connection,
        ) as captured:
            found_rows = rows(farms.owner, path)
        assert len(found_rows) >= size
        costs.append(len(captured))
    assert costs[0] == costs[1] <= 6


@pytest.mark.parametrize("path", LISTS)
def test_a_list_comes_in_pages_that_never_overlap(stocked, path):
    seen, page = [], 1
    while True:
        answer = stocked.viewer.client.get(f"/api/{path}/", {"page": page, "page_size": 2}).json()
        seen += [row.get("sha256") or row["id"] for row in answer["results"]]
        if answer["next"] is None:
            break
        page += 1
    assert answer["count"] == len(seen) == len(set(seen))
    assert 404 == stocked.viewer.client.get(f"/api/{path}/", {"page": page + 1}).status_code


@pytest.mark.parametrize("path", LISTS)
def test_one_row_is_found_by_its_id(stocked, path):
    for row in rows(stocked.viewer, path):
        key = row.get("sha256") or row["id"]
        one = stocked.viewer.client.get(f"/api/{path}/{key}/")
        assert 200 == one.status_code
        assert row == {name: value for name, value in one.json().items() if name in row}
    assert 404 == stocked.viewer.client.get(f"/api/{path}/nothing/").status_code


def test_a_crate_shows_what_lies_in_it_and_when_it_is_due(stocked):
    [crate] = rows(stocked.viewer, "crates", code=CODE)
    assert ("01", "Stone cellar") == (
        crate["number"],
        {row["id"]: row["name"] for row in rows(stocked.viewer, "places")}[crate["place"]],
    )
    assert "2024-11-28" == crate["due_on"]
    [lot] = crate["lots"]
    assert (lot_id(1), "Pim Haddersley", 9, 10) == (
        lot["id"],
        lot["variety_name"],
        lot["balance"],
        lot["packed_count"],
    )
    assert crate["mass_g"] is crate["emptied_on"] is None


def test_crates_by_place_method_and_due(stocked):
    owner = stocked.owner
    owner.append(
        owner.raw("found", found(9, 4, 9)),
        owner.raw("packed", packed(9, 4, 9)),
        owner.raw("counted", {"lot": lot_id(3), "count": 0}),
    )
    three = {crate_id(n) for n in (1, 2, 3)}
    assert three == ids(owner, "crates", place=place_id(1)) == ids(owner, "crates", method=METHOD)
    assert set() == ids(owner, "crates", due="2024-11-27")
    assert {crate_id(n) for n in (1, 2, 9)} == ids(owner, "crates", due="2024-11-28")
    assert [crate_id(n) for n in (3, 2, 1, 9)] == [
        row["id"] for row in rows(owner, "crates", ordering="-number")
    ]


def test_lots_by_variety_unit_eyes_crate_and_winter(stocked):
    owner = stocked.owner
    owner.append(
        owner.raw("found", {"lot": lot_id(8), "unit": "clump", "count": 2, "eyes": "showing"}),
        owner.raw("found", found(9, 4, 9)),
        owner.raw("packed", packed(9, 4, 9), occurred_on="2024-06-30"),
    )
    three = {lot_id(n) for n in (1, 2, 3)}
    assert three == ids(owner, "lots", variety=VARIETY)
    assert {lot_id(8)} == ids(owner, "lots", unit="clump") == ids(owner, "lots", eyes="showing")
    assert {lot_id(2)} == ids(owner, "lots", crate=crate_id(2))
    assert three == ids(owner, "lots", winter="2024/25")
    assert {lot_id(9)} == ids(owner, "lots", winter="2023/24")
    assert {lot_id(n) for n in (501, 502, 503)} <= ids(owner, "lots")


def test_winters_of_the_south_lie_in_one_year(stocked):
    owner = stocked.owner
    setting = {"table": "settings", "row": str(stocked.farm.pk), "field": "hemisphere"}
    owner.append(owner.raw("field_set", {**setting, "value": "south"}))
    assert 3 == len(ids(owner, "lots", winter="2024"))
    assert 0 == len(ids(owner, "lots", winter="2025"))


@pytest.mark.parametrize(
    "winter", ["2024", "2024/26", "24/25", "x", "9999/00", "0000/01", "²024/25"]
)
def test_a_winter_of_another_form_is_refused(stocked, winter):
    answer = stocked.owner.client.get("/api/lots/", {"winter": winter})
    assert 400 == answer.status_code
    assert "like 2026/27" in answer.json()["fields"]["winter"][0]


def test_a_lot_shows_where_it_has_lain(stocked):
    lot = stocked.owner.client.get(f"/api/lots/{lot_id(1)}/").json()
    assert [("found", None), ("packed", METHOD)][-1] == (
        lot["stays"][-1]["entered"],
        lot["stays"][-1]["method"],
    )
    assert ("Pim Haddersley", "01", {"store": {"rot": 1}}) == (
        lot["variety_name"],
        lot["crate_name"],
        lot["thrown"],
    )


def test_a_check_has_its_lines_and_says_who_on_which_phone(stocked):
    [check] = rows(stocked.owner, "checks", crate=crate_id(2))
    assert ("Ana", "Ana's phone") == (check["author_name"], check["device_name"])
    assert [(lot_id(2), {"rot": 1}, None)] == [
        (line["lot"], line["removed"], line["seen"]) for line in check["lines"]
    ]
    assert [check] == rows(stocked.owner, "checks", lot=lot_id(2))
    assert [] == rows(stocked.owner, "checks", to_day="2024-11-13")


def test_a_problem_names_its_entries_with_who_and_when(stocked):
    problem = rows(stocked.owner, "problems", code="no_origin")[0]
    [entry] = problem["entries"]
    assert ("Ana", "counted", "2024-11-14") == (
        entry["author_name"],
        entry["kind"],
        entry["occurred_on"],
    )
    assert [] == rows(stocked.owner, "problems", accepted="true")


def test_what_was_set_aside_says_why_and_by_which_phone(stocked):
    raw = stocked.viewer.raw("emptied", {"crate": crate_id(1)})
    stocked.helper.append(raw)
    aside = rows(stocked.owner, "records", set_aside="true")
    assert 4 == len(aside)
    assert ("Vi", "Vi's phone", "Ben's phone", "not_permitted", "viewer") == tuple(
        aside[0][name] for name in ("author_name", "device_name", "relayed_by_name", "held", "role")
    )
    assert "may not write" in aside[0]["why_aside"]
    assert (None, None) == (aside[1]["kind"], aside[1]["body"])
    sha = aside[0]["sha256"]
    decide = {"target": sha, "decision": "accept"}
    stocked.owner.append(stocked.owner.raw("held_resolved", decide))
    one = stocked.owner.client.get(f"/api/records/{sha}/").json()
    assert (False, "not_permitted", raw.decode()) == (one["set_aside"], one["held"], one["raw"])


def test_records_by_kind_and_number(stocked):
    assert {"checked"} == {row["kind"] for row in rows(stocked.owner, "records", kind="checked")}
    assert [37, 36] == [row["seq"] for row in rows(stocked.owner, "records", after=35)]


@pytest.mark.parametrize(
    ("path", "params", "field"),
    [
        ("crates", {"due": "soon"}, "due"),
        ("crates", {"archived": "perhaps"}, None),
        ("records", {"device": "x"}, "device"),
        ("records", {"after": "x"}, "after"),
        ("checks", {"from_day": "2026-02-30"}, "from_day"),
    ],
)
def test_a_filter_of_the_wrong_form_is_a_sentence_or_nothing(stocked, path, params, field):
    answer = stocked.owner.client.get(f"/api/{path}/", params)
    if field is None:
        assert 200 == answer.status_code
    else:
        assert 400 == answer.status_code
        assert [field] == list(answer.json()["fields"])


@pytest.mark.parametrize(
    "text", ["a\0b", "%00", "\ud800".encode("utf-8", "surrogatepass"), "'; --"]
)
def test_strange_texts_in_filters_find_nothing(stocked, text):
    for path, name in (("varieties", "name"), ("crates", "number"), ("records", "kind")):
        answer = stocked.owner.client.get(f"/api/{path}/", {name: text})
        assert answer.status_code in (200, 400)
        if answer.status_code == 200:
            assert 0 == answer.json()["count"]
