"""Two farms on one server with the same ids and codes: nothing of one can be had, changed or felt by the other.

Every address, method, parameter and body field of the served OpenAPI file is tried with what belongs
to the other farm, and must answer as it does to what nobody has.
"""

import re

import pytest
from rest_framework.test import APIClient

from tests.api.apart import (
    SECRET,
    all_rows,
    ask,
    fill_empty_tables,
    ids_of,
    made_up,
    named_by,
    operations,
    rows_of,
    tables_of_a_farm,
    with_word,
    words_in,
    write_secret_names,
)
from tests.api.conftest import stock
from tests.api.test_walls import LEAST, addresses
from tests.farms import crate_id, phone_of
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.records import warm
from tubertrack.core.stock.kinds import roles

pytestmark = pytest.mark.django_db
OPERATIONS = operations()
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def in_openapi(path: str) -> str:
    """An address of the resolver as the OpenAPI file writes it."""
    return "/" + re.sub(r"\(\?P<(\w+)>[^)]*\)|<(?:\w+:)?(\w+)>", r"{\1\2}", path)


BEHIND_THE_WALL = {
    (method, in_openapi(path))
    for path, view in addresses()
    for method in LEAST[path]
    if issubclass(getattr(view, "cls", object), FarmView) and LEAST[path][method] in roles()
}
# Pages are laid out for seconds each: asked once, not with every id.
SLOW = ("/api/reports/losses.pdf", "/api/labels/pdf/", "/api/labels/blanks/")


def filled(path: str, word: str) -> str:
    return re.sub(r"{\w+}", word, path)


class Apart:
    """Ana's farm asks; Cleo's farm is full of things of her own."""

    def __init__(self, farms) -> None:
        self.farms = farms
        stock(farms.owner)
        stock(farms.cleo, 5)
        body = {"table": "varieties", "row": crate_id(77), "field": "name", "value": SECRET}
        farms.cleo.append(farms.cleo.raw("field_set", body))
        fill_empty_tables(farms.farm, "Ana's own")
        fill_empty_tables(farms.other, SECRET)
        write_secret_names(farms.other)
        warm.forget_all()
        own = set().union(*ids_of(farms.farm).values())
        self.ids = {name: sorted(ids - own) for name, ids in ids_of(farms.other).items()}
        self.marks = [SECRET, *(one for ids in self.ids.values() for one in ids)]
        theirs = [
            [name for name in names if name in self.marks]
            for names in named_by(farms.other).values()
        ]
        self.one_of_each = [SECRET, *dict.fromkeys(names[0] for names in theirs if names)]
        self.owner = farms.farm.members.exclude(user=None).get()
        self.asked = 0

    def client(self):
        """A new phone of Ana's: each has an allowance of its own."""
        return phone_of(self.owner).client

    def as_if_nobodys(self, ask_with, words):
        """Pairs of answers: to each of the other farm's words, and to one like it that nobody has."""
        nobodys = {}
        for theirs in words:
            form = (len(theirs), "-" in theirs)
            if form not in nobodys:
                word = "Nobody Anywhere At" if theirs == SECRET else made_up(theirs)
                nobodys[form] = (word, ask_with(word, []))
            word, answer = nobodys[form]
            yield theirs, ask_with(theirs, [theirs]), answer, answer.about(word)

    def ask(self, client, *request, sent=(), **told):
        """The answer, in which nothing of the other farm stands but what was sent."""
        self.asked += 1
        answer = ask(client, *request, **told)
        shown = answer.content.decode("utf-8", "replace") + answer.headers
        found = [mark for mark in self.marks if mark in shown and mark not in sent]
        assert [] == found, request
        assert answer.status < 500, request
        return answer


@pytest.fixture
def apart(farms):
    return Apart(farms)


def test_every_address_behind_the_wall_is_described_and_so_tried():
    described = {(one.method, one.path) for one in OPERATIONS}
    assert len(BEHIND_THE_WALL) > 40
    assert described >= BEHIND_THE_WALL


def test_both_farms_have_rows_in_every_table_and_the_other_has_ids_of_its_own(apart):
    for model in tables_of_a_farm():
        assert rows_of(apart.farms.farm, model).exists(), model
        assert rows_of(apart.farms.other, model).exists(), model
    assert {"Farm", "Member", "Device", "Record", "Crate", "Lot"} <= {
        name for name, ids in apart.ids.items() if ids
    }
    assert len(apart.marks) > 50


def test_nothing_of_another_farm_stands_in_any_answer(apart):
    """With and without a body, by the owner's phone, by her browser and by nobody."""
    browser = APIClient()
    browser.force_login(apart.owner.user)
    for operation in OPERATIONS:
        path = filled(operation.path, crate_id(1))
        for client in (apart.client(), browser, APIClient()):
            apart.ask(client, operation.method, path, operation.body())
    assert apart.asked == 3 * len(OPERATIONS)


def test_an_id_of_another_farm_in_an_address_is_answered_like_one_that_nobody_has(apart):
    tried = 0
    for operation in OPERATIONS:
        if not operation.in_path:
            continue
        client, method, body = apart.client(), operation.method, operation.body()

        def ask_with(word, sent):
            return apart.ask(client, method, filled(operation.path, word), body, sent=sent)  # noqa: B023

        for theirs, answer, _, nobodys in apart.as_if_nobodys(ask_with, apart.one_of_each[1:]):
            assert answer.about(theirs) == nobodys, (operation, theirs)
            assert 404 == answer.status, (operation, theirs)
            tried += 1
    assert tried > 100


def test_every_method_of_every_address_keeps_the_wall(apart):
    """Also those that an address does not serve."""
    for path in dict.fromkeys(one.path for one in OPERATIONS if one.path not in SLOW):
        client = apart.client()
        for method in METHODS:

            def ask_with(word, sent):
                return apart.ask(client, method, filled(path, word), sent=sent)  # noqa: B023

            for theirs, answer, _, nobodys in apart.as_if_nobodys(ask_with, apart.ids["Crate"][:1]):
                assert answer.about(theirs) == nobodys, (method, path)


def test_a_filter_by_what_another_farm_has_finds_what_nobody_has(apart):
    tried = 0
    for operation in OPERATIONS:
        if operation.in_path or operation.path in SLOW:
            continue
        client = apart.client()
        for name in operation.in_query():

            def ask_with(word, sent):
                query = {name: word}  # noqa: B023
                return apart.ask(client, "GET", operation.path, query=query, sent=sent)  # noqa: B023

            for theirs, answer, _, nobodys in apart.as_if_nobodys(ask_with, apart.one_of_each):
                assert answer.about(theirs) == nobodys, (operation, name)
                tried += 1
    assert tried > 100


def test_an_id_of_another_farm_in_a_body_is_answered_like_one_that_nobody_has(apart):
    """A refusal is the same refusal; what is taken shows nothing of what the id stands for."""
    tried = 0
    for operation in OPERATIONS:
        body = operation.body()
        behind = (operation.method, operation.path) in BEHIND_THE_WALL
        if body is None or not behind or operation.path in SLOW:
            continue
        path = filled(operation.path, crate_id(1))
        tries = [(place, one) for place in words_in(body) for one in operation.bodies_with(place)]
        for at, told in tries:
            client = apart.client()

            def ask_with(word, sent):
                changed = with_word(told, at, word)  # noqa: B023
                return apart.ask(client, operation.method, path, changed, sent=sent)  # noqa: B023

            words = apart.one_of_each[1:]
            for theirs, answer, other, nobodys in apart.as_if_nobodys(ask_with, words):
                assert answer.status == other.status, (operation, at, theirs)
                if answer.status >= 400:
                    assert answer.about(theirs) == nobodys, (operation, at)
                tried += 1
    assert tried > 100


def test_a_cursor_of_another_farm_is_answered_like_one_that_was_made_up(apart):
    client = apart.client()
    told = apart.farms.cleo.pull().json()
    cursors = [(one["seq"], one["chain"]) for one in told["entries"]] + [tuple(told["head"])]
    assert len(cursors) > 10
    for seq, chain in cursors:
        answers = [
            apart.ask(client, "GET", f"/sync/v1/pull?after={seq}:{word}", sent=[chain])
            for word in (chain, made_up(chain))
        ]
        assert 409 == answers[0].status
        assert answers[0].content == answers[1].content


def test_the_same_push_on_two_farms_is_told_nothing_of_the_other(apart):
    """Their very bytes: stored as one's own, set aside, and never called a duplicate."""
    raws = [entry["raw"] for entry in apart.farms.cleo.pull().json()["entries"]]
    raws = [raw for raw in raws if '"farm"' in raw and SECRET not in raw]
    verdicts = apart.farms.owner.push(*raws).json()["verdicts"]
    assert len(verdicts) > 10
    assert {("held", "wrong_farm")} == {(one["verdict"], one["code"]) for one in verdicts}
    # Their author and phone are named on Ana's entries now, but Ana's farm knows no such names.
    for operation in OPERATIONS:
        if operation.method == "GET" and not operation.in_path:
            answer = ask(apart.client(), "GET", operation.path)
            assert SECRET.encode() not in answer.content, operation


def test_nothing_that_one_farm_asks_changes_a_row_of_the_other(apart):
    """All requests with the other's ids again, this time kept."""
    before = all_rows(apart.farms.other)
    for operation in OPERATIONS:
        behind = (operation.method, operation.path) in BEHIND_THE_WALL
        if not behind or operation.path in SLOW or operation.method == "GET":
            continue
        client = apart.client()
        for theirs in apart.one_of_each[1:]:
            path = filled(operation.path, theirs)
            body = operation.body()
            bodies = [body] + [with_word(body, at, theirs) for at in words_in(body)]
            for told in bodies if body is not None else [{}]:
                getattr(client, operation.method.lower())(path, told, format="json")
    assert before == all_rows(apart.farms.other)
