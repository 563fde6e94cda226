"""What is known against the packages in the locks: asked of the registries, told, never in the way.

A package with an advisory is for people to judge, and a registry that does not answer says nothing
about the packages; so the command's code is 0 either way.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tubertrack.config.setup import frontend
from tubertrack.config.setup.progress import ROOT, Stop, say

TOOL = ROOT / ".venv" / "audit"
TOOL_LOCK = ROOT / "requirements-audit.lock"
LOCK, RUNTIME_LOCK = ROOT / "requirements-test.lock", ROOT / "requirements.lock"
LONGEST_S = 60


@dataclass(frozen=True, order=True)
class Advisory:
    """One package of a lock and what is known against it."""

    package: str
    version: str
    name: str
    fixed_in: str
    needed: str
    """Where it is: runs on the farm, or only builds and tests."""


class NoAnswer(Exception):
    """The registry did not answer, or not for these packages."""


def audit() -> int:
    """Prints one table for both locks; always 0."""
    sources: dict[str, Callable[[], list[Advisory]]] = {
        "Python packages": _python,
        "packages of the app": _npm,
    }
    for title, ask in sources.items():
        try:
            found = ask()
        except (NoAnswer, Stop, OSError, subprocess.SubprocessError) as why:
            say(f"audit, {title}: no answer ({_short(why)}). Nothing was learnt; ask again later.")
            continue
        say(f"audit, {title}: {len(found)} known advisories")
        for line in table(found):
            say(line)
    return 0


def table(found: Iterable[Advisory]) -> list[str]:
    """Rows of equal columns, a heading first; nothing when there is nothing to tell."""
    rows = [(a.package, a.version, a.name, a.fixed_in or "-", a.needed) for a in sorted(found)]
    if not rows:
        return []
    rows.insert(0, ("package", "version", "advisory", "fixed in", "needed to"))
    widths = [max(len(row[n]) for row in rows) for n in range(5)]
    return ["  " + "  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]


def _short(why: BaseException) -> str:
    return (str(why).strip().splitlines() or [type(why).__name__])[0][:100]


def _python() -> list[Advisory]:
    _install_tool()
    env = {**os.environ, "PYTHONPATH": str(TOOL)}
    words = ["-r", str(LOCK), "--require-hashes", "--disable-pip", "--format", "json"]
    ran = subprocess.run(
        [sys.executable, "-m", "pip_audit", *words, "--progress-spinner", "off", "--timeout", "10"],
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        env=env,
        check=False,
    )
    return read_pip_audit(ran.stdout, needed_to_run=_names(RUNTIME_LOCK), said=ran.stderr)


def _install_tool() -> None:
    stamp = TOOL / "installed.lock"
    locked = TOOL_LOCK.read_text("utf-8")
    if stamp.is_file() and stamp.read_text("utf-8") == locked:
        return
    quiet = ["--quiet", "--disable-pip-version-check", "--timeout", "10", "--retries", "1"]
    told = ["--require-hashes", "-r", str(TOOL_LOCK), "--upgrade", "--target", str(TOOL)]
    ran = subprocess.run(
        [sys.executable, "-m", "pip", "install", *quiet, *told],
        capture_output=True,
        text=True,
        timeout=2 * LONGEST_S,
        check=False,
    )
    if ran.returncode:
        raise NoAnswer("the auditing tool could not be installed")
    stamp.write_text(locked, "utf-8")


def _names(lock: Path) -> frozenset[str]:
    return frozenset(re.findall(r"^([a-z0-9._-]+)==", lock.read_text("utf-8"), re.MULTILINE))


def read_pip_audit(text: str, *, needed_to_run: frozenset[str], said: str = "") -> list[Advisory]:
    """The advisories in pip-audit's JSON. NoAnswer when it learnt nothing of any package.

    A package that the registry does not know is "skipped", and when all are the tool still says that
    nothing was found.
    """
    try:
        packages = json.loads(text)["dependencies"]
    except (ValueError, KeyError, TypeError):
        raise NoAnswer(said or "no list came back") from None
    if not any("vulns" in package for package in packages):
        raise NoAnswer(f"none of {len(packages)} packages is known there")
    return [
        Advisory(
            package["name"],
            package["version"],
            each["id"],
            ", ".join(each.get("fix_versions", [])),
            "run" if package["name"] in needed_to_run else "test",
        )
        for package in packages
        for each in package.get("vulns", [])
    ]


def _npm() -> list[Advisory]:
    npm, env = frontend.node_command()
    ran = subprocess.run(
        [*npm, "audit", "--json", "--package-lock-only", "--fetch-retries=1"],
        cwd=frontend.FRONTEND,
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        env=env,
        check=False,
    )
    lock = json.loads((frontend.FRONTEND / "package-lock.json").read_text("utf-8"))
    return read_npm_audit(ran.stdout, lock["packages"])


def read_npm_audit(text: str, packages: dict[str, Any]) -> list[Advisory]:
    """The advisories in npm's JSON (its report of version 2). NoAnswer when it is no report."""
    try:
        told = json.loads(text)["vulnerabilities"]
    except (ValueError, KeyError, TypeError):
        raise NoAnswer("the registry takes no questions about advisories") from None
    found = []
    for name, each in told.items():
        held = next((packages[node] for node in each.get("nodes", []) if node in packages), {})
        fix = each.get("fixAvailable")
        for via in each.get("via", []):
            if isinstance(via, dict):  # a text names another package of this list
                found.append(
                    Advisory(
                        name,
                        held.get("version", "?"),
                        str(via.get("url", via.get("source", "?"))).rsplit("/", 1)[-1],
                        fix.get("version", "yes")
                        if isinstance(fix, dict)
                        else "yes"
                        if fix
                        else "",
                        "test" if held.get("dev") else "build",
                    )
                )
    return found
