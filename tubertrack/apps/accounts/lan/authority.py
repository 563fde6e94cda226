"""The farm's certificate authority, which can vouch for addresses on a private network only.

A phone's camera and offline mode need HTTPS, and no public authority vouches for a farm's own
network. So the farm has its own, with critical name constraints: whoever steals its key still
cannot pass for any site on the internet.
Source: RFC 5280 (4.2.1.9 basic constraints, 4.2.1.10 name constraints, 4.2.1.12 purposes), RFC 6762
(.local), RFC 8375 (home.arpa), RFC 6761 (localhost), RFC 1918, RFC 4193, RFC 3927, RFC 4291
(addresses), RFC 1123, 2.1 (host names). ".lan" is common practice of home routers, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

Address = IPv4Address | IPv6Address

AUTHORITY_LIFE = timedelta(days=3652)
LEAF_LIFE = timedelta(days=397)
"""Phones refuse server certificates of more than 398 days (a rule of their makers, 2020)."""

RENEWED_BEFORE_END = timedelta(days=30)
CLOCK_SLACK = timedelta(days=1)
"""Valid from a day ago, for a phone whose clock is behind."""

DOMAINS = ("local", "lan", "home.arpa", "localhost")
NETWORKS = tuple(
    ip_network(network)
    for network in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "fc00::/7",
        "fe80::/10",
        "::1/128",
    )
)


_HOST = re.compile(
    r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*"
)
"""Whole names in small letters: no wildcard, no dot in front, no port."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A certificate and its key, in PEM."""

    certificate: bytes
    key: bytes

    def loaded(self) -> x509.Certificate:
        return x509.load_pem_x509_certificate(self.certificate)

    def der(self) -> bytes:
        return self.loaded().public_bytes(serialization.Encoding.DER)

    def belongs_together(self) -> bool:
        """Whether this is a whole certificate and the key to it."""
        try:
            return self.loaded().public_key() == _key_of(self).public_key()
        except (ValueError, TypeError):
            return False

    def name(self) -> str:
        """What a phone calls the certificate."""
        [name] = self.loaded().subject.get_attributes_for_oid(NameOID.COMMON_NAME)
        return str(name.value)


def make_authority(name: str, *, now: datetime) -> Pair:
    """A new authority: ECDSA P-256, ten years, no authority below it, private names and servers alone."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])
    certificate = (
        _begun(subject, subject, key, now=now, life=AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(_private_names(), critical=True)
        .sign(key, hashes.SHA256())
    )
    return _pair(certificate, key)


def make_leaf(authority: Pair, names: Iterable[str], *, now: datetime) -> Pair:
    """A server's certificate for these names and addresses, good for 397 days.

    Names outside DOMAINS and NETWORKS may be asked for; nobody who checks will believe them.
    Errors: ValueError for what is no whole name, such as a wildcard.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    signer = authority.loaded()
    chosen = list(dict.fromkeys(names))
    for name in chosen:
        if _address(name) is None and not _HOST.fullmatch(name):
            raise ValueError(f"{name} is not the name of one computer")
    # No name of a computer: verifiers take a CN for one where they find no other (RFC 6125, 6.4.4).
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Winter Tally server")])
    certificate = (
        _begun(subject, signer.subject, key, now=now, life=LEAF_LIFE)
        .add_extension(
            x509.SubjectAlternativeName([_general_name(one) for one in chosen]), critical=False
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()),  # type: ignore[arg-type]
            critical=False,
        )
        .sign(_key_of(authority), hashes.SHA256())
    )
    return _pair(certificate, key)


def is_good_leaf(leaf: Pair, authority: Pair, names: Iterable[str], *, now: datetime) -> bool:
    """Whether the certificate has all these names, lasts 30 days yet, and is of this authority."""
    if not leaf.belongs_together():
        return False
    certificate = leaf.loaded()
    try:
        certificate.verify_directly_issued_by(authority.loaded())
    except Exception:  # noqa: BLE001  whatever the library finds wrong: not ours
        return False
    ends = certificate.not_valid_after_utc
    return set(names) <= set(names_in(certificate)) and now + RENEWED_BEFORE_END < ends


def names_in(certificate: x509.Certificate) -> list[str]:
    """The names and addresses that a server's certificate is for."""
    told = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return [
        *told.get_values_for_type(x509.DNSName),
        *(str(address) for address in told.get_values_for_type(x509.IPAddress)),
    ]


def may_vouch_for(name: str) -> bool:
    """Whether the authority's constraints let it vouch for this whole name or address."""
    address = _address(name)
    if address is not None:
        return any(address in network for network in NETWORKS)
    return _HOST.fullmatch(name) is not None and any(
        name == domain or name.endswith(f".{domain}") for domain in DOMAINS
    )


def fingerprint(pair: Pair) -> str:
    """SHA-256 of the certificate as phones show it: pairs of capitals and figures."""
    return pair.loaded().fingerprint(hashes.SHA256()).hex(" ").upper()


def fingerprint_rows(pair: Pair) -> list[str]:
    """The fingerprint for comparing by eye: four rows of twice four pairs."""
    pairs = fingerprint(pair).split(" ")
    fours = [" ".join(pairs[at : at + 4]) for at in range(0, len(pairs), 4)]
    return [f"{left}   {right}" for left, right in zip(fours[::2], fours[1::2])]


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    *,
    now: datetime,
    life: timedelta,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCK_SLACK)
        .not_valid_after(now - CLOCK_SLACK + life)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _private_names() -> x509.NameConstraints:
    names = [x509.DNSName(domain) for domain in DOMAINS]
    addresses = [x509.IPAddress(network) for network in NETWORKS]
    return x509.NameConstraints(permitted_subtrees=[*names, *addresses], excluded_subtrees=None)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _general_name(name: str) -> x509.GeneralName:
    address = _address(name)
    return x509.DNSName(name) if address is None else x509.IPAddress(address)


def _address(name: str) -> Address | None:
    try:
        return ip_address(name)
    except ValueError:
        return None


def _pair(certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey) -> Pair:
    return Pair(
        certificate.public_bytes(serialization.Encoding.PEM),
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )


def _key_of(pair: Pair) -> ec.EllipticCurvePrivateKey:
    key = serialization.load_pem_private_key(pair.key, password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise TypeError("the authority's key is not of the kind that is made here")
    return key
