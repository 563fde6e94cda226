"""`start --lan` as a phone on the farm's network meets it: the trust page, then HTTPS that holds."""

import http.client
import json
import os
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography import x509

from tests.farm_network import ROOT, FarmNetwork, farm_network
from tubertrack.apps.accounts.lan.authority import names_in


@pytest.fixture(scope="module")
def network(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FarmNetwork]:
    # A machine of tests may have no other address.
    with farm_network(tmp_path_factory.mktemp("farm") / "data", hosts="127.0.0.1") as network:
        yield network


def fetch(url: str, context: ssl.SSLContext | None = None) -> bytes:
    with urllib.request.urlopen(url, timeout=30, context=context) as answer:
        return bytes(answer.read())


def test_a_phone_that_takes_the_certificate_reaches_the_app_and_no_other_does(network) -> None:
    told = fetch(network.trust).decode()
    certificate = network.authority()
    rows = [line.strip() for line in network.said.splitlines() if "   " in line.strip()]
    assert 4 == len(rows)
    assert all(row in told for row in rows)  # what an eye compares

    trusting = ssl.create_default_context(cadata=certificate)
    assert b'id="app"' in fetch(f"{network.app}/", trusting)
    with pytest.raises(urllib.error.HTTPError) as refused:
        fetch(f"{network.app}/api/farm/", trusting)
    assert 401 == refused.value.code
    assert "not_signed_in" == json.loads(refused.value.read())["code"]

    with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
        fetch(f"{network.app}/", ssl.create_default_context())


def test_the_plain_address_shows_phones_nothing_but_the_way_in(network) -> None:
    plain = network.trust.removesuffix("/trust")
    for path in ("/sync/v1/pull", "/api/farm/"):
        with pytest.raises(urllib.error.HTTPError) as refused:
            fetch(plain + path)
        assert refused.value.code in {401, 403, 404}


def test_what_it_says_fits_on_a_small_terminal(network) -> None:
    told = network.said[network.said.index("Sign in on") :].splitlines()
    assert len(told) < 20
    assert max(len(line) for line in told) <= 92  # the link with its token is the longest


@pytest.mark.skipif(os.name != "posix", reason="SIGHUP")
def test_a_name_that_is_new_is_vouched_for_while_the_server_runs(network) -> None:
    trusting = ssl.create_default_context(cadata=network.authority())
    phone = connected(network, trusting)
    assert phone
    assert "cellar.lan" not in names_shown_to(phone)
    (network.data / "hosts").write_text("cellar.lan\n")
    network.look_again()
    # The worker of before still answers beside the new one, and on a slow computer nobody for a moment.
    while not phone or "cellar.lan" not in names_shown_to(phone):
        assert network.process.poll() is None
        phone = connected(network, trusting)
    phone.request("GET", "/api/session/", headers={"Host": "cellar.lan"})
    assert 200 == phone.getresponse().status


def connected(network: FarmNetwork, trusting: ssl.SSLContext) -> http.client.HTTPSConnection | None:
    phone = http.client.HTTPSConnection("127.0.0.1", network.port, context=trusting, timeout=60)
    try:
        phone.connect()
    except ConnectionError:
        return None
    return phone


def names_shown_to(phone: http.client.HTTPSConnection) -> list[str]:
    shown = phone.sock.getpeercert(binary_form=True)
    return names_in(x509.load_der_x509_certificate(shown))


@pytest.mark.skipif(os.name != "posix", reason="modes of files")
def test_a_key_that_others_can_read_stops_the_start_with_a_sentence(network) -> None:
    key = Path(network.data / "authority" / "authority-key.pem")
    key.chmod(0o644)
    environment = {**os.environ, "TUBERTRACK_DATA": str(network.data)}
    for name in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE"):
        environment.pop(name, None)
    refused = subprocess.run(
        [sys.executable, "manage.py", "start", "--lan", "--no-browser"],
        cwd=ROOT,
        env={**environment, "TUBERTRACK_NO_BOOTSTRAP": "1", "TUBERTRACK_HOSTS": "127.0.0.1"},
        capture_output=True,
        text=True,
        check=False,
    )
    key.chmod(0o600)
    said = refused.stdout + refused.stderr
    assert 1 == refused.returncode
    assert f"{key} can be read by other users of this computer" in said
    assert "Traceback" not in said
