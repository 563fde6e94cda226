"""Who may write what, through the real write path: every kind by every role, and relayed by every role."""

import json
from itertools import product
from pathlib import Path

import pytest

from tests.corpus.writing import RECORDS
from tests.farms import NOON, Phone, crate_id, found, lot_id
from tubertrack.apps.accounts.models import Device, Member
from tubertrack.apps.records.models import HeldEntry, Lot, Record
from tubertrack.apps.records.reclassify import reclassify
from tubertrack.apps.records.services import append, rebuild
from tubertrack.core.stock import kinds

pytestmark = pytest.mark.django_db

TOLD = json.loads((Path(__file__).parents[1] / "reference" / "rights.json").read_text("utf-8"))
ROLES = TOLD["roles"]
LEAST = {kind: role for role, of_role in TOLD["from"].items() for kind in of_role}


def may(role: str, kind: str) -> bool:
    return role in ROLES and ROLES.index(role) >= ROLES.index(LEAST[kind])


def bodies():
    """A body that fits, for every kind."""
    for kind in sorted(kinds.ranks()):
        told = json.loads((RECORDS / f"{kind}.v1.json").read_text("utf-8"))
        yield kind, json.loads(told["records"][1]["row"]["raw"])["body"]


@pytest.fixture
def phones(farms):
    """A device of each role, the farm's own server among them."""
    server = Device.objects.get(farm=farms.farm, sort="server")
    return {**farms.phones, "server": Phone(server, "")}


def author_of(phone: Phone) -> str:
    return str(phone.device.member_id or phone.device.pk)


def test_every_kind_has_its_row():
    assert set(kinds.ranks()) == set(LEAST)
    assert set(kinds.roles()) == set(ROLES)


@pytest.mark.parametrize("role", ROLES)
def test_every_kind_by_every_role(phones, role):
    phone = phones[role]
    told = list(bodies())
    raws = [phone.raw(kind, body, author=author_of(phone)) for kind, body in told]
    found = {kind: v.code for (kind, _), v in zip(told, phone.append(*raws), strict=True)}
    assert found == {kind: "" if may(role, kind) else "not_permitted" for kind, _ in told}
    assert {role} == set(Record.objects.values_list("role", flat=True))


def test_relayed_records_have_the_lesser_rights_of_author_and_pusher(phones):
    """Each author over each phone, for a kind of each least role."""
    samples = {LEAST[kind]: (kind, body) for kind, body in bodies()}
    number = 0
    for author, pusher, least in product(ROLES, ROLES, samples):
        kind, body = samples[least]
        number += 1
        raw = phones[author].raw(kind, body, author=author_of(phones[author]))
        [verdict] = phones[pusher].append(raw)
        role = min(author, pusher, key=ROLES.index)
        record = Record.objects.get(seq=verdict.seq)
        assert role == record.role, (author, pusher)
        assert verdict.code == ("" if may(role, kind) else "not_permitted"), (author, pusher, kind)
        relayed = None if author == pusher else phones[pusher].device.pk
        assert relayed == record.relayed_by_id
    assert number == len(ROLES) ** 2 * len(samples)


def test_a_member_of_another_farm_has_no_rights_here(farms):
    raw = farms.owner.raw(
        "emptied", {"crate": crate_id(1)}, author=str(farms.cleo.device.member_id)
    )
    [verdict] = farms.owner.append(raw)
    assert "not_permitted" == verdict.code
    assert "" == Record.objects.get().role


def test_the_role_at_receipt_stays_whatever_the_person_becomes(farms):
    helper = farms.helper
    sold = farms.owner.raw("gone_out", {"lot": lot_id(1), "count": 2, "how": "sold"})
    farms.owner.append(farms.owner.raw("found", found(1, 9, 1)), sold)
    [stored] = farms.owner.append(sold)
    early = helper.raw("record_voided", {"target": stored.sha256})
    helper.append(early)
    Member.objects.filter(pk=helper.device.member_id).update(role="grower")
    assert 7 == Lot.objects.get().balance
    helper.device = Device.objects.select_related("member").get(pk=helper.device.pk)
    assert "duplicate" == helper.append(early)[0].verdict
    assert 7 == Lot.objects.get().balance
    helper.append(helper.raw("record_voided", {"target": stored.sha256}))
    assert 9 == Lot.objects.get().balance
    assert ["owner", "owner", "helper", "grower"] == list(
        Record.objects.order_by("seq").values_list("role", flat=True)
    )
    assert [] == rebuild(farms.farm.pk)


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("record_voided", {}),
        ("record_corrected", {"body": {"lot": lot_id(1), "count": 0, "how": "sold"}}),
    ],
)
def test_a_helpers_mending_of_anothers_entry_waits_for_a_grower(farms, kind, more):
    sold = farms.owner.raw("gone_out", {"lot": lot_id(1), "count": 2, "how": "sold"})
    _, stored = farms.owner.append(farms.owner.raw("found", found(1, 9, 1)), sold)
    [mend] = farms.helper.append(farms.helper.raw(kind, {"target": stored.sha256, **more}))
    assert ("stored", 7) == (mend.verdict, Lot.objects.get().balance)
    [shown] = farms.viewer.client.get("/api/problems/").json()["results"]
    assert "not_allowed" == shown["code"]
    assert f"not_allowed:{mend.sha256}" == shown["id"]
    accept = {"problem": shown["id"]}
    [refused] = farms.helper.append(farms.helper.raw("problem_accepted", accept))
    assert ("not_permitted", 7) == (refused.code, Lot.objects.get().balance)
    farms.grower.append(farms.grower.raw("problem_accepted", accept))
    assert 9 == Lot.objects.get().balance
    assert [] == rebuild(farms.farm.pk)


def test_what_a_quarantined_phone_sends_counts_when_the_owner_says_so(farms):
    Device.objects.filter(pk=farms.grower.device.pk).update(quarantined=True)
    farms.grower.device.refresh_from_db()
    held, left = farms.grower.append(
        farms.grower.raw("found", found(1, 5, 1)), farms.grower.raw("found", found(2, 6, 1))
    )
    assert ("quarantined", 0) == (held.code, Lot.objects.count())
    resolve = [("accept", held.sha256), ("leave", left.sha256)]
    for decision, sha in resolve:
        body = {"target": sha, "decision": decision}
        [by_grower] = farms.grower.append(farms.grower.raw("held_resolved", body))
        assert by_grower.code in ("quarantined", "not_permitted")
        farms.owner.append(farms.owner.raw("held_resolved", body))
    assert 5 == Lot.objects.get().balance
    assert 0 == reclassify(farms.farm.pk, now=NOON)
    assert left.sha256 in HeldEntry.objects.values_list("uid", flat=True)
    assert [] == rebuild(farms.farm.pk)


def test_one_id_for_two_entries_the_first_counts_and_the_second_is_shown(farms):
    same = "00000000-0000-4000-8000-00000000beef"
    first = farms.owner.raw("found", found(1, 5, 1), id=same)
    second = farms.helper.raw("found", found(2, 6, 1), id=same)
    farms.owner.append(first)
    [stored] = farms.helper.append(second)
    assert "stored" == stored.verdict
    assert [lot_id(1)] == [str(uid) for uid in Lot.objects.values_list("uid", flat=True)]
    [shown] = farms.viewer.client.get("/api/problems/").json()["results"]
    assert f"duplicate_id:{stored.sha256}" == shown["id"]


def test_two_hundred_entries_of_others_say_whose_phone_brought_them(farms):
    """As after a restore: one phone gives back what it holds of all the others."""
    others = [
        phone.raw("emptied", {"crate": crate_id(n)})
        for n in range(50)
        for phone in (farms.owner, farms.helper, farms.viewer)
    ]
    own = [farms.grower.raw("emptied", {"crate": crate_id(n)}) for n in range(50)]
    answer = farms.grower.push(*others, *own)
    assert 200 == answer.status_code
    brought = str(farms.grower.device.pk)
    entries = farms.viewer.pull().json()["entries"]
    assert 200 == len(entries)
    for entry in entries:
        device = json.loads(entry["raw"])["device"]
        assert entry.get("relayed_by") == (None if device == brought else brought)
    listed = farms.viewer.client.get("/api/records/", {"page_size": 200}).json()["results"]
    assert {brought, None} == {one.get("relayed_by") for one in listed}
    # Told again by its own phone, it stays what it was: brought by the other.
    assert "duplicate" == farms.owner.append(others[0])[0].verdict
    assert brought == farms.viewer.pull().json()["entries"][0]["relayed_by"]


def test_the_server_takes_no_other_pusher_for_the_servers_own(farms):
    server = Device.objects.get(farm=farms.farm, sort="server")
    target = {"target": "ab" * 32}
    raw = farms.owner.raw(
        "record_reclassified", target, author=str(server.pk), device=str(server.pk)
    )
    [by_owner] = farms.owner.append(raw)
    assert "not_permitted" == by_owner.code
    [by_itself] = append(farms.farm.pk, [raw.replace(b'"v": 1', b'"v":1')], device=server, now=NOON)
    assert "" == by_itself.code
