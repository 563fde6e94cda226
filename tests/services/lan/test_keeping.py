"""What lies in the data folder: read by its owner alone, renewed unasked, replaced on purpose only."""

import os
import stat
import sys
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tubertrack.apps.accounts.lan import authority as lan
from tubertrack.apps.accounts.lan.keeping import Unusable, kept_certificates, replace_authority

NOW = datetime.now(UTC)
HOME = ("tally.local", "192.168.1.20", "localhost", "127.0.0.1")
posix = pytest.mark.skipif(os.name != "posix", reason="modes of files")

modes_changed = []
sys.addaudithook(lambda event, told: modes_changed.append(told) if event == "os.chmod" else None)


@contextmanager
def careless_umask():
    before = os.umask(0)
    try:
        yield
    finally:
        os.umask(before)


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "data" / "authority"
    kept_certificates(folder, HOME, now=NOW)
    return folder


@posix
def test_keys_are_for_the_owner_alone_from_the_first_byte(tmp_path):
    folder = tmp_path / "data" / "authority"
    modes_changed.clear()
    with careless_umask():
        kept_certificates(folder, HOME, now=NOW)
        kept_certificates(folder, [*HOME, "cellar.lan"], now=NOW)
    assert [] == modes_changed  # never made safe afterwards
    assert 0o700 == mode(folder)
    files = {file.name: mode(file) for file in folder.iterdir()}
    assert files == dict.fromkeys(
        ["authority.pem", "authority-key.pem", "server.pem", "server-key.pem"], 0o600
    )
    assert ["authority"] == os.listdir(folder.parent)  # nothing half done is left


@posix
@pytest.mark.parametrize("name", ["authority-key.pem", "server-key.pem"])
def test_a_key_that_others_can_read_is_refused_in_a_sentence(folder, name):
    (folder / name).chmod(0o640)
    with pytest.raises(Unusable, match=r"can be read by other users .* chmod -R go= .* --replace"):
        kept_certificates(folder, HOME, now=NOW)
    (folder / name).chmod(0o600)
    kept_certificates(folder, HOME, now=NOW)


@posix
def test_a_folder_that_others_can_write_to_is_refused(folder):
    folder.chmod(0o770)
    with pytest.raises(Unusable, match="can be written to by other users"):
        kept_certificates(folder, HOME, now=NOW)


@posix
def test_a_folder_that_others_could_only_look_into_is_closed(folder):
    folder.chmod(0o755)
    assert not kept_certificates(folder, HOME, now=NOW).is_new_authority
    assert 0o700 == mode(folder)


@posix
def test_links_to_elsewhere_are_not_followed(folder, tmp_path):
    key = folder / "authority-key.pem"
    key.rename(tmp_path / "elsewhere")
    key.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(Unusable, match="is a link to elsewhere"):
        kept_certificates(folder, HOME, now=NOW)


def test_both_are_kept_while_they_do(folder):
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    again = kept_certificates(folder, HOME[:2], now=NOW + timedelta(days=300))
    assert (False, False) == (again.is_new_authority, again.is_new_leaf)
    assert before == {file.name: file.read_bytes() for file in folder.iterdir()}


@pytest.mark.parametrize(
    ("names", "later"), [((*HOME, "192.168.1.21"), 0), (HOME, 366), (HOME, 500)]
)
def test_a_new_name_or_the_last_month_makes_a_new_leaf_of_the_same_authority(folder, names, later):
    before = (folder / "authority.pem").read_bytes()
    again = kept_certificates(folder, names, now=NOW + timedelta(days=later))
    assert (False, True) == (again.is_new_authority, again.is_new_leaf)
    assert before == (folder / "authority.pem").read_bytes() == again.authority.certificate
    assert set(names) <= set(lan.names_in(again_leaf(again)))


def again_leaf(kept):
    return lan.Pair(kept.certificate.read_bytes(), kept.key.read_bytes()).loaded()


@pytest.mark.parametrize("torn", ["server.pem", "server-key.pem"])
def test_a_torn_leaf_is_made_anew(folder, torn):
    (folder / torn).write_bytes(b"torn")
    assert kept_certificates(folder, HOME, now=NOW).is_new_leaf


def test_a_leaf_whose_key_is_anothers_is_made_anew(folder, tmp_path):
    other = kept_certificates(tmp_path / "other", HOME, now=NOW)
    (folder / "server-key.pem").write_bytes(other.key.read_bytes())
    assert kept_certificates(folder, HOME, now=NOW).is_new_leaf


@pytest.mark.parametrize("harm", ["torn", "gone", "of another"])
def test_an_authority_that_phones_trust_is_not_replaced_unasked(folder, tmp_path, harm):
    key = folder / "authority-key.pem"
    if harm == "torn":
        key.write_bytes(key.read_bytes()[:100])
    elif harm == "gone":
        key.unlink()
    else:
        key.write_bytes(lan.make_authority("another", now=NOW).key)
    before = (folder / "authority.pem").read_bytes()
    with pytest.raises(Unusable, match=r"holds no whole authority.* backup.* --replace"):
        kept_certificates(folder, HOME, now=NOW)
    assert before == (folder / "authority.pem").read_bytes()


def test_an_authority_that_has_ended_says_so(folder):
    with pytest.raises(Unusable, match=r"ended on .* --replace"):
        kept_certificates(folder, HOME, now=NOW + timedelta(days=3660))


@posix
def test_replacing_it_is_the_way_out_of_all_of_that(folder):
    old = kept_certificates(folder, HOME, now=NOW).authority
    folder.chmod(0o777)
    (folder / "authority-key.pem").chmod(0o666)
    new = replace_authority(folder, now=NOW)
    kept = kept_certificates(folder, HOME, now=NOW)
    assert (new, True) == (kept.authority, kept.is_new_leaf)
    assert old != new
    assert (0o700, 0o600) == (mode(folder), mode(folder / "authority-key.pem"))
    assert not any(old.key in file.read_bytes() for file in folder.iterdir())


# ---- the command


@pytest.fixture
def data(folder, settings):
    settings.DATA_DIR = folder.parent
    return folder


def test_the_command_shows_what_a_phone_shows(data):
    said = StringIO()
    call_command("farm_authority", stdout=said)
    for row in lan.fingerprint_rows(kept_certificates(data, HOME, now=NOW).authority):
        assert row in said.getvalue()
    assert f"made {NOW:%Y-%m-%d}" in said.getvalue()
    assert "192.168.1.20" in said.getvalue()


def test_the_command_replaces_it_only_when_told_so_twice(data, monkeypatch):
    before = kept_certificates(data, HOME, now=NOW).authority
    for answer in ("", "yes", "replace"):
        monkeypatch.setattr("builtins.input", lambda _, answer=answer: answer)
        if answer != "replace":
            with pytest.raises(CommandError, match="Nothing was changed"):
                call_command("farm_authority", "--replace", stdout=StringIO())
            assert before == kept_certificates(data, HOME, now=NOW).authority
    said = StringIO()
    call_command("farm_authority", "--replace", stdout=said)
    assert before != kept_certificates(data, HOME, now=NOW).authority
    assert "On each phone remove the old authority and install this one" in said.getvalue()


def test_the_command_says_why_the_kept_one_cannot_be_used(data):
    (data / "authority.pem").unlink()
    with pytest.raises(CommandError, match="holds no whole authority"):
        call_command("farm_authority")
    for file in data.iterdir():
        file.unlink()
    data.rmdir()
    with pytest.raises(CommandError, match="start --lan makes one"):
        call_command("farm_authority")
