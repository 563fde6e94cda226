"""The virtual environment .venv with exactly the locked packages."""

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from tubertrack.config.setup.progress import ROOT, Stop, run_quietly, say, venv_python

VENV = ROOT / ".venv"
LOG = VENV / "setup.log"
STAMP = VENV / "installed.json"
LOCKS = {"runtime": ROOT / "requirements.lock", "test": ROOT / "requirements-test.lock"}


def in_own_environment() -> bool:
    """Whether this interpreter is the one of .venv."""
    return Path(sys.prefix).resolve() == VENV.resolve()


def somebody_elses_environment() -> bool:
    """Whether the packages were put in place by somebody else: a container, another venv."""
    if os.environ.get("TUBERTRACK_NO_BOOTSTRAP") == "1":
        return True
    return not in_own_environment() and importlib.util.find_spec("django") is not None


def ensure(lock: str) -> None:
    """The packages of this lock are installed and this process runs among them.

    Re-executes the same command inside .venv where needed, so it may not return.
    """
    if somebody_elses_environment():
        return
    if not venv_python(VENV).exists():
        _make_venv()
    _install(lock)
    if not in_own_environment():
        _run_again_inside()


def ensure_importable() -> None:
    """Django can be imported, without asking whether every package is the newest locked one."""
    if importlib.util.find_spec("django") is None:
        ensure("runtime")


def _make_venv() -> None:
    say("First start on this computer: setting up (once).")
    shutil.rmtree(VENV, ignore_errors=True)
    made = subprocess.run(
        [sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True, check=False
    )
    if made.returncode == 0:
        return
    shutil.rmtree(VENV, ignore_errors=True)
    said = (made.stdout + made.stderr).strip()
    if "ensurepip" in said or "No module named venv" in said:
        raise Stop(
            "Python's own module for virtual environments is missing. On Debian or Ubuntu run\n"
            "    apt install python3-venv\nthen the same command again."
        )
    raise Stop(f"A virtual environment could not be made in {VENV}:\n{said}")


def _install(lock: str) -> None:
    wanted = _fingerprint(lock)
    installed = _stamp()
    if installed.get(lock) == wanted:
        return
    about = "about 30 s" if lock == "runtime" else "about a minute"
    STAMP.unlink(missing_ok=True)
    run_quietly(
        f"Installing Python packages ({about}, once)",
        [
            venv_python(VENV),
            *("-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"),
            *("--require-hashes", "--only-binary", ":all:", "-r", LOCKS[lock]),
        ],
        log=LOG,
    )
    # The test lock holds every package of the runtime lock in the same version (tested).
    both = {"runtime": _fingerprint("runtime")} if lock == "test" else {}
    STAMP.write_text(json.dumps({**both, lock: wanted}), "utf-8")


def _stamp() -> dict[str, str]:
    try:
        found = json.loads(STAMP.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _fingerprint(lock: str) -> str:
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    return hashlib.sha256(LOCKS[lock].read_bytes() + version.encode()).hexdigest()


def _run_again_inside() -> None:
    python = str(venv_python(VENV))
    command = [python, str(ROOT / "manage.py"), *sys.argv[1:]]
    sys.stdout.flush()
    if os.name == "nt":  # exec there would return to the prompt before the program ends
        try:
            sys.exit(subprocess.call(command))
        except KeyboardInterrupt:
            sys.exit(130)
    os.execv(python, command)
