"""The test command: lanes from the fastest to the slowest, each with its time, then the sum."""

import os
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tubertrack.config.setup import cluster, frontend, system_packages
from tubertrack.config.setup.progress import ROOT, Stop, say

PYTEST = [sys.executable, "-m", "pytest", "-q"]
# Two at once: the machines this runs on have two cores.
AT_ONCE = ["-n", "2", "--dist", "loadfile"]
OWN_LANES = ["core", "browser", "kill"]
OUTSIDE_CORE = ["tests", *(f"--ignore=tests/{name}" for name in OWN_LANES)]


@dataclass
class Tally:
    """What ran in one lane."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0
    steps_failed: list[str] = field(default_factory=list)
    not_run: str = ""

    def check(
        self, name: str, command: Sequence[str], env: Mapping[str, str] | None = None
    ) -> None:
        """One check that has no count of its own: one passed or one failed."""
        if _run(name, command, env=env) == 0:
            self.passed += 1
        else:
            self.failed += 1
            self.steps_failed.append(name)

    def tests(
        self,
        name: str,
        command: Callable[[Path], Sequence[str]],
        *,
        cwd: Path = ROOT,
        env: Mapping[str, str] | None = None,
    ) -> None:
        """A runner that writes a JUnit file at the path it is given."""
        with tempfile.TemporaryDirectory() as folder:
            report = Path(folder) / "junit.xml"
            code = _run(name, command(report), cwd=cwd, env=env)
            ran = _read_junit(report)
        self.passed += ran.passed
        self.failed += ran.failed
        self.skipped += ran.skipped
        nothing_collected = code == 5  # pytest's own code for it
        if code != 0 and not nothing_collected:
            self.steps_failed.append(name)
            if ran.failed == 0:
                self.failed += 1


def run_lanes(chosen: Sequence[str]) -> int:
    """0 when everything that ran passed. Prints the closing line described in the README."""
    os.environ.setdefault("PYTHONDONTWRITEBYTECODE", "1")
    tallies: dict[str, Tally] = {}
    for name, lane in LANES.items():
        if name not in chosen:
            continue
        say(f"\n==== {name} lane ====")
        started = time.monotonic()
        tallies[name] = Tally()
        try:
            lane(tallies[name])
        except Stop as stop:
            say(str(stop))
            tallies[name].failed += 1
            tallies[name].steps_failed.append("set-up")
        say(f"==== {name} lane: {time.monotonic() - started:.0f} s ====")
    return _sum_up(tallies)


def _fast(tally: Tally) -> None:
    python = [sys.executable, "-m"]
    tally.check("ruff check", [*python, "ruff", "check", "."])
    tally.check("ruff format", [*python, "ruff", "format", "--check", "."])
    tally.check("mypy, strict in core", [*python, "mypy"])
    tally.check("import contracts", [str(Path(sys.executable).with_name("lint-imports"))])
    tally.tests("pytest core", lambda out: [*PYTEST, "tests/core", f"--junitxml={out}"])


def _frontend(tally: Tally) -> None:
    frontend.ensure_packages(all_of_them=True)
    npm, env = frontend.node_command()
    os.chdir(ROOT)
    prefix = ["--prefix", str(frontend.FRONTEND)]
    tally.check("types of the app", [*npm, *prefix, "run", "--silent", "check"], env)
    tally.check("eslint", [*npm, *prefix, "run", "--silent", "lint"], env)
    tally.tests(
        "vitest",
        lambda out: [
            *npm,
            *("exec", "--offline", "--", "vitest", "run"),
            *("--reporter=default", "--reporter=junit", f"--outputFile.junit={out}"),
        ],
        cwd=frontend.FRONTEND,
        env=env,
    )
    frontend.ensure_built()


def _sqlite(tally: Tally) -> None:
    frontend.ensure_packages(all_of_them=True)  # before, not while, two workers use them
    frontend.ensure_built()
    system_packages.ensure_pango()
    system_packages.ensure_nginx()
    env = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    tally.tests(
        "pytest on SQLite",
        lambda out: [*PYTEST, *AT_ONCE, *OUTSIDE_CORE, f"--junitxml={out}"],
        env=env,
    )


def _postgres(tally: Tally) -> None:
    programs = system_packages.ensure_postgresql()
    if programs is None:
        tally.not_run = (
            f"PostgreSQL: {_count_database_tests()} tests did not run "
            "(no PostgreSQL server here and none could be installed: apt install postgresql)"
        )
        say(tally.not_run)
        return
    frontend.ensure_packages(all_of_them=True)
    frontend.ensure_built()
    system_packages.ensure_pango()
    with cluster.running_cluster(programs) as postgresql:
        tally.tests(
            "pytest on PostgreSQL",
            lambda out: [*PYTEST, *AT_ONCE, "--database-only", *OUTSIDE_CORE, f"--junitxml={out}"],
            env={**os.environ, "DATABASE_URL": postgresql.url},
        )


def _browser(tally: Tally) -> None:
    frontend.ensure_built()
    system_packages.ensure_pango()
    path = system_packages.ensure_chromium()
    system_packages.ensure_certutil()
    if path is None and sys.platform == "linux":
        raise Stop(
            "The browser tests need Chromium and it could not be installed: apt install chromium"
        )
    env = {**os.environ, **({"TUBERTRACK_CHROMIUM": path} if path else {})}
    tally.tests(
        "pytest in Chromium",
        lambda out: [*PYTEST, *AT_ONCE, "tests/browser", f"--junitxml={out}"],
        env=env,
    )


def _kills(tally: Tally) -> None:
    """Both databases at once, with what was killed and what survived on the screen."""
    frontend.ensure_packages(all_of_them=True)
    frontend.ensure_built()
    system_packages.ensure_postgresql()
    tally.tests(
        "kill -9 in the middle of pushes",
        lambda out: [*PYTEST, "-raP", "-n", "2", "tests/kill", f"--junitxml={out}"],
    )


def _mutants(tally: Tally) -> None:
    frontend.ensure_packages(all_of_them=True)
    system_packages.ensure_pango()
    tally.tests(
        "guards taken out one by one",
        lambda out: [sys.executable, "-m", "tests.mutants.running", f"--junitxml={out}"],
    )


LANES: dict[str, Callable[[Tally], None]] = {
    "fast": _fast,
    "frontend": _frontend,
    "sqlite": _sqlite,
    "postgres": _postgres,
    "browser": _browser,
    "kills": _kills,
    "mutants": _mutants,
}


def _sum_up(tallies: Mapping[str, Tally]) -> int:
    say("")
    for name, tally in tallies.items():
        line = f"{name:<9} {tally.passed} passed, {tally.failed} failed"
        if tally.skipped:
            line += f", {tally.skipped} skipped"
        if tally.steps_failed:
            line += f": {', '.join(tally.steps_failed)}"
        say(line)
    failed = sum(tally.failed for tally in tallies.values())
    say(f"{sum(tally.passed for tally in tallies.values())} passed, {failed} failed")
    for tally in tallies.values():
        if tally.not_run:
            say(tally.not_run)
    return 1 if failed else 0


def _run(
    name: str,
    command: Sequence[str],
    *,
    cwd: Path = ROOT,
    env: Mapping[str, str] | None = None,
) -> int:
    say(f"-- {name}")
    started = time.monotonic()
    code = subprocess.run(list(command), cwd=cwd, env=env, check=False).returncode
    say(f"-- {name}: {'ok' if code == 0 else 'FAILED'}, {time.monotonic() - started:.0f} s")
    return code


def _read_junit(report: Path) -> Tally:
    """The counts of a JUnit file written by pytest or vitest; all 0 when there is none."""
    ran = Tally()
    if not report.is_file():
        return ran
    for case in ET.parse(report).getroot().iter("testcase"):
        if case.find("failure") is not None or case.find("error") is not None:
            ran.failed += 1
        elif case.find("skipped") is not None:
            ran.skipped += 1
        else:
            ran.passed += 1
    return ran


def _count_database_tests() -> int:
    listed = subprocess.run(
        [*PYTEST, "--collect-only", "--database-only", *OUTSIDE_CORE],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    ).stdout
    return sum("::" in line for line in listed.splitlines())
