"""A phone as the sync protocol wants it, in little: saved, sent, settled, stuck; and its faults."""

from __future__ import annotations

import base64
import hashlib
import json
import uuid
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from rest_framework.exceptions import APIException

from tubertrack.apps.accounts.models import Device
from tubertrack.apps.sync import selectors, services
from tubertrack.core.stock.entries import Entry
from tubertrack.core.sync.chain import START, Link, next_chain
from tubertrack.core.sync.envelope import Unreadable, read_envelope
from tubertrack.core.sync.feed import entry_from

PAGE = 3
FAULTS = ("request_lost", "reply_lost", "twice", "crash", "truncated")
MAKES_SERVER_CRASH = "this text makes the server crash"


class NoAnswer(Exception):
    """Nothing was learned from the request."""


class Refused(Exception):
    """The server answered with an error."""

    def __init__(self, status: int) -> None:
        super().__init__(status)
        self.status = status


class Crash(Exception):
    """The phone died between the reply and writing it down."""


@dataclass
class Server:
    """The real service, reached by JSON text, with a clock of its own."""

    clock: int
    counters: Counter[str]
    faults: list[str] = field(default_factory=list)

    def push(self, device: Device, told: dict[str, Any]) -> Any:
        return self._request(lambda body: self._push(device, body), json.dumps(told))

    def pull(self, device: Device, after: str) -> Any:
        return self._request(lambda body: self._pull(device, body), json.dumps(after))

    def _push(self, device: Device, body: str) -> Any:
        if MAKES_SERVER_CRASH in body:
            self.counters["server_crashed"] += 1
            raise Refused(500)
        return services.push(device, json.loads(body), now=self.clock)

    def _pull(self, device: Device, body: str) -> Any:
        cursor = selectors.read_cursor(json.loads(body))
        return selectors.pull(device.farm_id, cursor, limit=PAGE)

    def _request(self, serve: Callable[[str], Any], body: str) -> Any:
        self.clock += 1
        fault = self.faults.pop() if self.faults else ""
        if fault:
            self.counters[fault] += 1
        if fault == "request_lost":
            raise NoAnswer
        text = self._answer(serve, body)
        if fault == "twice":
            text = self._answer(serve, body)
        if fault == "reply_lost":
            raise NoAnswer
        if fault == "crash":
            raise Crash
        if fault == "truncated":
            text = text[:-1]
        try:
            return json.loads(text)
        except ValueError:
            raise NoAnswer from None

    @staticmethod
    def _answer(serve: Callable[[str], Any], body: str) -> str:
        try:
            return json.dumps(serve(body))
        except APIException as refusal:
            raise Refused(refusal.status_code) from None


@dataclass
class Kept:
    """A record on the phone."""

    raw: bytes
    order: tuple[str, int]
    state: str = "saved"


@dataclass
class ModelPhone:
    device: Device
    author: str
    server: Server
    kept: dict[str, Kept] = field(default_factory=dict)
    feed: list[Entry] = field(default_factory=list)
    cursor: tuple[int, str] = (0, START.hex())
    clock_ahead: int = 0
    hlc: tuple[int, int] = (0, 0)
    written: int = 0
    last_id: str = ""

    # saving

    def save(self, kind: str, body: dict[str, Any], *, same_id: bool = False) -> str:
        """Makes a record and keeps it; its key. From here on it may not be lost."""
        now = max(0, self.server.clock + self.clock_ahead)
        self.written += 1
        self.last_id = self.last_id if same_id and self.last_id else str(uuid.uuid4())
        envelope = {
            "id": self.last_id,
            "farm": str(self.device.farm_id),
            "device": str(self.device.pk),
            "device_seq": self.written,
            "author": self.author,
            "kind": kind,
            "v": 1,
            "occurred_on": "2024-11-14",
            "recorded_at": now,
            "body": body,
        }
        if kind == "field_set":
            self.hlc = (now, 0) if now > self.hlc[0] else (self.hlc[0], self.hlc[1] + 1)
            envelope["stamp"] = list(self.hlc)
        raw = json.dumps(envelope).encode()
        return self._hold(raw, "saved")

    def _hold(self, raw: bytes, state: str) -> str:
        sha = hashlib.sha256(raw).hexdigest()
        envelope = read_envelope(raw)
        bad = isinstance(envelope, Unreadable)
        order = ("", 0) if bad else (envelope.device, envelope.device_seq)
        known = self.kept.get(sha)
        if known is None:
            self.kept[sha] = Kept(raw, order, state)
        elif state == "settled":
            known.state = "settled"
        return sha

    # the loop

    def sync(self) -> bool:
        """Pushes, then pulls to the head; whether it got there."""
        try:
            for _ in range(3):  # a history that changed under the loop begins it again
                self._push_all()
                if self._pull_all():
                    return True
        except (NoAnswer, Crash):
            return False
        return False

    def _push_all(self) -> None:
        todo = sorted((one.order, sha) for sha, one in self.kept.items() if one.state == "saved")
        shas = [sha for _, sha in todo]
        for start in range(0, len(shas), PAGE):
            self._push(shas[start : start + PAGE])

    def _push(self, shas: list[str]) -> None:
        told = {
            "app": "model",
            "protocol": 1,
            "device": str(self.device.pk),
            "records": [self.kept[sha].raw.decode() for sha in shas],
        }
        try:
            answer = self.server.push(self.device, told)
        except Refused:
            self._bisect(shas)
            return
        for one in answer["verdicts"]:
            if self.kept[one["sha256"]].state == "saved":
                self.kept[one["sha256"]].state = "sent"

    def _bisect(self, shas: list[str]) -> None:
        if len(shas) == 1:
            self.kept[shas[0]].state = "stuck"
            self.server.counters["stuck"] += 1
            return
        middle = len(shas) // 2
        self._push(shas[:middle])
        self._push(shas[middle:])

    def _pull_all(self) -> bool:
        while True:
            try:
                answer = self.server.pull(self.device, f"{self.cursor[0]}:{self.cursor[1]}")
            except Refused as refusal:
                if refusal.status != 409:
                    raise
                self.server.counters["history_changed"] += 1
                self.start_over()
                return False
            if not answer["entries"]:
                break
            self._take(answer["entries"])
        self._at_the_head()
        return True

    def _at_the_head(self) -> None:
        for one in self.kept.values():
            if one.state == "sent":
                self.server.counters["sent_but_not_in_feed"] += 1
                one.state = "saved"

    def _take(self, entries: list[dict[str, Any]]) -> None:
        """All of a page, or nothing of it."""
        seq, chain = self.cursor[0], bytes.fromhex(self.cursor[1])
        page = []
        for told in entries:
            seq += 1
            raw = told["raw"].encode() if "raw" in told else base64.b64decode(told["raw_b64"])
            link = Link(
                sha256=hashlib.sha256(raw).hexdigest(),
                seq=told["seq"],
                received_at=told["received_at"],
                received_on=told["received_on"],
                recorded_on=told["recorded_on"],
                stamp=tuple(told["stamp_eff"]) if "stamp_eff" in told else None,
                held=told.get("held", ""),
                role=told["role"],
            )
            chain = next_chain(chain, link)
            assert (seq, chain.hex()) == (told["seq"], told["chain"])
            page.append((raw, link))
        for raw, link in page:
            self._hold(raw, "settled")
            self.feed.append(entry_from(read_envelope(raw), link))
            self.hlc = max(self.hlc, link.stamp or (0, 0))
        self.cursor = (seq, chain.hex())

    def start_over(self) -> None:
        """The history is another one: everything this phone holds is offered again."""
        self.cursor, self.feed = (0, START.hex()), []
        for one in self.kept.values():
            if one.state != "stuck":
                one.state = "saved"
