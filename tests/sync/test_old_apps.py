"""What an app of any age has ever sent counts for ever, with the effect it had when it was new."""

import json
from pathlib import Path

import pytest

from tests import histories
from tests.corpus.writing import BEFORE, RECORDS, difference
from tests.farms import farm_of_histories
from tests.histories import Written
from tubertrack.apps.records.models import Record
from tubertrack.core.stock import kinds
from tubertrack.core.stock.entries import Entry
from tubertrack.core.stock.fold import Fold, canonical
from tubertrack.core.sync.chain import Link, next_chain
from tubertrack.core.sync.envelope import read_envelope
from tubertrack.core.sync.feed import entry_from
from tubertrack.core.sync.verdicts import verdict

FILES = sorted(RECORDS.glob("*.v*.json"))
ROWS_BEFORE = json.loads(BEFORE.read_text("utf-8"))["rows"]


def link_of(row) -> Link:
    return Link(
        sha256=Written(row["raw"].encode(), 0, "").sha256,
        seq=row["seq"],
        received_at=row["received_at"],
        received_on=row["received_on"],
        recorded_on=row["recorded_on"],
        stamp=tuple(row["stamp_eff"]) if "stamp_eff" in row else None,
        held=row.get("held", ""),
        role=row["role"],
    )


def entry_in(row) -> Entry:
    return entry_from(read_envelope(row["raw"].encode()), link_of(row))


def state_after(rows):
    fold = Fold()
    fold.apply(entry_in(row) for row in rows)
    return json.loads(canonical(fold.state()))


STATE_BEFORE = state_after(ROWS_BEFORE)


def golden(path: Path):
    return json.loads(path.read_text("utf-8"))


def everything():
    """(kind, row) of every golden record."""
    return [(told["kind"], one["row"]) for told in map(golden, FILES) for one in told["records"]]


def test_every_kind_and_version_ever_shipped_has_its_file():
    shipped = {(told["kind"], told["v"]) for told in map(golden, FILES)}
    assert set(kinds.schemas()) == shipped, "run: python -m tests.corpus.writing"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_record_of_then_counts_as_it_did_then(path):
    told = golden(path)
    assert 2 <= len(told["records"])
    for one in told["records"]:
        row = one["row"]
        raw = row["raw"].encode()
        judged = verdict(
            read_envelope(raw),
            size=len(raw),
            role=row["role"],
            farm_id=histories.FARM,
            quarantined=False,
        )
        assert "" == judged, one["what"]
        assert one["changes"] == difference(STATE_BEFORE, state_after([*ROWS_BEFORE, row]))
        chain = next_chain(bytes.fromhex(ROWS_BEFORE[-1]["chain"]), link_of(row))
        assert row["chain"] == chain.hex()


def test_most_records_change_something():
    still = [
        told["kind"]
        for told in map(golden, FILES)
        if not any(one["changes"] for one in told["records"])
    ]
    # A task done, readings in a file, an entry still unknown: pages show the entry itself.
    assert {"logged", "tended", "record_reclassified"} == set(still)


@pytest.mark.django_db
def test_an_app_of_the_first_release_goes_on_pushing_and_pulling():
    """Requests as the first app made them, without any field that came later."""
    phone = next(iter(farm_of_histories().values()))
    texts = [row["raw"] for row in ROWS_BEFORE] + [row["raw"] for _, row in everything()]
    verdicts = []
    for start in range(0, len(texts), 50):
        told = {
            "protocol": 1,
            "device": str(phone.device.pk),
            "records": texts[start : start + 50],
        }
        answer = phone.client.post("/sync/v1/push", told, format="json")
        assert 200 == answer.status_code
        verdicts += [one.get("code", "") for one in answer.json()["verdicts"]]
    wanted = [row.get("held", "") for row in ROWS_BEFORE]
    # What only the server itself may write does not count from a phone.
    wanted += ["not_permitted" if row["role"] == "server" else "" for _, row in everything()]
    assert wanted == verdicts
    pulled, after = [], "0"
    while True:
        page = phone.client.get("/sync/v1/pull", {"after": after}).json()
        if not page["entries"]:
            break
        pulled += [entry["raw"] for entry in page["entries"]]
        after = f"{page['entries'][-1]['seq']}:{page['entries'][-1]['chain']}"
    assert list(dict.fromkeys(texts)) == pulled
    assert len(pulled) == Record.objects.count()


@pytest.mark.django_db
def test_what_only_a_later_app_knows_is_kept_and_does_not_stop_the_older_one(farms):
    owner, helper = farms.owner, farms.helper
    lot = "00000000-0000-4000-8000-0000000a0001"
    tomorrow = [
        owner.raw("graft_taken", {"lot": lot}),
        owner.raw("counted", {"lot": lot, "count": 1, "smell": "sweet"}),
        owner.raw("counted", {"lot": lot, "heap": "two"}, v=2),
        owner.raw("counted", {"lot": lot, "count": 2}, weather="rain"),
    ]
    answer = owner.push(*tomorrow).json()
    codes = [one.get("code", "") for one in answer["verdicts"]]
    assert ["unknown_kind", "", "newer_version", ""] == codes
    assert 200 == helper.push(helper.raw("counted", {"lot": lot, "count": 1})).status_code
    pulled = [entry["raw"].encode() for entry in helper.pull().json()["entries"]]
    assert tomorrow == pulled[:4]
