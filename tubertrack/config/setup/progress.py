"""What set-up says while it works, and how it stops with a sentence instead of a traceback."""

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]


class Stop(Exception):
    """Set-up cannot go on. The text says why and what to do."""


def say(text: str) -> None:
    """One line, shown at once."""
    print(text, flush=True)


def run_quietly(
    doing: str,
    command: Sequence[str | Path],
    *,
    log: Path,
    cwd: Path = ROOT,
    env: Mapping[str, str] | None = None,
) -> None:
    """The command has succeeded; its output is in `log`. Raises Stop with the end of that log."""
    started = time.monotonic()
    say(f"  {doing} ...")
    log.parent.mkdir(parents=True, exist_ok=True)
    with log.open("a", encoding="utf-8") as out:
        out.write(f"\n$ {' '.join(map(str, command))}\n")
        out.flush()
        done = subprocess.run(
            [str(part) for part in command],
            cwd=cwd,
            env=dict(env) if env is not None else None,
            stdout=out,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            check=False,
        )
    if done.returncode != 0:
        end = log.read_text("utf-8", errors="replace").splitlines()[-200:]
        raise Stop(f"{doing}: this did not work.\n{_reason(end)}\nEverything it said: {log}")
    say(f"    done in {time.monotonic() - started:.0f} s")


_NO_NETWORK = (
    "temporary failure in name resolution",
    "name or service not known",
    "getaddrinfo",
    "nodename nor servname",
    "enotfound",
    "eai_again",
    "econnrefused",
    "network is unreachable",
    "failed to establish a new connection",
    "connection refused",
    "read timed out",
    "etimedout",
)
_NO_SPACE = ("no space left on device", "enospc", "not enough free disk")


def _reason(lines: Sequence[str]) -> str:
    """The likely cause in a sentence, else the last lines themselves."""
    text = "\n".join(lines).lower()
    if any(sign in text for sign in _NO_SPACE):
        return "The disk is full. About 1 GB is needed. Make room, then run the same command again."
    if any(sign in text for sign in _NO_NETWORK):
        return (
            "The package registry could not be reached. Set-up needs the internet once; "
            "check the connection, then run the same command again (it goes on where it stopped)."
        )
    if "do not match the hashes" in text:
        return (
            "A downloaded package is not the one that was locked. Nothing of it was installed. "
            "Try again on another network; if it stays, do not go on."
        )
    shown = [line for line in lines if line.strip() and not line.startswith("WARNING: Location")]
    return "\n".join(f"    {line}" for line in shown[-12:])


def may_sudo() -> bool:
    """Whether system packages may be installed without asking for a password."""
    if os.name != "posix":
        return False
    if os.geteuid() == 0:
        return True
    try:
        asked = subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False)
    except OSError:
        return False
    return asked.returncode == 0


def venv_python(venv: Path) -> Path:
    """The interpreter inside a virtual environment."""
    return venv / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
