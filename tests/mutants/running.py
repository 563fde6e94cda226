"""Takes every guard out, one at a time, in a copy of the tree, and runs the tests that must notice.

`python -m tests.mutants.running [--only WORDS] [--named NAME] [--jobs N]`. Prints a table, then one line of JSON.
Ends with 0 when each was caught. The checkout itself is never changed.
"""

from __future__ import annotations

import argparse
import json
import os
import queue
import shutil
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.differential.phone import node
from tests.mutants import folds, phone, server, walls
from tests.mutants.guard import ROOT, Guard
from tubertrack.config.setup import cluster, system_packages

SIDES: dict[str, tuple[Guard, ...]] = {
    "server": server.GUARDS,
    "walls": walls.GUARDS,
    "phone": phone.GUARDS,
    "folds": folds.GUARDS,
}
NOT_COPIED = shutil.ignore_patterns(
    *(".git", ".venv", "node_modules", ".data", "spa", "build-tools", "dist", "test-results"),
    *("__pycache__", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis"),
)
PATIENCE_S = 600
"""A change that makes a test hang is noticed as well: nobody would overlook it."""


@dataclass(frozen=True)
class Outcome:
    """`said` is "caught", "survived", "hung", "broken" (the tests did not run) or "not run"."""

    side: str
    name: str
    said: str
    seconds: float
    told: str = ""


def all_guards() -> list[tuple[str, Guard]]:
    return [(side, guard) for side, guards in SIDES.items() for guard in guards]


@contextmanager
def copy_of_the_tree() -> Iterator[Path]:
    """A copy of the checkout that borrows its installed packages."""
    with tempfile.TemporaryDirectory(prefix="tubertrack-mutants-") as folder:
        copy = Path(folder) / "tree"
        shutil.copytree(ROOT, copy, ignore=NOT_COPIED, symlinks=True)
        modules = ROOT / "frontend" / "node_modules"
        if modules.is_dir():
            (copy / "frontend" / "node_modules").symlink_to(modules, target_is_directory=True)
        yield copy


def run(
    tree: Path,
    runner: str,
    tests: Sequence[str],
    database: str | None,
    patience_s: int = PATIENCE_S,
) -> tuple[int, int, str]:
    """(tests that ran, of them failed, what was printed); (0, -1, …) when they hung."""
    report = tree.parent / "junit.xml"
    report.unlink(missing_ok=True)
    env = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    env |= {"PYTHONDONTWRITEBYTECODE": "1", **({"DATABASE_URL": database} if database else {})}
    try:
        ended = subprocess.run(
            _command(runner, tests, report),
            cwd=tree / "frontend" if runner == "vitest" else tree,
            env=env,
            capture_output=True,
            text=True,
            check=False,
            timeout=patience_s,
        )
    except subprocess.TimeoutExpired:
        return 0, -1, f"no end after {patience_s} s"
    return *_counted(report), (ended.stdout + ended.stderr)[-2000:]


def _command(runner: str, tests: Sequence[str], report: Path) -> list[str]:
    if runner == "vitest":
        files = [test.removeprefix("frontend/") for test in tests]
        vitest = str(Path("node_modules") / "vitest" / "vitest.mjs")
        return [
            *(node(), vitest, "run", *files, "--bail=1", "--testTimeout=30000"),
            *("--reporter=junit", f"--outputFile.junit={report}"),
        ]
    return [
        *(sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist"),
        *("-p", "tests.mutants.unshrunk", f"--junitxml={report}", *tests),
    ]


def _counted(report: Path) -> tuple[int, int]:
    """Tests of a JUnit file that ran and that failed; a module that cannot be loaded is none."""
    ran = failed = 0
    cases = ET.parse(report).getroot().iter("testcase") if report.is_file() else ()
    for case in cases:
        wrong = [*case.findall("failure"), *case.findall("error")]
        not_loaded = any("collection failure" in (one.get("message") or "") for one in wrong)
        if not_loaded or str(case.get("name")).endswith(".test.ts"):
            continue
        ran += case.find("skipped") is None
        failed += bool(wrong)
    return ran, failed


def judged(side: str, guard: Guard, tree: Path, database: str | None) -> Outcome:
    """What the tests say of the tree without this guard."""
    started = time.monotonic()
    before = guard.take_out(tree)
    try:
        ran, failed, printed = run(tree, guard.runner, guard.caught_by, database)
    finally:
        (tree / guard.file).write_text(before, "utf-8")
    seconds = time.monotonic() - started
    if failed:
        return Outcome(side, guard.name, "hung" if failed < 0 else "caught", seconds)
    said = "survived" if ran else "broken"
    return Outcome(side, guard.name, said, seconds, printed)


def whole(tree: Path, chosen: Iterable[Guard], databases: dict[bool, str | None]) -> list[str]:
    """Tests that fail or do not run in the tree as it is: what they say of a change means nothing."""
    sets = {(guard.runner, guard.postgresql) for guard in chosen}
    wrong = []
    for runner, postgresql in sorted(sets):
        tests = sorted(
            {
                test
                for guard in chosen
                if (guard.runner, guard.postgresql) == (runner, postgresql)
                for test in guard.caught_by
            }
        )
        ran, failed, printed = run(tree, runner, tests, databases[postgresql], 10 * PATIENCE_S)
        if failed or not ran:
            wrong.append(f"{runner}: {ran} ran, {failed} failed\n{printed}")
    return wrong


def take_each_out(chosen: Sequence[tuple[str, Guard]], jobs: int) -> list[Outcome]:
    """An outcome for each guard, in their order."""
    with ExitStack() as stack:
        databases: dict[bool, str | None] = {False: None, True: None}
        if any(guard.postgresql for _, guard in chosen):
            programs = system_packages.ensure_postgresql()
            if programs is not None:
                databases[True] = stack.enter_context(cluster.running_cluster(programs)).url
        may_run = [one for one in chosen if databases[True] or not one[1].postgresql]
        trees: queue.SimpleQueue[Path] = queue.SimpleQueue()
        for _ in range(jobs):
            trees.put(stack.enter_context(copy_of_the_tree()))
        tree = trees.get()
        wrong = whole(tree, [guard for _, guard in may_run], databases)
        if wrong:
            raise SystemExit("The tests fail without any change:\n" + "\n".join(wrong))
        trees.put(tree)

        def judge(one: tuple[str, Guard]) -> Outcome:
            side, guard = one
            if one not in may_run:
                return Outcome(side, guard.name, "not run", 0, "no PostgreSQL here")
            tree = trees.get()
            try:
                outcome = judged(side, guard, tree, databases[guard.postgresql])
            finally:
                trees.put(tree)
            print(f"{outcome.said:<9} {side:<7} {guard.name} ({outcome.seconds:.0f} s)", flush=True)
            return outcome

        with ThreadPoolExecutor(jobs) as pool:
            return list(pool.map(judge, chosen))


def summary(outcomes: Sequence[Outcome], seconds: float) -> dict[str, object]:
    """Counts by side, and the names of those that nobody noticed."""
    noticed = ("caught", "hung")
    return {
        "guards": len(outcomes),
        "caught": sum(one.said in noticed for one in outcomes),
        "by_side": {
            side: [
                sum(one.said in noticed for one in outcomes if one.side == side),
                sum(one.side == side for one in outcomes),
            ]
            for side in SIDES
        },
        "not_noticed": [one.name for one in outcomes if one.said not in (*noticed, "not run")],
        "not_run": [one.name for one in outcomes if one.said == "not run"],
        "seconds": round(seconds),
    }


def write_junit(outcomes: Sequence[Outcome], path: Path) -> None:
    suite = ET.Element("testsuite", name="mutants")
    for one in outcomes:
        case = ET.SubElement(
            suite, "testcase", classname=one.side, name=one.name, time=f"{one.seconds:.1f}"
        )
        if one.said == "not run":
            ET.SubElement(case, "skipped", message=one.told)
        elif one.said not in ("caught", "hung"):
            ET.SubElement(case, "failure", message=one.said).text = one.told
    ET.ElementTree(suite).write(path, "utf-8", xml_declaration=True)


def main(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants.running", description=__doc__)
    parser.add_argument("--only", default="", help="guards whose side or name holds these words")
    parser.add_argument("--named", action="append", help="this guard alone; may be repeated")
    parser.add_argument("--jobs", type=int, default=2, help="how many at once (2)")
    parser.add_argument("--junitxml", type=Path, help="also write the outcomes here")
    options = parser.parse_args(arguments)
    chosen = [
        (side, guard)
        for side, guard in all_guards()
        if options.only in f"{side}: {guard.name}"
        and (not options.named or guard.name in options.named)
    ]
    if not chosen:
        parser.error("there is no such guard")
    started = time.monotonic()
    outcomes = take_each_out(chosen, options.jobs)
    if options.junitxml:
        write_junit(outcomes, options.junitxml)
    for one in outcomes:
        if one.said in ("survived", "broken"):
            print(f"\n{one.said}: {one.name}\n{one.told}")
    told = summary(outcomes, time.monotonic() - started)
    print(f"\n{told['caught']} of {told['guards']} noticed")
    for side, (caught, of_all) in told["by_side"].items():  # type: ignore[attr-defined]
        print(f"  {side:<7} {caught} of {of_all}")
    print(json.dumps(told))
    return 1 if told["not_noticed"] else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
