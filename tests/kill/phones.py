"""The phones at work: the app's own session, loop and store, run by Node (frontend/tools)."""

from __future__ import annotations

import json
import select
import subprocess
from dataclasses import dataclass
from typing import Any, Self

from tests.differential.phone import bundle, node

PATIENCE_S = 90


@dataclass(frozen=True)
class Killing:
    """What a kill met: in which part of the push it was meant for, and the pushes open then."""

    at: str
    open: int
    interrupted: int


class Phones:
    """Several phones of one farm in one process."""

    def __enter__(self) -> Self:
        self._process = subprocess.Popen(
            [node(), str(bundle("phones-cli"))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
        )
        return self

    def __exit__(self, *_: object) -> None:
        self._process.kill()
        self._process.communicate()

    def join(self, address: str, phones: list[dict[str, Any]], *, seed: int) -> None:
        self._say({"join": {"address": address, "seed": seed, "phones": phones}})
        self._hear("ready")

    def work_until_killed(self, plan: dict[str, Any]) -> Killing:
        """Everybody writes and sends until the kill has fallen and nobody waits any more."""
        self._say({"life": plan})
        return Killing(**self._hear("killed"))

    def settle(self) -> dict[str, Any]:
        """All is sent and fetched, as far as it goes; what each phone then holds."""
        self._say({"life": None})
        self._say({"settle": True})
        return dict(self._hear("report"))

    def _say(self, what: dict[str, Any]) -> None:
        assert self._process.stdin
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()

    def _hear(self, what: str) -> Any:
        out = self._process.stdout
        assert out
        ready, _, _ = select.select([out], [], [], PATIENCE_S)
        assert ready, f"the phones said nothing of “{what}” for {PATIENCE_S} s"
        line = out.readline()
        assert line, "the phones' process ended"
        told = json.loads(line)
        assert what in told, told
        return told[what]
