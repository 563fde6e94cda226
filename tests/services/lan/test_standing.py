"""A server that runs all winter: its address changes, its certificate ends, the cable comes out."""

from datetime import UTC, datetime, timedelta

import pytest

from tubertrack.apps.accounts.lan.authority import Pair, names_in
from tubertrack.apps.accounts.lan.keeping import replace_authority
from tubertrack.apps.accounts.lan.names import Called, look_around
from tubertrack.apps.accounts.lan.standing import Standing

NOW = datetime.now(UTC)
NAMED = Called(("tally.local", "192.168.1.20"), "tally.local", has_lasting_name=True)
BY_ADDRESS = Called(("tally.local", "192.168.1.20"), "192.168.1.20", has_lasting_name=False)


class Network:
    def __init__(self, called):
        self.called = called

    def __call__(self):
        return self.called


@pytest.fixture
def farm(tmp_path, settings, monkeypatch):
    settings.ALLOWED_HOSTS = ["localhost"]
    for name in ("TUBERTRACK_HOSTS", "TUBERTRACK_HTTPS", "TUBERTRACK_APP_URL"):
        monkeypatch.setenv(name, "")

    def start(called):
        said, network = [], Network(called)
        standing = Standing(
            tmp_path / "authority",
            called,
            network,
            plain_port=8000,
            secure_port=8443,
            say=said.append,
            now=NOW,
        )
        return standing, network, said

    return start


def vouched(standing):
    kept = standing.kept
    return set(names_in(Pair(kept.certificate.read_bytes(), kept.key.read_bytes()).loaded()))


def test_while_nothing_changes_nothing_is_done(farm):
    standing, _, said = farm(NAMED)
    before = standing.kept.certificate.read_bytes()
    assert not standing.has_changed(now=NOW + timedelta(days=360))
    standing.renew(now=NOW)
    assert (before, []) == (standing.kept.certificate.read_bytes(), said)


def test_another_address_is_vouched_for_and_answered_to(farm, settings, monkeypatch):
    import os

    standing, network, said = farm(NAMED)
    network.called = Called(("tally.local", "192.168.1.77"), "tally.local", has_lasting_name=True)
    assert standing.has_changed(now=NOW)
    standing.renew(now=NOW)
    assert not standing.has_changed(now=NOW)
    assert {"tally.local", "192.168.1.77", "localhost", "127.0.0.1"} == vouched(standing)
    assert "192.168.1.77" in settings.ALLOWED_HOSTS
    assert "tally.local,192.168.1.77" == os.environ["TUBERTRACK_HOSTS"]
    assert "Phones have nothing to do" in said[-1]


def test_phones_that_use_the_address_are_told_where_their_entries_wait(farm):
    standing, network, said = farm(BY_ADDRESS)
    network.called = Called(("192.168.1.77",), "192.168.1.77", has_lasting_name=False)
    assert standing.has_changed(now=NOW)
    standing.renew(now=NOW)
    told = " ".join(said)
    assert "changed to https://192.168.1.77:8443/" in told
    assert "waits under https://192.168.1.20:8443/" in told
    assert "Give this computer 192.168.1.20 again in the router" in told
    assert "http://192.168.1.77:8000" == standing.page.own_url


def test_the_last_month_of_the_certificate_is_noticed(farm):
    standing, _, _ = farm(NAMED)
    later = NOW + timedelta(days=367)
    assert standing.has_changed(now=later)
    standing.renew(now=later)
    assert not standing.has_changed(now=later)


def test_a_cable_that_is_out_changes_nothing(farm):
    standing, network, said = farm(NAMED)
    network.called = None
    assert not standing.has_changed(now=NOW)
    standing.renew(now=NOW)
    assert [] == said


def test_an_authority_replaced_on_purpose_is_taken(farm):
    standing, _, said = farm(NAMED)
    new = replace_authority(standing.folder, now=NOW)
    assert standing.has_changed(now=NOW)
    standing.renew(now=NOW)
    assert new == standing.page.authority
    assert "every phone has to install the new one" in " ".join(said)


def test_what_keeps_it_from_renewing_is_said_and_the_server_goes_on(farm):
    standing, network, said = farm(NAMED)
    (standing.folder / "authority.pem").write_bytes(b"torn")
    network.called = BY_ADDRESS
    standing.renew(now=NOW)
    assert "could not be renewed" in said[-1]
    assert NAMED == standing.called


def test_names_of_the_farmers_own_choice_go_first_and_wildcards_are_left_out(tmp_path):
    hosts = tmp_path / "hosts"
    hosts.write_text("cellar.lan\n*.lan\n.lan\nfarm.example\n")
    called = look_around(["farm.lan"], hosts)
    assert called is not None
    assert ("farm.lan", "cellar.lan") == called.own[:2]
    assert ("farm.lan", True) == (called.host, called.has_lasting_name)
    assert not {"*.lan", ".lan", "farm.example"} & set(called.for_certificate)
    assert {"localhost", "127.0.0.1"} <= set(called.for_certificate)
