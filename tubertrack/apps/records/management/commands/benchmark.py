"""Measures one thing and says whether it holds its targets.

Each app may have a module `bench` with BENCHES = {name: function}. A function takes a stream for
what it wants to tell meanwhile and returns {"figures", "ratios", "targets"}: named numbers, named
ratios measured within one run, and for some of them {"at_least": x} or {"at_most": x}. Ratios, since
seconds say more of the machine than of the program.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from typing import Any, TextIO

from django.apps import apps
from django.core.management.base import BaseCommand, CommandError, CommandParser

Bench = Callable[[TextIO], dict[str, Any]]


class Command(BaseCommand):
    help = "Measures one thing (benchmark NAME); without a name, lists what can be measured."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="?", default="")
        parser.add_argument(
            "--json", action="store_true", help="the last line is one JSON object with the result"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        benches = _benches()
        name = options["name"]
        if name not in benches:
            known = ", ".join(sorted(benches)) or "nothing yet"
            if name:
                message = f"There is no benchmark “{name}”. There are: {known}."
                raise CommandError(message)
            self.stdout.write(f"Benchmarks: {known}.")
            return
        measured = benches[name](self.stdout)  # type: ignore[arg-type]  it writes like a stream
        result = {"bench": name, **measured, "holds": _holds(measured)}
        self._tell(result)
        if options["json"]:
            self.stdout.write(json.dumps(result))

    def _tell(self, result: dict[str, Any]) -> None:
        for group in ("figures", "ratios"):
            for name, value in result[group].items():
                target = result["targets"].get(name)
                wanted = "".join(
                    f" ({how.replace('_', ' ')} {x})" for how, x in (target or {}).items()
                )
                shown = f"{value:.4g}" if isinstance(value, float) else value
                self.stdout.write(f"{name.replace('_', ' ')}: {shown}{wanted}")
        self.stdout.write("holds" if result["holds"] else "does not hold")


def _benches() -> dict[str, Bench]:
    found: dict[str, Bench] = {}
    for app in apps.get_app_configs():
        if app.name.startswith("tubertrack.") and find_spec(f"{app.name}.bench"):
            found |= import_module(f"{app.name}.bench").BENCHES
    return found


def _holds(measured: dict[str, Any]) -> bool:
    values = {**measured["figures"], **measured["ratios"]}
    return all(
        values[name] >= limit if how == "at_least" else values[name] <= limit
        for name, target in measured["targets"].items()
        for how, limit in target.items()
    )
