"""The farm's computer: `manage.py start` as a process that is killed and started again."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import suppress
from http import HTTPStatus
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any

from tubertrack.config.start import PORTS_TRIED, free_port

ROOT = Path(__file__).resolve().parents[2]
FIRST_PORT = 8300
PATIENCE_S = 60


class FarmComputer:
    """One data folder and one port over all lives of the server."""

    def __init__(self, data: Path, database_url: str = "") -> None:
        worker = os.environ.get("PYTEST_XDIST_WORKER", "gw0")
        # Not one that the system gives to connections: it has to be free again after each kill.
        self.port = free_port(FIRST_PORT + PORTS_TRIED * int(worker.removeprefix("gw")))
        self.address = f"http://127.0.0.1:{self.port}"
        self.link = ""
        self.said: list[str] = []
        self._process: subprocess.Popen[str] | None = None
        self._environment = {
            **os.environ,
            "TUBERTRACK_DATA": str(data),
            "TUBERTRACK_NO_BOOTSTRAP": "1",
            "DATABASE_URL": database_url,
            "PYTHONUNBUFFERED": "1",
        }
        for name in ("DJANGO_SETTINGS_MODULE", "TUBERTRACK_SECRET_KEY"):
            self._environment.pop(name, None)

    @property
    def pid(self) -> int:
        """The process that was started; its group is called so too."""
        assert self._process
        return self._process.pid

    def start(self) -> None:
        """Runs and answers."""
        self._process = subprocess.Popen(
            self._manage("start", "--empty", "--no-browser", "--port", str(self.port)),
            cwd=ROOT,
            env=self._environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        assert self._process.stdout
        for line in self._process.stdout:
            self.said.append(line.rstrip())
            if line.startswith("Sign in with this link"):
                self.link = line.split()[-1]
            if line.startswith("Stop it"):
                break
        else:
            raise AssertionError("the server ended:\n" + "\n".join(self.said[-40:]))
        assert f"{self.address}/" in "".join(self.said[-6:]), "somebody else took the port"
        self.answers()

    def answers(self) -> None:
        """Returns when a request is answered that needs the database."""
        until = time.monotonic() + PATIENCE_S
        last: Exception | None = None
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(f"{self.address}/start/no-link", timeout=20).close()
            except urllib.error.HTTPError as refused:
                if refused.code == HTTPStatus.GONE:  # it looked the link up
                    return
                last = refused
            except OSError as nothing:
                last = nothing
            with suppress(subprocess.TimeoutExpired):
                assert self._process
                code = self._process.wait(0.02)
                raise AssertionError(f"the server ended with {code}: {self.said[-20:]}")
        raise AssertionError(f"no answer within {PATIENCE_S} s, at last {last!r}")

    def is_gone(self) -> None:
        """Returns when every process of it has ended: each of them holds its end of this pipe."""
        assert self._process
        assert self._process.stdout
        self.said += self._process.stdout.read().splitlines()
        self._process.wait()

    def stop(self) -> None:
        if self._process and self._process.poll() is None:
            self._process.terminate()
            self.is_gone()

    def run(self, *command: str) -> str:
        """What another command of manage.py says; it has to end well."""
        done = subprocess.run(
            self._manage(*command),
            cwd=ROOT,
            env=self._environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    @staticmethod
    def _manage(*command: str) -> list[str]:
        return [sys.executable, "manage.py", *command]


def people_with_phones(computer: FarmComputer) -> list[dict[str, Any]]:
    """The owner's browser, a grower's phone and a helper's: what the server answered each of them."""
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    browser.open(computer.link).close()
    session = json.load(browser.open(f"{computer.address}/api/session/"))

    def ask(path: str, told: dict[str, Any], **headers: str) -> Any:
        request = urllib.request.Request(computer.address + path, json.dumps(told).encode())
        request.add_header("Content-Type", "application/json")
        for name, value in headers.items():
            request.add_header(name, value)
        with browser.open(request) as answer:
            return json.load(answer)

    csrf = {"X-CSRFToken": session["csrf"], "Referer": computer.address}
    farm = session["farms"][0]["id"]
    desk = ask("/api/devices/", {"farm": farm, "name": "Desk", "sort": "browser"}, **csrf)
    owner = {"Authorization": f"Bearer {desk['token']}"}
    enrolled = [desk]
    for name, role in (("Gil", "grower"), ("Ben", "helper")):
        member = ask("/api/members/", {"name": name, "role": role}, **owner)
        code = ask("/api/pairing/", {"member": member["id"]}, **owner)["code"]
        enrolled.append(ask("/api/pair/", {"code": code, "device_name": f"{name}'s phone"}))
    return enrolled
