"""`manage.py start --lan` as a process of its own, and what it said on its terminal."""

from __future__ import annotations

import contextlib
import json
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]


class FarmNetwork:
    """A running server: its terminal, its addresses, and the owner's browser on its own screen."""

    def __init__(self, process: subprocess.Popen[str], data: Path) -> None:
        self.process, self.data = process, data
        self.said = ""
        assert process.stdout is not None
        for line in process.stdout:
            self.said += line
            if line.startswith("Stop it"):
                break
        else:
            raise AssertionError(f"the server ended:\n{self.said}")
        self.trust = self._address(r"http://\S+/trust")
        self.app = self._address(r"https://\S+")
        self.link = self._address(r"http://\S+/start/\S+")
        self.home = self.link.partition("/start/")[0]
        self.port = int(self.app.rpartition(":")[2])
        for port in (int(self.home.rpartition(":")[2]), self.port):
            self._listens(port)

    def _address(self, pattern: str) -> str:
        found = re.search(pattern, self.said)
        assert found, self.said
        return found[0].rstrip("/")

    def _listens(self, port: int) -> None:
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), timeout=5).close()
            except ConnectionRefusedError:
                with contextlib.suppress(subprocess.TimeoutExpired):
                    ended = self.process.wait(0.05)
                    raise AssertionError(f"it ended with {ended} instead of listening") from None
            else:
                return

    def authority(self) -> str:
        """The certificate that phones install, in PEM, as the page of the network hands it out."""
        at = self.trust.partition("//")[2].partition(":")[0]
        with urllib.request.urlopen(self.trust.replace(at, "127.0.0.1") + "/farm.crt") as answer:
            return ssl.DER_cert_to_PEM_cert(answer.read())

    def look_again(self) -> None:
        """What the server does each minute by itself."""
        self.process.send_signal(signal.SIGHUP)

    def owner(self) -> Owner:
        return Owner(self)


class Owner:
    """The owner's browser on the computer's own screen, signed in by the printed link, as a device."""

    def __init__(self, network: FarmNetwork) -> None:
        self.address = network.home
        self.browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
        self.browser.open(network.link).close()
        session = self.ask("/api/session/")
        csrf = {"X-CSRFToken": session["csrf"], "Referer": self.address}
        told = {"farm": session["farms"][0]["id"], "name": "Desk", "sort": "browser"}
        self.device = self.ask("/api/devices/", told, **csrf)
        self.farm = told["farm"]

    def post(self, path: str, told: dict[str, Any]) -> Any:
        return self.ask(path, told, Authorization=f"Bearer {self.device['token']}")

    def ask(self, path: str, told: dict[str, Any] | None = None, **headers: str) -> Any:
        body = None if told is None else json.dumps(told).encode()
        request = urllib.request.Request(self.address + path, body, headers)
        request.add_header("Content-Type", "application/json")
        with self.browser.open(request) as answer:
            return json.load(answer)


@contextlib.contextmanager
def farm_network(data: Path, *, hosts: str) -> Iterator[FarmNetwork]:
    """The server with a new data folder, found under these names; stopped afterwards."""
    environment = {
        **os.environ,
        "TUBERTRACK_DATA": str(data),
        "TUBERTRACK_NO_BOOTSTRAP": "1",
        "TUBERTRACK_HOSTS": hosts,
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
        try:
            yield FarmNetwork(server, data)
        finally:
            server.terminate()
