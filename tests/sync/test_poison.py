"""Records that have broken other programs: each is kept byte for byte, and none stops the others.

tests/corpus/poison/<what>.<verdict>.bin; "counts" where it is a fit record. Sizes round 64 KiB are
made here. In .gitattributes the files are binary, so that no checkout changes a byte.
"""

import base64
import hashlib
import io
import json
from pathlib import Path

import pytest
from django.core.management import call_command

from tests import histories
from tests.farms import farm_of_histories
from tubertrack.apps.records.models import Crate, Record
from tubertrack.apps.records.services import rebuild

pytestmark = pytest.mark.django_db
CORPUS = sorted((Path(__file__).parents[1] / "corpus" / "poison").glob("*.bin"))
OWNER = histories.MEMBERS[0]


@pytest.fixture
def phone():
    return next(iter(farm_of_histories().values()))


def sized(phone, size: int) -> bytes:
    bare = phone.raw("emptied", {"crate": histories.CRATES[0], "x": ""}, author=OWNER)
    filler = b"\xc3\xa4" * ((size - len(bare)) // 2)
    raw = bare.replace(b'"x": ""', b'"x": "' + filler + b'"')
    return raw + b" " * (size - len(raw))


def poison(phone) -> list[tuple[str, bytes]]:
    """(verdict, bytes) of each."""
    files = [(path.name.split(".")[1], path.read_bytes()) for path in CORPUS]
    sizes = [
        ("counts", sized(phone, 63 * 1024)),
        ("counts", sized(phone, 64 * 1024)),
        ("too_large", sized(phone, 64 * 1024 + 1)),
        ("too_large", sized(phone, 65 * 1024)),
    ]
    return files + sizes


def as_pushed(raw: bytes) -> str:
    return raw.decode("utf-8", "surrogatepass")


def of_entry(entry) -> bytes:
    return entry["raw"].encode() if "raw" in entry else base64.b64decode(entry["raw_b64"])


def test_the_corpus_is_there():
    assert len(CORPUS) >= 25


def test_poison_comes_back_byte_for_byte_from_push_pull_and_export(phone):
    told = [(code, raw) for code, raw in poison(phone) if b"\xe4" not in raw or b"\xc3" in raw]
    verdicts = phone.push(*(as_pushed(raw) for _, raw in told)).json()["verdicts"]
    assert [hashlib.sha256(raw).hexdigest() for _, raw in told] == [v["sha256"] for v in verdicts]
    assert [code for code, _ in told] == [v.get("code", "counts") for v in verdicts]
    raws = [raw for _, raw in told]
    assert raws == [bytes(record.raw) for record in Record.objects.order_by("seq")]
    assert raws == [of_entry(entry) for entry in phone.pull().json()["entries"]]
    out = io.StringIO()
    call_command("export-records", farm=histories.FARM, stdout=out)
    assert raws == [of_entry(json.loads(line)) for line in out.getvalue().splitlines()[1:]]


def test_bytes_that_no_push_can_carry_are_kept_as_well(phone):
    [raw] = [path.read_bytes() for path in CORPUS if path.name.startswith("latin-1")]
    [verdict] = phone.append(raw)
    assert "unreadable" == verdict.code
    assert raw == of_entry(phone.pull().json()["entries"][0])


def test_nothing_poisoned_keeps_the_next_record_from_counting(phone):
    for _, raw in poison(phone):
        crate = histories.CRATES[1]
        body = {"table": "crates", "row": crate, "field": "number", "value": str(phone.written)}
        after = phone.raw("field_set", body, author=OWNER)
        assert "stored" == phone.append(raw, after)[1].verdict
        assert body["value"] == Crate.objects.get(uid=crate).number
    assert [] == rebuild(histories.FARM)


def test_no_list_of_the_api_breaks_on_poison(phone):
    phone.append(*(raw for _, raw in poison(phone)))
    for path in ("crates", "lots", "checks", "problems", "records"):
        assert 200 == phone.client.get(f"/api/{path}/").status_code, path
