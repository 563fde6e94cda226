"""The page on which a phone learns to trust the farm, and the door beside it."""

import plistlib
import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime
from wsgiref.util import setup_testing_defaults
from wsgiref.validate import validator

import pytest
from cryptography import x509

from tubertrack.apps.accounts.lan.authority import fingerprint_rows, make_authority
from tubertrack.apps.accounts.lan.trust import TrustPage, door, for_own_browser

PAGE = TrustPage(
    authority=make_authority("Winter Tally, this farm only", now=datetime.now(UTC)),
    own_url="http://192.168.1.20:8000",
    app_url="https://tally.local:8443/",
)


def get(app, path, *, address="192.168.1.33", host="192.168.1.20:8000", method="GET"):
    environ = {
        "PATH_INFO": path,
        "REMOTE_ADDR": address,
        "HTTP_HOST": host,
        "REQUEST_METHOD": method,
        "SCRIPT_NAME": "",
        "QUERY_STRING": "",
    }
    setup_testing_defaults(environ)
    told = {}

    def start(status, headers, exc_info=None):
        told.update(status=status, headers=dict(headers))

    answer = validator(app)(environ, start)
    body = b"".join(answer)
    answer.close()
    return told["status"], told["headers"], body


def test_the_page_says_all_that_a_phone_needs():
    status, headers, body = get(PAGE.app(), "/trust")
    text = body.decode()
    assert "200 OK" == status
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    for words in (
        *fingerprint_rows(PAGE.authority),
        PAGE.authority.name(),
        PAGE.app_url,
        "Remove it again",
        "Android",
        "iPhone",
        "Certificate Trust Settings",
        "cannot vouch for a bank",
    ):
        assert words in text
    assert "<script" not in text
    assert "style=" not in text


def test_every_link_of_the_page_answers():
    _, _, body = get(PAGE.app(), "/trust")
    for path in (
        "/trust/style.css",
        "/trust/farm.crt",
        "/trust/farm.mobileconfig",
        "/trust/here.svg",
        "/trust/app.svg",
    ):
        assert path.encode() in body
        assert "200 OK" == get(PAGE.app(), path)[0]


def test_each_step_has_a_picture_that_breaks_no_policy():
    _, _, body = get(PAGE.app(), "/trust")
    shown = set(re.findall(r'src="(/trust/pictures/[^"]+)"', body.decode()))
    assert {f"/trust/pictures/{name}.svg" for name in PAGE.pictures()} == shown
    for path in shown:
        status, headers, drawing = get(PAGE.app(), path)
        assert ("200 OK", "image/svg+xml") == (status, headers["Content-Type"])
        kinds = {element.tag.rpartition("}")[2] for element in ET.fromstring(drawing).iter()}
        assert kinds <= {"svg", "rect", "path", "circle", "text"}
        assert b"style" not in drawing
        assert b"href" not in drawing


def test_the_certificate_comes_as_der():
    _, headers, body = get(PAGE.app(), "/trust/farm.crt")
    assert "application/x-x509-ca-cert" == headers["Content-Type"]
    assert PAGE.authority.loaded() == x509.load_der_x509_certificate(body)


def test_the_profile_holds_the_certificate():
    _, headers, body = get(PAGE.app(), "/trust/farm.mobileconfig")
    assert "application/x-apple-aspen-config" == headers["Content-Type"]
    [root] = plistlib.loads(body)["PayloadContent"]
    assert ("com.apple.security.root", PAGE.authority.der()) == (
        root["PayloadType"],
        root["PayloadContent"],
    )


def test_no_key_is_ever_shown():
    for path in ("/trust", "/trust/farm.crt", "/trust/farm.mobileconfig"):
        body = get(PAGE.app(), path)[2]
        assert b"PRIVATE" not in body
        assert PAGE.authority.key not in body


def the_app(environ, start):
    start(
        "200 OK",
        [
            ("Content-Type", "text/plain"),
            ("Set-Cookie", "sessionid=x; Path=/; SameSite=Lax; Secure"),
        ],
    )
    return [b"the app"]


@pytest.mark.parametrize(
    ("address", "host", "path", "is_app"),
    [
        ("127.0.0.1", "127.0.0.1:8000", "/", True),
        ("127.0.0.1", "localhost:8000", "/api/session/", True),
        ("127.0.0.1", "127.0.0.1:8000", "/trust", False),
        ("127.0.0.1", "farm.example.com", "/", False),
        ("192.168.1.33", "192.168.1.20:8000", "/", False),
        ("192.168.1.33", "127.0.0.1:8000", "/", False),
        ("192.168.1.33", "192.168.1.20:8000", "/api/session/", False),
    ],
)
def test_only_this_computers_own_browser_gets_the_app_without_https(address, host, path, is_app):
    _, _, body = get(door(the_app, PAGE.app()), path, address=address, host=host)
    assert is_app == (body == b"the app")


def test_cookies_for_this_computers_own_browser_need_no_https():
    _, headers, _ = get(for_own_browser(the_app), "/")
    assert "sessionid=x; Path=/; SameSite=Lax" == headers["Set-Cookie"]


def test_a_wrong_address_says_where_to_go():
    status, _, body = get(PAGE.app(), "/admin/")
    assert status.startswith("404")
    assert b"https://tally.local:8443/" in body
    assert b"" == get(PAGE.app(), "/trust", method="HEAD")[2]
