"""The farm's authority against other implementations: OpenSSL's verifier, and cryptography's own."""

import shutil
import ssl
import subprocess
import threading
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from urllib.request import urlopen

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from tubertrack.apps.accounts.lan import authority as lan
from tubertrack.apps.accounts.lan.keeping import kept_certificates

NOW = datetime.now(UTC)
HOME = ("tally.local", "192.168.1.20", "localhost", "127.0.0.1")


@pytest.fixture(scope="module")
def farm():
    return lan.make_authority("Winter Tally, this farm only", now=NOW)


class Hello(BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(200)
        self.end_headers()

    def log_message(self, *_):
        pass


@contextmanager
def serving(leaf, tmp_path):
    """An HTTPS server with this certificate; its port."""
    certificate, key = tmp_path / "c.pem", tmp_path / "k.pem"
    certificate.write_bytes(leaf.certificate)
    key.write_bytes(leaf.key)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    server = HTTPServer(("127.0.0.1", 0), Hello)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_address[1]
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def trusting(farm, tmp_path):
    file = tmp_path / "ca.pem"
    file.write_bytes(farm.certificate)
    return ssl.create_default_context(cafile=str(file))


def openssl_verdict(farm, leaf, tmp_path, *, name=None):
    ca, certificate = tmp_path / "ca.pem", tmp_path / "leaf.pem"
    ca.write_bytes(farm.certificate)
    certificate.write_bytes(leaf.certificate)
    found = subprocess.run(
        [
            "openssl",
            "verify",
            "-x509_strict",
            "-purpose",
            "sslserver",
            "-CAfile",
            str(ca),
            *(["-verify_hostname", name] if name else []),
            str(certificate),
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    return found.returncode, found.stdout + found.stderr


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1"])
def test_a_client_that_trusts_the_farm_gets_an_answer(farm, tmp_path, host):
    trust = trusting(farm, tmp_path)
    with (
        serving(lan.make_leaf(farm, HOME, now=NOW), tmp_path) as port,
        urlopen(f"https://{host}:{port}/", context=trust) as answer,
    ):
        assert 200 == answer.status


def test_a_client_that_does_not_trust_the_farm_gets_none(farm, tmp_path):
    with (
        serving(lan.make_leaf(farm, HOME, now=NOW), tmp_path) as port,
        pytest.raises(OSError, match="certificate verify failed"),
    ):
        urlopen(f"https://localhost:{port}/", context=ssl.create_default_context())


needs_openssl = pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl program")


@needs_openssl
@pytest.mark.parametrize("name", HOME[:1] + HOME[2:3])
def test_openssl_takes_the_farms_own_names(farm, tmp_path, name):
    assert 0 == openssl_verdict(farm, lan.make_leaf(farm, HOME, now=NOW), tmp_path, name=name)[0]


@needs_openssl
@pytest.mark.parametrize(
    "name", ["example.com", "www.example.com", "local.example.com", "93.184.215.14", "2606:4700::1"]
)
def test_openssl_refuses_every_name_of_the_internet(farm, tmp_path, name):
    code, said = openssl_verdict(farm, lan.make_leaf(farm, [name], now=NOW), tmp_path)
    assert 0 != code
    assert "permitted subtree violation" in said


def test_pythons_tls_refuses_a_server_with_one_foreign_name(farm, tmp_path):
    leaf = lan.make_leaf(farm, ["localhost", "example.com"], now=NOW)
    trust = trusting(farm, tmp_path)
    with (
        serving(leaf, tmp_path) as port,
        pytest.raises(OSError, match="permitted subtree violation"),
    ):
        urlopen(f"https://localhost:{port}/", context=trust)


@pytest.mark.parametrize(("name", "fits"), [("tally.local", True), ("example.com", False)])
def test_a_third_verifier_agrees(farm, name, fits):
    verifier = (
        PolicyBuilder()
        .store(Store([farm.loaded()]))
        .time(NOW)
        .build_server_verifier(x509.DNSName(name))
    )
    leaf = lan.make_leaf(farm, [name], now=NOW).loaded()
    if fits:
        verifier.verify(leaf, [])
    else:
        with pytest.raises(VerificationError):
            verifier.verify(leaf, [])


def test_the_authority_is_what_it_says(farm):
    certificate = farm.loaded()
    basic = certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    names = certificate.extensions.get_extension_for_class(x509.NameConstraints)
    assert (True, 0, True) == (basic.value.ca, basic.value.path_length, basic.critical)
    assert names.critical
    assert "secp256r1" == certificate.public_key().curve.name
    assert (
        timedelta(days=3652) == certificate.not_valid_after_utc - certificate.not_valid_before_utc
    )


def test_a_leaf_lasts_less_than_phones_allow(farm):
    leaf = lan.make_leaf(farm, HOME, now=NOW).loaded()
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc < timedelta(days=398)
    assert set(HOME) == set(lan.names_in(leaf))


@pytest.mark.parametrize(
    ("name", "may"),
    [
        ("a.local", True),
        ("local", True),
        ("xlocal", False),
        ("box.home.arpa", True),
        ("10.1.2.3", True),
        ("172.32.0.1", False),
        ("192.168.0.9", True),
        ("8.8.8.8", False),
        ("fd00::1", True),
        ("2001:db8::1", False),
        ("example.com", False),
    ],
)
def test_what_the_authority_may_vouch_for(name, may):
    assert may == lan.may_vouch_for(name)


def test_certificates_are_kept_and_their_keys_are_for_the_owner_alone(tmp_path):
    first = kept_certificates(tmp_path / "a", HOME, now=NOW)
    leaf = first.certificate.read_bytes()
    again = kept_certificates(tmp_path / "a", HOME[:2], now=NOW + timedelta(days=300))
    assert (True, False) == (first.is_new_authority, again.is_new_authority)
    assert (first.authority, leaf) == (again.authority, again.certificate.read_bytes())
    keys = list((tmp_path / "a").glob("*-key.pem"))
    assert [0o600, 0o600] == [key.stat().st_mode & 0o777 for key in keys]


@pytest.mark.parametrize(
    ("names", "later"), [((*HOME, "192.168.1.21"), 0), (HOME, 366), (HOME, 500)]
)
def test_a_new_name_or_the_last_month_makes_a_new_leaf_of_the_same_authority(
    tmp_path, names, later
):
    first = kept_certificates(tmp_path, HOME, now=NOW)
    leaf = first.certificate.read_bytes()
    again = kept_certificates(tmp_path, names, now=NOW + timedelta(days=later))
    assert first.authority == again.authority
    assert leaf != again.certificate.read_bytes()


def test_a_torn_file_is_made_anew(tmp_path):
    first = kept_certificates(tmp_path, HOME, now=NOW)
    first.certificate.write_bytes(b"torn")
    assert (
        b"BEGIN CERTIFICATE" in kept_certificates(tmp_path, HOME, now=NOW).certificate.read_bytes()
    )
