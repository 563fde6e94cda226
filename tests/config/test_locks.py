"""The locks hold hashes and no address, and agree with each other."""

import json
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PIN = re.compile(r"^([a-z0-9._-]+)==(\S+)(?: ; (.+?))?(?: \\)?$", re.MULTILINE)


def pins(name: str) -> set[tuple[str, str, str]]:
    return set(PIN.findall((ROOT / name).read_text("utf-8")))


def test_the_test_lock_holds_every_package_of_the_runtime_lock_in_the_same_version() -> None:
    runtime = pins("requirements.lock")

    assert len(runtime) > 30
    assert {(name, version) for name, version, _ in runtime} <= {
        (name, version) for name, version, _ in pins("requirements-test.lock")
    }


def test_start_installs_nothing_that_only_tests_need() -> None:
    assert not {"pytest", "playwright", "hypothesis"} & {
        name for name, _, _ in pins("requirements.lock")
    }


@pytest.mark.parametrize(
    "name", ["requirements.lock", "requirements-test.lock", "requirements-audit.lock"]
)
def test_every_pin_has_a_hash_and_no_lock_an_address(name: str) -> None:
    text = (ROOT / name).read_text("utf-8")

    assert text.count("--hash=sha256:") >= len(pins(name))
    assert "://" not in text


def test_the_frontends_lock_names_no_registry_and_keeps_the_hashes() -> None:
    packages = json.loads((ROOT / "frontend/package-lock.json").read_text("utf-8"))["packages"]
    outside = {name: each for name, each in packages.items() if name}

    assert [] == [name for name, each in outside.items() if "resolved" in each]
    assert [] == [
        name
        for name, each in outside.items()
        if "integrity" not in each and not each.get("inBundle")
    ]
