"""A phone on the farm's network, before and after it trusts the farm's authority, in Chromium.

The browser has a home of its own, whose certificates certutil of NSS puts in, as Settings do on a
phone. What a real phone shows while it installs one cannot be tested here.
"""

from __future__ import annotations

import http.server
import io
import json
import os
import shutil
import ssl
import subprocess
import threading
import time
import uuid
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
import segno
from PIL import Image
from playwright.sync_api import Error, expect

from tests.browser.camera import FakeCamera, held
from tests.browser.rig import PHONE, Phone, Watcher
from tests.farm_network import farm_network
from tubertrack.apps.accounts.lan.authority import Pair, make_leaf
from tubertrack.core.codes import code_from_bytes

CODE = code_from_bytes(b"crate")
NAMES = ("farm.lan", "shop.example")

pytestmark = pytest.mark.skipif(
    shutil.which("certutil") is None, reason="no certutil (Debian: apt install libnss3-tools)"
)


@pytest.fixture(scope="module")
def network(tmp_path_factory):
    with farm_network(tmp_path_factory.mktemp("farm") / "data", hosts="farm.lan") as network:
        yield network


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    """The browser's home, with an empty store of certificates."""
    home = tmp_path_factory.mktemp("home")
    (home / ".pki" / "nssdb").mkdir(parents=True)
    certutil(home, "-N", "--empty-password")
    return home


def certutil(home: Path, *words: str) -> None:
    subprocess.run(
        ["certutil", "-d", f"sql:{home}/.pki/nssdb", *words], check=True, capture_output=True
    )


@pytest.fixture(scope="module")
def label(tmp_path_factory):
    """What the phone's camera shows."""
    return FakeCamera(tmp_path_factory.mktemp("label") / "camera.y4m")


@pytest.fixture
def launched(browser_type, browser_type_launch_args, home, label):
    """Starts the browser; it reads its store of certificates once."""
    started = []

    def launch():
        args = [one for one in browser_type_launch_args["args"] if "fake-video" not in one]
        rules = ", ".join(f"MAP {name} 127.0.0.1" for name in NAMES)
        browser = browser_type.launch(
            **{
                **browser_type_launch_args,
                "args": [*args, *label.launch_args, f"--host-resolver-rules={rules}"],
                "env": {**os.environ, "HOME": str(home)},
            }
        )
        started.append(browser)
        return browser

    yield launch
    for browser in started:
        browser.close()


def as_phone(browser):
    context = browser.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, permissions=["camera"], locale="en-US"
    )
    context.set_default_timeout(20_000)
    return context


@contextmanager
def another_site(network, names, folder):
    """A server whose certificate the farm's own key signed, for names that are not the farm's."""
    kept = network.data / "authority"
    authority = Pair(
        (kept / "authority.pem").read_bytes(), (kept / "authority-key.pem").read_bytes()
    )
    leaf = make_leaf(authority, names, now=datetime.now(UTC))
    certificate, key = folder / "c.pem", folder / "k.pem"
    certificate.write_bytes(leaf.certificate)
    key.write_bytes(leaf.key)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), http.server.SimpleHTTPRequestHandler)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def write_a_labelled_crate(owner):
    """Crate 12 with 40 tubers and a printed label on it."""
    ids = {name: str(uuid.uuid4()) for name in ("crates", "varieties", "lot")}
    now = int(time.time() * 1000)
    lot = {"lot": ids["lot"], "count": 40, "unit": "tuber", "variety": ids["varieties"]}
    bodies = [
        ("field_set", {"table": "crates", "row": ids["crates"], "field": "number", "value": "12"}),
        (
            "field_set",
            {"table": "varieties", "row": ids["varieties"], "field": "name", "value": "Pim Hadd"},
        ),
        ("packed", {"crate": ids["crates"], "from": [], "lots": [{**lot, "eyes": "showing"}]}),
        ("labelled", {"code": CODE, "target": "crate", "id": ids["crates"]}),
    ]
    records = []
    for number, (kind, body) in enumerate(bodies, start=1):
        record = {
            "id": str(uuid.uuid4()),
            "farm": owner.farm,
            "device": owner.device["device"]["id"],
            "device_seq": number,
            "author": owner.device["member"]["id"],
            "kind": kind,
            "v": 1,
            "occurred_on": datetime.now(UTC).date().isoformat(),
            "recorded_at": now,
            "body": body,
        }
        stamp = {"stamp": [now, number]} if kind == "field_set" else {}
        records.append(json.dumps({**record, **stamp}))
    told = {"app": "test", "protocol": 1, "device": record["device"], "records": records}
    answer = owner.post("/sync/v1/push", told)
    assert ["stored"] * 4 == [one["verdict"] for one in answer["verdicts"]], answer


def show_the_label(label):
    png = io.BytesIO()
    segno.make(CODE, error="m").save(png, kind="png", scale=12, border=4)
    drawn = Image.open(png).convert("RGB")
    paper = Image.new("RGB", (drawn.width * 2, drawn.height), "white")
    paper.paste(drawn, (0, 0))
    label.show(held(paper))


def kept_from_installing(page):
    """What the browser itself says against offering the page as an app, faults of its manifest too."""
    devtools = page.context.new_cdp_session(page)
    told = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]
    faults = devtools.send("Page.getAppManifest")["errors"]
    against = {one["errorId"] for one in told} | {one["message"] for one in faults}
    return against - {"in-incognito"}  # Playwright's contexts are


def test_a_phone_before_and_after_it_trusts_the_farm(
    network, home, launched, label, shots, tmp_path
):
    owner = network.owner()
    write_a_labelled_crate(owner)
    member = owner.device["member"]["id"]
    pairing = owner.post("/api/pairing/", {"member": member})
    assert pairing["qr"].startswith(f"{network.app}/pair/")

    # -- a phone that has installed nothing is let in nowhere
    page = as_phone(launched()).new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(network.app)

    # -- what the trust page hands out is installed, and nothing else is done
    (tmp_path / "farm.pem").write_text(network.authority())
    certutil(home, "-A", "-t", "C,,", "-n", "farm", "-i", str(tmp_path / "farm.pem"))
    browser = launched()
    context = as_phone(browser)
    watcher = Watcher(network.app)
    watcher.watch(context)
    phone = Phone(context, network.app, shots)
    phone.pair(pairing["code"])
    assert phone.page.evaluate("isSecureContext && 'mediaDevices' in navigator")

    # -- it can be installed: by the browser's own list of what would keep it from that
    assert set() == kept_from_installing(phone.page)

    # -- without a network it opens, and the camera reads a label
    phone.has_all()
    phone.offline()
    show_the_label(label)
    phone.go("/todo")
    phone.reload()
    phone.tap("Scan")
    expect(phone.drawer).to_contain_text("Crate 12")
    assert [] == watcher.verdict()

    # -- and the authority helps nobody who would pass for another site
    other = as_phone(browser).new_page()
    for names, asked, refused in (
        (["shop.example"], "shop.example", "ERR_CERT_INVALID"),
        (["farm.lan", "shop.example"], "farm.lan", "ERR_CERT_INVALID"),
        (["cellar.lan"], "farm.lan", "ERR_CERT_COMMON_NAME_INVALID"),
    ):
        site = another_site(network, names, tmp_path)
        with site as port, pytest.raises(Error, match=refused):
            other.goto(f"https://{asked}:{port}/")
    with another_site(network, ["farm.lan"], tmp_path) as port:
        assert other.goto(f"https://farm.lan:{port}/").ok  # so it was the names
        assert "no-manifest" in kept_from_installing(other)  # so the list above is one
