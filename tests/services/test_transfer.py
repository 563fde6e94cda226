"""Export and import: byte for byte, restored as it was, or judged anew."""

import io
import json
import random

import pytest
from django.core.management import CommandError, call_command

from tests import histories
from tests.farms import crate_id, farm_of_histories
from tubertrack.apps.accounts.models import Device, Farm
from tubertrack.apps.records.log import entries_after
from tubertrack.apps.records.models import Lot, Record
from tubertrack.apps.records.services import erase_farm, rebuild
from tubertrack.core.stock.fold import Fold, canonical

pytestmark = pytest.mark.django_db


def run(name, *args, **options) -> str:
    out = io.StringIO()
    call_command(name, *args, stdout=out, **options)
    return out.getvalue()


def folded(farm: Farm) -> str:
    fold = Fold()
    fold.apply(entries_after(farm.pk, 0, up_to=farm.last_seq))
    return canonical(fold.state())


@pytest.fixture
def farm():
    phones = list(farm_of_histories().values())
    for number, one in enumerate(histories.written(random.Random(7), 60)):
        phones[number % 3].append(one.raw, now=one.received_at)
    phones[0].append(b"\xff\xfe")
    return Farm.objects.get(pk=histories.FARM)


def test_a_restored_farm_is_the_same_farm(farm, tmp_path):
    before = list(Record.objects.order_by("seq").values_list("raw", "chain", "held", "received_at"))
    state, head = folded(farm), (farm.last_seq, bytes(farm.head_chain))
    file = tmp_path / "log.jsonl"
    run("export-records", str(file))
    erase_farm(farm.pk)
    assert "restored" in run("import-records", str(file), as_told=True)
    again = Farm.objects.get(pk=histories.FARM)
    assert before == list(
        Record.objects.order_by("seq").values_list("raw", "chain", "held", "received_at")
    )
    assert (state, head) == (folded(again), (again.last_seq, bytes(again.head_chain)))
    assert [] == rebuild(again.pk)
    assert run("export-records") == file.read_text("utf-8")
    assert not Device.objects.exclude(token_hash=None).exists()


def test_a_changed_file_restores_nothing(farm, tmp_path):
    lines = run("export-records").splitlines()
    erase_farm(farm.pk)
    told = json.loads(lines[5])
    lines[5] = json.dumps({**told, "received_at": told["received_at"] + 1})
    file = tmp_path / "log.jsonl"
    file.write_text("\n".join(lines), "utf-8")
    with pytest.raises(CommandError, match="Entry 5 is not as it was exported"):
        run("import-records", str(file), as_told=True)
    assert 0 == Farm.objects.count()


def test_a_farm_that_is_here_is_not_restored_over(farm, tmp_path):
    file = tmp_path / "log.jsonl"
    run("export-records", str(file))
    with pytest.raises(CommandError, match="already"):
        run("import-records", str(file), as_told=True)


def test_an_ordinary_import_adds_what_is_not_there(farm, tmp_path):
    raw = b'{"torn'
    file = tmp_path / "log.jsonl"
    lines = run("export-records").splitlines()[:4]
    file.write_text("\n".join([*lines, json.dumps({"raw": raw.decode()}), ""]), "utf-8")
    assert "0 stored, 3 were there already, 1 set aside" in run("import-records", str(file))
    assert raw == bytes(Record.objects.get(seq=farm.last_seq + 1).raw)


def test_an_ordinary_import_does_not_believe_another_server(farms, tmp_path):
    raw = farms.viewer.raw("emptied", {"crate": crate_id(1)})
    told = {"raw": raw.decode(), "role": "owner", "held": "", "received_at": 1}
    file = tmp_path / "log.jsonl"
    file.write_text(json.dumps(told), "utf-8")
    run("import-records", str(file), farm=str(farms.farm.pk))
    record = Record.objects.get()
    assert ("not_permitted", "viewer") == (record.held, record.role)
    assert record.received_at > 1


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "Line 1 is not a JSON object"),
        ("[]", "Line 1 is not a JSON object"),
        ('{"seq": 1}', "Line 1 holds no record"),
        ('{"raw_b64": "*"}', "Line 1 holds no record"),
    ],
)
def test_what_is_no_log_is_refused_with_the_line(farm, tmp_path, text, sentence):
    file = tmp_path / "log.jsonl"
    file.write_text(text, "utf-8")
    with pytest.raises(CommandError, match=sentence):
        run("import-records", str(file))
    assert farm.last_seq == Farm.objects.get(pk=farm.pk).last_seq


def test_a_missing_file_is_a_sentence(farm):
    with pytest.raises(CommandError, match="cannot be read"):
        run("import-records", "nowhere.jsonl")


def test_rebuild_says_what_differed(farm):
    assert "no row differed" in run("rebuild")
    Lot.objects.update(balance=-12345)
    with pytest.raises(CommandError, match="not what the records say"):
        run("rebuild", check=True)
    assert "no row differed" in run("rebuild", check=True, farm=str(farm.pk))


def test_a_farm_must_be_named_where_there_are_two(farms):
    with pytest.raises(CommandError, match="--farm"):
        run("export-records")
    with pytest.raises(CommandError, match="no farm"):
        run("export-records", farm="x")
