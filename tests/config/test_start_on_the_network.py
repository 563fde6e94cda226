"""`start --lan` as a phone on the farm's network meets it: the trust page, then HTTPS that holds."""

import contextlib
import json
import os
import re
import socket
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture
def said(tmp_path: Path) -> Iterator[str]:
    """What the running server told on its terminal; it is stopped afterwards."""
    environment = {
        **os.environ,
        "TUBERTRACK_DATA": str(tmp_path / "data"),
        "TUBERTRACK_NO_BOOTSTRAP": "1",
        "TUBERTRACK_HOSTS": "127.0.0.1",  # a machine of tests may have no other address
        "PYTHONUNBUFFERED": "1",
    }
    for name in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE"):
        environment.pop(name, None)
    with subprocess.Popen(
        [sys.executable, "manage.py", "start", "--lan", "--empty", "--no-browser"],
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as server:
        assert server.stdout is not None
        lines: list[str] = []
        for line in server.stdout:
            lines.append(line)
            if line.startswith("Stop it"):
                break
        told = "".join(lines)
        for port in re.findall(r"https?://[^/\s]+:(\d+)/", told):
            wait_until_it_listens(server, int(port))
        yield told
        server.terminate()


def wait_until_it_listens(server: subprocess.Popen[str], port: int) -> None:
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=5).close()
        except ConnectionRefusedError:
            with contextlib.suppress(subprocess.TimeoutExpired):
                pytest.fail(f"the server ended with {server.wait(0.05)} instead of listening")
        else:
            return


def address(said: str, pattern: str) -> str:
    found = re.search(pattern, said)
    assert found, said
    return found[0].rstrip("/")


def fetch(url: str, context: ssl.SSLContext | None = None) -> bytes:
    with urllib.request.urlopen(url, timeout=30, context=context) as answer:
        return bytes(answer.read())


def test_a_phone_that_takes_the_certificate_reaches_the_app_and_no_other_does(said: str) -> None:
    trust, app = address(said, r"http://\S+/trust"), address(said, r"https://\S+")
    told = fetch(trust).decode()
    assert "fingerprint" in told.lower()
    certificate = ssl.DER_cert_to_PEM_cert(fetch(f"{trust}/farm.crt"))

    trusting = ssl.create_default_context(cadata=certificate)
    assert b'id="app"' in fetch(f"{app}/", trusting)
    with pytest.raises(urllib.error.HTTPError) as refused:
        fetch(f"{app}/api/farm/", trusting)
    assert 401 == refused.value.code
    assert "not_signed_in" == json.loads(refused.value.read())["code"]

    with pytest.raises(urllib.error.URLError, match="CERTIFICATE_VERIFY_FAILED"):
        fetch(f"{app}/", ssl.create_default_context())


def test_the_plain_address_shows_phones_nothing_but_the_way_in(said: str) -> None:
    plain = address(said, r"http://\S+/trust").removesuffix("/trust")
    for path in ("/sync/v1/pull", "/api/farm/"):
        with pytest.raises(urllib.error.HTTPError) as refused:
            fetch(plain + path)
        assert refused.value.code in {401, 403, 404}
