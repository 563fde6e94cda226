"""The app's own store, round and transport against the real server, over a network that loses things,
with dumps of the database taken and brought back in between.

Node runs the app's code (frontend/tools/drill-cli.ts); requests go over HTTP.
"""

import json
import random
import subprocess
from collections import Counter

import pytest

from tests.differential.phone import bundle, node
from tests.farms import crate_id, lot_id
from tests.sync.dumps import dump, restore
from tubertrack.apps.accounts.models import Farm, Member
from tubertrack.apps.accounts.services import create_farm, enrol_device
from tubertrack.apps.records.log import entries_after
from tubertrack.apps.records.models import Record
from tubertrack.apps.records.services import rebuild
from tubertrack.core.stock.fold import Fold, canonical

pytestmark = pytest.mark.django_db(transaction=True)
NAMES = ("Ana", "Ben", "Cleo")
HOUR_MS = 3_600_000
FAULTS = ("", "", "request_lost", "reply_lost", "twice")
seen: Counter[str] = Counter()


@pytest.fixture(scope="module")
def tool():
    return bundle("drill-cli")


class RealPhones:
    """Three phones of one farm, and the server's disk."""

    def __init__(self, tool, address: str, folder, seed: int) -> None:
        self.chance = random.Random(seed)
        self.file = folder / "backup"
        self.farm = create_farm(name="Tarrowby", time_zone="UTC")
        self.shown: set[str] = set()
        self.clock = 1_731_578_400_000
        self.process = subprocess.Popen(
            [node(), str(tool)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8"
        )
        for name in NAMES:
            member = Member.objects.create(farm=self.farm, name=name, role="owner")
            enrolled = enrol_device(member, name=name, sort="phone")
            self.say(
                name,
                open={
                    "address": address,
                    "token": enrolled.token,
                    "farm": {"id": str(self.farm.pk), "time_zone": "UTC", "as_of": None},
                    "device": str(enrolled.device.pk),
                    "member": {"id": str(member.pk), "name": name, "role": "owner"},
                },
            )

    def say(self, phone: str, **told):
        self.process.stdin.write(json.dumps({"phone": phone, **told}) + "\n")
        self.process.stdin.flush()
        answer = self.process.stdout.readline()
        assert answer, "the phones ended early"
        return json.loads(answer)

    def save(self, phone: str) -> None:
        chance = self.chance
        self.clock += chance.choice((0, 1, HOUR_MS))
        at = self.clock + chance.choice((0, 0, 90 * 24 * HOUR_MS, -400 * 24 * HOUR_MS))
        n = chance.randint(1, 3)
        draft = chance.choice(
            (
                {"kind": "found", "body": {"lot": lot_id(n), "unit": "tuber", "count": 5}},
                {"kind": "counted", "body": {"lot": lot_id(n), "count": chance.randint(0, 9)}},
                {
                    "kind": "field_set",
                    "body": {
                        "table": "crates",
                        "row": crate_id(1),
                        "field": "number",
                        "value": str(chance.randint(1, 99)),
                    },
                },
            )
        )
        self.shown.add(self.say(phone, save={**draft, "at": at}))

    def sync(self, phone: str, faults=()) -> str:
        seen.update(fault for fault in faults if fault)
        return self.say(phone, sync=list(faults))

    def life(self, steps: int) -> None:
        """Whatever comes: entries, poor connections, dumps brought back."""
        dump(self.file)
        for _ in range(steps):
            what, phone = self.chance.randrange(12), self.chance.choice(NAMES)
            if what < 5:
                self.save(phone)
            elif what < 10:
                faults = [self.chance.choice(FAULTS) for _ in range(4)]
                seen["failed round"] += self.sync(phone, faults) != ""
            elif what == 10:
                dump(self.file)
            else:
                seen["restored"] += 1
                restore(self.file)

    def check(self) -> None:
        """Nothing that was shown as saved is missing; all tell one story; all is there once."""
        for _ in range(3):
            for name in NAMES:
                self.sync(name)
        assert [""] * 3 == [self.sync(name) for name in NAMES]
        farm = Farm.objects.get(pk=self.farm.pk)
        there = list(Record.objects.filter(farm=farm).values_list("sha256", flat=True))
        assert self.shown <= set(there), "shown as saved, and lost"
        assert len(set(there)) == len(there) == farm.last_seq
        fold = Fold()
        fold.apply(entries_after(farm.pk, 0, up_to=farm.last_seq))
        for name in NAMES:
            told = self.say(name, report=True)
            seen["history began anew"] += told["epoch"]
            assert sorted(there) == told["shas"]
            assert [farm.last_seq, bytes(farm.head_chain).hex()] == told["cursor"]
            assert {"saved": 0, "sent": 0, "stuck": 0} == told["due"]
            assert canonical(fold.state()) == told["state"]
        assert [] == rebuild(farm.pk)


def test_no_life_of_real_phones_loses_or_doubles_anything(tool, live_server, tmp_path):
    """Three farms with three phones each; it fails as well when a trouble did not occur."""
    seen.clear()
    for seed in (1, 2, 3):
        phones = RealPhones(tool, live_server.url, tmp_path, seed)
        try:
            phones.life(40)
            phones.check()
        finally:
            phones.process.kill()
            phones.process.communicate()
    wanted = {"request_lost", "reply_lost", "twice", "failed round", "restored"}
    assert wanted | {"history began anew"} <= {what for what, times in seen.items() if times}
