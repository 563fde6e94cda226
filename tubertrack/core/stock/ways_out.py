"""The ways out of a contradiction: each is one or two ordinary entries, and each really clears it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tubertrack.core.stock.fold import Fold
from tubertrack.core.stock.living import Problem


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry to be written: its kind, body and date."""

    kind: str
    body: dict[str, Any]
    occurred_on: str


@dataclass(frozen=True, slots=True)
class Choice:
    """What the person chose beside the way out itself; each has a sensible default.

    `count`: what was counted. `record`: which entry to void. `crate`: the crate a code belongs to.
    `line`: which line of a check lost the tubers that were not assigned.
    """

    today: str
    count: int | None = None
    record: str = ""
    crate: str = ""
    line: int = 0


class NoWayOut(ValueError):
    """This problem does not stand, or does not offer this way out."""


def ways_out(fold: Fold, key: str, out: str, choice: Choice) -> list[Draft]:
    """The entries that clear a problem in this way. Raises NoWayOut when it is not offered."""
    found = fold.problem(key)
    if found is None or out not in found["outs"]:
        raise NoWayOut(f"{out} is not offered for {key}")
    return [Draft(kind, body, on) for kind, body, on in _WAYS[out](fold, key, found, choice)]


Told = list[tuple[str, dict[str, Any], str]]


def _accept(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    return [("problem_accepted", {"problem": key}, choice.today)]


def _void(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    sha = choice.record or found["voidable"][0]
    return [("record_voided", _target(fold, sha), choice.today)]


def _target(fold: Fold, sha: str) -> dict[str, Any]:
    return {"target": sha, "target_id": fold.living.entries[sha].id}


def _recount(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    lot = found["facts"]["lot"]
    count = choice.count
    if count is None:
        count = max(0, fold.tables["lots"][lot]["balance"])
    return [("counted", {"lot": lot, "count": count}, choice.today)]


def _there_were_more(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    return [("counted", {"lot": found["facts"]["lot"], "count": 0}, choice.today)]


def _found(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    lot = found["facts"]["lot"]
    page = fold.tables["lots"][lot]
    count = found["facts"]["count"] if choice.count is None else choice.count
    body = {"lot": lot, "unit": page["unit"], "variety": page["variety"], "count": count}
    return [("found", body, choice.today)]


def _move(fold: Fold, found: Problem, where: str, choice: Choice) -> Told:
    body = {"lot": found["facts"]["lot"], "container": found["facts"][where]}
    return [("moved", body, choice.today)]


def _move_here(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    return _move(fold, found, "crate", choice)


def _move_back(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    return _move(fold, found, "container", choice)


def _label(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    if not choice.crate:
        raise NoWayOut("say which crate carries the code")
    body = {"code": found["facts"]["label"], "target": "crate", "id": choice.crate}
    return [("labelled", body, choice.today)]


def _count_too(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    entry = fold.living.entries[found["records"][1]]
    return [(entry.kind, entry.body, entry.occurred_on), *_accept(fold, key, found, choice)]


def _correct(fold: Fold, key: str, found: Problem, choice: Choice) -> Told:
    sha = found["records"][0]
    reading = fold.living.reading(sha)
    if reading is None:
        raise NoWayOut("the entry does not count any more")
    mend = _MENDS[found["code"]]
    body = {
        **_target(fold, sha),
        "as_v": reading.v,
        "body": mend(reading.body, choice),
        "occurred_on": fold.acts[sha].on,
    }
    return [("record_corrected", body, choice.today)]


def _same_body(body: dict[str, Any], choice: Choice) -> dict[str, Any]:
    return body


def _even(body: dict[str, Any], choice: Choice) -> dict[str, Any]:
    """What was taken is what was given: the first lot bears it."""
    given = sum(line["count"] for line in body["into"])
    lines = [{**line, "count": _thrown(line)} for line in body["from"]]
    lines[0]["count"] += given
    return {**body, "from": lines}


def _thrown(line: dict[str, Any]) -> int:
    return sum(line.get("thrown_out", {}).values())


def _assigned(body: dict[str, Any], choice: Choice) -> dict[str, Any]:
    """The tubers thrown out from "one of these" belong to the chosen line."""
    lines = [dict(line) for line in body["lines"]]
    removed = dict(lines[choice.line].get("removed", {}))
    for cause, count in body["unassigned"].items():
        removed[cause] = removed.get(cause, 0) + count
    lines[choice.line]["removed"] = removed
    return {name: part for name, part in body.items() if name != "unassigned"} | {"lines": lines}


_MENDS = {"date_clamped": _same_body, "sums_differ": _even, "unassigned_loss": _assigned}
_WAYS = {
    "accept": _accept,
    "void": _void,
    "recount": _recount,
    "there_were_more": _there_were_more,
    "found": _found,
    "move_here": _move_here,
    "move_back": _move_back,
    "label": _label,
    "count_too": _count_too,
    "correct": _correct,
}
