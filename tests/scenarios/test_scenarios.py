"""Each story in this folder, folded here; the phone's tests fold the same files."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
import uuid
from pathlib import Path
from typing import Any

import pytest

from tubertrack.core.stock.entries import Entry
from tubertrack.core.stock.fold import Fold
from tubertrack.core.sync.chain import Link
from tubertrack.core.sync.envelope import Unreadable, read_envelope
from tubertrack.core.sync.feed import entry_from
from tubertrack.core.sync.verdicts import verdict

ROLES = {"ana": "owner", "cleo": "grower", "ben": "helper", "dora": "helper", "vera": "viewer"}
STORIES = sorted(Path(__file__).parent.glob("*.json"))


def id_of(name: str) -> str:
    """The id of the thing that a story calls by this name."""
    return str(uuid.UUID(bytes=hashlib.sha256(name.encode()).digest()[:16], version=4))


def noon(day: str) -> int:
    return int(dt.datetime.fromisoformat(f"{day}T12:00:00+00:00").timestamp() * 1000)


class Story:
    """Writes the steps as phones would and folds them."""

    def __init__(self) -> None:
        self.fold = Fold()
        self.hashes: dict[str, str] = {}
        self.written = 0

    def named(self, value: Any) -> Any:
        """The value with names in place of ids and hashes, in keys as well."""
        if isinstance(value, dict):
            return {self.named(key): self.named(part) for key, part in value.items()}
        if isinstance(value, list):
            return [self.named(part) for part in value]
        if not isinstance(value, str):
            return value
        text = re.sub(r"@(\w+)", lambda found: id_of(found[1]), value)
        return re.sub(r"#(\w+)", lambda found: self.hashes[found[1]], text)

    def entry(self, step: dict[str, Any]) -> Entry:
        self.written += 1
        recorded_at = noon(step.get("written", step["on"])) + self.written * 1000
        received_on = step.get("received", step["on"])
        received_at = noon(received_on) + self.written * 1000 + 500
        envelope: dict[str, Any] = {
            "id": id_of(f"entry {step.get('id', self.written)}"),
            "farm": id_of("farm"),
            "device": id_of(step.get("phone", "one")),
            "device_seq": self.written,
            "author": id_of(step["who"]),
            "kind": step["kind"],
            "v": 1,
            "occurred_on": step["on"],
            "recorded_at": recorded_at,
        }
        if step["kind"] == "field_set":
            envelope["stamp"] = [recorded_at, 0]
        envelope["body"] = self.named(step["body"])
        raw = json.dumps(envelope, separators=(",", ":"), ensure_ascii=False).encode()
        sha256 = hashlib.sha256(raw).hexdigest()
        if "as" in step:
            self.hashes[step["as"]] = sha256
        read = read_envelope(raw)
        assert not isinstance(read, Unreadable)
        role = step.get("role", ROLES[step["who"]])
        recorded_on = dt.datetime.fromtimestamp(min(recorded_at, received_at) / 1000, dt.UTC).date()
        link = Link(
            sha256=sha256,
            seq=self.written,
            received_at=received_at,
            received_on=received_on,
            recorded_on=recorded_on.isoformat(),
            stamp=read.stamp,
            held=verdict(
                read,
                size=len(raw),
                role=role,
                farm_id=envelope["farm"],
                quarantined=step.get("quarantined", False),
            ),
            role=role,
        )
        return entry_from(read, link)

    def take(self, steps: list[dict[str, Any]]) -> None:
        self.fold.apply([self.entry(step) for step in steps])

    def check(self, expected: dict[str, Any]) -> None:
        state = self.fold.state()
        standing = [found for found in state["problems"].values() if not found["accepted"]]
        assert expected["problems"] == sorted(found["code"] for found in standing)
        assert_part(self.named(expected["state"]), state, "")


def assert_part(expected: Any, found: Any, where: str) -> None:
    """Every named key of a table is there and reads as told; anything else is equal."""
    if isinstance(expected, dict) and expected:
        assert isinstance(found, dict), where
        for key, part in expected.items():
            assert key in found, f"{where}/{key}"
            assert_part(part, found[key], f"{where}/{key}")
    else:
        assert expected == found, where


@pytest.mark.parametrize("path", STORIES, ids=lambda path: path.stem)
def test_story(path: Path) -> None:
    told = json.loads(path.read_text("utf-8"))
    story = Story()
    story.take(told["steps"])
    story.check(told["expect"])
    if "then" in told:
        story.take(told["then"])
        story.check(told["expect_then"])


def test_there_are_stories() -> None:
    assert len(STORIES) >= 10
