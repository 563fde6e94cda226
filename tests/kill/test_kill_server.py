"""kill -9 while phones push: whatever a phone was told, or said was saved, is in the log once.

Three phones run the app's own session, loop and store in Node; the farm's computer is the real
server over HTTP. A kill falls at a moment of a push that the seed chooses: while the request is on
its way, while the server works at it, or at the first of its answer. Whom it hits takes turns.
"""

from __future__ import annotations

import faulthandler
import random
import secrets
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from tests.kill.afterwards import Log, everybody_agrees, nothing_is_lost, the_log_is_whole
from tests.kill.farm_computer import PATIENCE_S, FarmComputer, people_with_phones
from tests.kill.phones import Killing, Phones
from tubertrack.config.setup import cluster, system_packages
from tubertrack.config.setup.progress import Stop

HANGS_S = 280
LEAST_INTERRUPTED = 0.5
"""The share of kills that must leave a push without its answer, or they did not test much."""

Whom = dict[str, Any]
Mend = Callable[[], None]


@pytest.fixture
def seed(request: pytest.FixtureRequest) -> int:
    return request.config.getoption("--kill-seed", default=0) or secrets.randbelow(2**31)


@pytest.fixture
def kills(request: pytest.FixtureRequest) -> int:
    return int(request.config.getoption("--kills", default=10))


class Hand:
    """Chooses the moments, and whom the next kill hits; `mend` brings things back after it."""

    def __init__(self, computer: FarmComputer, seed: int) -> None:
        self.computer, self.chance = computer, random.Random(seed)
        self.turns: list[Callable[[], tuple[str, Whom, Mend]]] = [self.everything, self.worker]
        self.hit: Counter[str] = Counter()

    def plan(self) -> tuple[dict[str, Any], Mend]:
        name, whom, mend = self.turns[self.hit.total() % len(self.turns)]()
        self.hit[name] += 1
        moment = {
            "push": self.chance.randint(1, 4),
            "at": self.chance.choices(["upload", "work", "answer"], [2, 5, 1])[0],
            "share": self.chance.random(),
        }
        return {"whom": whom, **moment}, mend

    def everything(self) -> tuple[str, Whom, Mend]:
        """As when somebody pulls the plug: all processes of the server."""

        def mend() -> None:
            self.computer.is_gone()
            self.computer.start()

        return "server", {"pids": [-self.computer.pid]}, mend

    def worker(self) -> tuple[str, Whom, Mend]:
        """As when memory runs out: the one that answers; nobody starts anything again."""
        whom = {"pids": [], "parent": self.computer.pid, "named": ""}
        return "worker", whom, self.computer.answers


class HandOnPostgres(Hand):
    """Also kills what the server talks to."""

    def __init__(self, computer: FarmComputer, postgres: cluster.Cluster, seed: int) -> None:
        super().__init__(computer, seed)
        self.postgres = postgres
        self.turns += [self.backends, self.database]

    def backends(self) -> tuple[str, Whom, Mend]:
        """The database's processes for the server; it then begins anew by itself."""
        whom = {"pids": [], "parent": self.postgres.postmaster, "named": "postgres: tally"}
        return "backends", whom, self.computer.answers

    def database(self) -> tuple[str, Whom, Mend]:
        """The whole database."""

        def mend() -> None:
            # It refuses to start beside what is left of the dead one, for as long as that is seen.
            until = time.monotonic() + PATIENCE_S
            while time.monotonic() < until:
                with suppress(Stop):
                    self.postgres.start()
                    break
            else:
                raise AssertionError((self.postgres.folder / "log").read_text()[-2000:])
            self.computer.answers()

        postmaster = self.postgres.postmaster
        return "database", {"pids": [postmaster], "parent": postmaster, "named": ""}, mend


def killed_again_and_again(computer: FarmComputer, hand: Hand, kills: int, seed: int) -> None:
    began = time.monotonic()
    met: list[Killing] = []
    with Phones() as phones:
        computer.start()
        phones.join(computer.address, people_with_phones(computer), seed=seed)
        for _ in range(kills):
            goes_on()
            plan, mend = hand.plan()
            met.append(phones.work_until_killed(plan))
            mend()
        goes_on()
        report = phones.settle()
    computer.stop()

    log = Log(exported(computer))
    tell(hand, met, report, log, time.monotonic() - began)
    nothing_is_lost(log, report)
    the_log_is_whole(log)
    assert "no row differed" in computer.run("rebuild", "--check")
    everybody_agrees(log, report)
    assert len(met) == kills
    assert sum(one.interrupted > 0 for one in met) >= LEAST_INTERRUPTED * kills


def goes_on() -> None:
    """A run of any length may go on as long as something happens."""
    faulthandler.dump_traceback_later(HANGS_S, exit=True, file=sys.__stderr__)


def exported(computer: FarmComputer) -> list[str]:
    return computer.run("export-records", "-").splitlines()


def tell(hand: Hand, met: list[Killing], report: dict[str, Any], log: Log, took_s: float) -> None:
    """The figures, for whoever reads the run."""
    shown = sum(len(phone["shown"]) for phone in report["phones"])
    told = {one["sha"] for one in report["told"]}
    unheard = sum(one["verdict"] == "duplicate" for one in report["told"])
    seen = report["seen"]
    interrupted = sum(one.interrupted > 0 for one in met)
    moments = Counter(one.at for one in met)
    print(
        f"\n{len(met)} kills ({dict(hand.hit)}; {dict(moments)}), {interrupted} in an open push;"
        f"\n{shown} records shown as saved, {seen['pushes']} pushes"
        f" ({seen['answered']} answered, {seen['refused']} refused, {seen['unanswered']} not"
        f" answered), verdicts seen on {len(told)} records,"
        f" {unheard} times on one that was stored already;"
        f"\n{len(log.rows)} records in the log, {len(told & set(log.keys))} of those with"
        f" verdicts; {took_s:.0f} s"
    )


def test_on_sqlite(tmp_path: Path, kills: int, seed: int) -> None:
    print(f"\n--kill-seed {seed}")
    computer = FarmComputer(tmp_path / "data")
    try:
        killed_again_and_again(computer, Hand(computer, seed), kills, seed)
    finally:
        computer.stop()


@pytest.fixture
def postgres() -> Iterator[cluster.Cluster]:
    programs = system_packages.postgresql_bin()
    if programs is None:
        pytest.skip("there is no PostgreSQL here: apt install postgresql")
    with cluster.running_cluster(programs, cluster.KEEPS_COMMITS) as postgres:
        yield postgres


def test_on_postgresql(postgres: cluster.Cluster, tmp_path: Path, kills: int, seed: int) -> None:
    print(f"\n--kill-seed {seed}")
    computer = FarmComputer(tmp_path / "data", postgres.url)
    try:
        killed_again_and_again(computer, HandOnPostgres(computer, postgres, seed), kills, seed)
    finally:
        computer.stop()
