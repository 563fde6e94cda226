"""A PostgreSQL of the tests' own: in a new folder, on loopback, gone afterwards."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tubertrack.config.setup.progress import Stop

# Nothing here outlives the tests, so nothing waits for the disk.
FAST = "fsync=off\nsynchronous_commit=off\nfull_page_writes=off\nmax_connections=60\n"


# A commit is in the kernel's hands before it is answered, so it outlives a killed server.
KEEPS_COMMITS = FAST.replace("synchronous_commit=off", "synchronous_commit=on")


@dataclass(frozen=True)
class Cluster:
    """A PostgreSQL of the tests' own; `url` is its DATABASE_URL."""

    url: str
    folder: Path
    programs: Path
    who: dict[str, Any]

    @property
    def postmaster(self) -> int:
        """The process id of its first process."""
        return int((self.folder / "data" / "postmaster.pid").read_text("ascii").split()[0])

    def start(self) -> None:
        """Answers once it takes connections, also after its processes were killed."""
        self._pg_ctl("-l", str(self.folder / "log"), "start")

    def stop(self) -> None:
        self._pg_ctl("-m", "immediate", "stop")

    def _pg_ctl(self, *arguments: str) -> None:
        data = self.folder / "data"
        _run([self.programs / "pg_ctl", "-D", data, "-w", *arguments], self.who)


@contextmanager
def running_cluster(programs: Path, settings: str = FAST) -> Iterator[Cluster]:
    """An empty, running PostgreSQL."""
    folder = Path(tempfile.mkdtemp(prefix="tubertrack-pg-"))
    who = _unprivileged(folder)
    try:
        _run([programs / "initdb", "-D", folder / "data", *_INITDB], who)
        port = _free_port()
        settings += f"port={port}\nlisten_addresses='127.0.0.1'\n"
        settings += f"unix_socket_directories='{folder}'\n"
        with (folder / "data" / "postgresql.conf").open("a", encoding="ascii") as conf:
            conf.write(settings)
        url = f"postgres://tally@127.0.0.1:{port}/postgres"
        cluster = Cluster(url, folder, programs, who)
        cluster.start()
        try:
            yield cluster
        finally:
            cluster.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


_INITDB = ("-U", "tally", "-A", "trust", "-E", "UTF8", "--no-locale", "--no-sync")


def _unprivileged(folder: Path) -> dict[str, Any]:
    """How to run as somebody else where this is root: the server refuses root."""
    if os.name != "posix" or os.geteuid() != 0:
        return {}
    import pwd

    for name in ("postgres", "nobody"):
        try:
            account = pwd.getpwnam(name)
        except KeyError:
            continue
        os.chown(folder, account.pw_uid, account.pw_gid)
        return {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}
    raise Stop("PostgreSQL refuses to run as root and there is no user postgres or nobody.")


def _run(command: list[Any], who: dict[str, Any]) -> None:
    # Output to a file: a server that keeps a pipe open would keep us waiting for its end.
    with tempfile.TemporaryFile("w+") as out:
        done = subprocess.run(
            [str(part) for part in command],
            cwd="/" if os.name == "posix" else None,
            stdout=out,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            check=False,
            **who,
        )
        if done.returncode != 0:
            out.seek(0)
            raise Stop(f"PostgreSQL for the tests did not start:\n{out.read()[-2000:]}")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
