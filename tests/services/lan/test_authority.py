"""The farm's authority against other implementations: OpenSSL's verifier, and cryptography's own."""

import hashlib
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
    "name",
    [
        *("example.com", "www.example.com", "local.example.com", "93.184.215.14", "2606:4700::1"),
        # The first after and the last before private networks; IPv4 as IPv6 (RFC 4291, 2.5.5.2).
        *("11.0.0.0", "172.15.255.255", "172.32.0.0", "192.167.255.255", "192.169.0.0"),
        *("169.253.255.255", "fec0::1", "fbff::1", "fe7f::1", "::2", "::ffff:8.8.8.8"),
    ],
)
def test_openssl_refuses_every_name_of_the_internet(farm, tmp_path, name):
    code, said = openssl_verdict(farm, lan.make_leaf(farm, [name], now=NOW), tmp_path)
    assert 0 != code
    assert "permitted subtree violation" in said


@needs_openssl
@pytest.mark.parametrize(
    "address",
    [
        *("10.0.0.0", "172.16.0.1", "172.31.255.255", "192.168.255.255", "169.254.7.7"),
        *("127.0.0.1", "fd12::1", "fe80::1", "::1"),
    ],
)
def test_openssl_takes_private_and_link_local_addresses(farm, tmp_path, address):
    code, said = openssl_verdict(farm, lan.make_leaf(farm, [address], now=NOW), tmp_path)
    assert 0 == code, said
    assert lan.may_vouch_for(address)


@pytest.mark.parametrize(
    "name",
    ["*.local", "*", ".lan", "box..lan", "box.lan:8443", "-a.lan", "box.lan.", "a" * 64 + ".lan"],
)
def test_what_is_no_whole_name_gets_no_certificate(farm, name):
    assert not lan.may_vouch_for(name)
    with pytest.raises(ValueError, match="not the name of one computer"):
        lan.make_leaf(farm, [name], now=NOW)


@needs_openssl
def test_the_authority_cannot_vouch_for_mail_or_programs(farm, tmp_path):
    leaf, ca = tmp_path / "leaf.pem", tmp_path / "ca.pem"
    leaf.write_bytes(lan.make_leaf(farm, ["a.local"], now=NOW).certificate)
    ca.write_bytes(farm.certificate)
    for purpose, code in (("sslserver", 0), ("sslclient", 2), ("smimesign", 2)):
        asked = ["openssl", "verify", "-purpose", purpose, "-CAfile", str(ca), str(leaf)]
        assert code == subprocess.run(asked, capture_output=True, check=False).returncode, purpose


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
    permitted = names.value.permitted_subtrees
    # Whatever is of a kind that is listed here and not permitted is refused (RFC 5280, 4.2.1.10).
    assert {x509.DNSName, x509.IPAddress} == {type(one) for one in permitted}
    assert {4, 6} == {one.value.version for one in permitted if isinstance(one, x509.IPAddress)}
    purposes = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert [x509.oid.ExtendedKeyUsageOID.SERVER_AUTH] == list(purposes)
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
        ("fe80::1", True),
        ("169.254.1.1", True),
        ("example.com", False),
    ],
)
def test_what_the_authority_may_vouch_for(name, may):
    assert may == lan.may_vouch_for(name)


def test_the_fingerprint_is_shown_in_four_rows_that_an_eye_can_follow(farm):
    rows = lan.fingerprint_rows(farm)
    assert [4] * 4 == [len(part.split()) for row in rows[:2] for part in row.split("   ")]
    told = ssl.DER_cert_to_PEM_cert(farm.der()).encode()
    assert farm.certificate.split() == told.split()
    assert hashlib.sha256(farm.der()).hexdigest().upper() == "".join(rows).replace(" ", "")
