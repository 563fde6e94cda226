"""One guard of the program, and how it reads when it is taken out."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Guard:
    """A small change to the source after which a test must fail.

    `text` stands in `file` exactly once and becomes `instead`; at least one test of `caught_by`
    (paths, or pytest's ids of single tests) then fails. `more`: further texts of the file and what
    they become, for a guard that stands twice. `postgresql`: only that database shows it.
    """

    name: str
    file: str
    text: str
    instead: str
    caught_by: tuple[str, ...]
    more: tuple[tuple[str, str], ...] = ()
    postgresql: bool = False

    @property
    def changes(self) -> tuple[tuple[str, str], ...]:
        return ((self.text, self.instead), *self.more)

    @property
    def runner(self) -> str:
        """ "vitest" for tests of the app, else "pytest"."""
        return "vitest" if self.caught_by[0].startswith("frontend/") else "pytest"

    def times_found(self, root: Path = ROOT) -> list[int]:
        """How often each text stands in the file."""
        path = root / self.file
        held = path.read_text("utf-8") if path.is_file() else ""
        return [held.count(text) for text, _ in self.changes]

    def take_out(self, root: Path) -> str:
        """Changes the file under `root`; returns what it held before."""
        if set(self.times_found(root)) != {1}:
            raise ValueError(f"{self.name}: the text is not once in {self.file}")
        path = root / self.file
        before = changed = path.read_text("utf-8")
        for text, instead in self.changes:
            changed = changed.replace(text, instead)
        path.write_text(changed, "utf-8")
        return before
