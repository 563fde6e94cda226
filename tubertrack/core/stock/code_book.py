"""Which thing carries which code. The first that got a code owns it."""

from __future__ import annotations

from collections import defaultdict

from tubertrack.core.stock.act_index import ActIndex
from tubertrack.core.stock.entries import Act
from tubertrack.core.stock.facts import codes
from tubertrack.core.stock.living import Problem, problem
from tubertrack.core.stock.things import Thing

Given = list[tuple[Act, str, str]]
"""(entry, sort of thing, id) for each time a code was given, in order."""


class CodeBook:
    """Owners of codes, and the checks that were written under a code alone."""

    def __init__(self, index: ActIndex) -> None:
        self.codes: dict[str, dict[str, str]] = {}
        self._index = index
        self._codes_of: dict[Thing, set[str]] = defaultdict(set)

    def crate_of_code(self, code: str) -> str:
        """The crate that carries a code, or ""."""
        owner = self.codes.get(code)
        return owner["id"] if owner and owner["target"] == "crate" else ""

    def crate_of(self, act: Act) -> str:
        """The crate that a check is of, named or by its code; "" when nobody knows."""
        return str(act.body.get("crate") or self.crate_of_code(act.body.get("code", "")))

    def code_of(self, sort: str, key: str) -> str:
        """The code that a thing got first, or ""."""
        acts = self._index.acts
        owned = self._codes_of.get((sort, key), ())
        return min(owned, key=lambda code: (acts[self.codes[code]["by"]].key, code), default="")

    def fold(self, code: str) -> tuple[set[Thing], dict[str, Problem]]:
        """Works out anew who owns a code; what reads by it, and what contradicts itself in it."""
        acts = self._index.acts_of("code", code)
        given = [
            (act, target, key) for act in acts for one, target, key in codes(act) if one == code
        ]
        again = self._own(code, given)
        found = _on_two(code, given)
        waiting = [act.sha256 for act in acts if act.kind == "checked"]
        if waiting and not self.crate_of_code(code):
            found[f"unknown_code:{code}"] = problem(
                "unknown_code",
                waiting,
                outs=_outs_of_unknown(len(waiting), is_given=bool(given)),
                voidable=waiting if len(waiting) == 1 else [],
                label=code,
            )
        return again, found

    def _own(self, code: str, given: Given) -> set[Thing]:
        old = self.codes.pop(code, None)
        again: set[Thing] = set()
        if old is not None:
            thing = (old["target"], old["id"])
            self._codes_of[thing].discard(code)
            again.add(thing)
        if given:
            act, target, key = given[0]
            self.codes[code] = {"target": target, "id": key, "by": act.sha256}
            self._codes_of[target, key].add(code)
            again.add((target, key))
        for act in self._index.acts_of("code", code):
            if act.kind == "checked" and "crate" not in act.body:
                again |= self._attach(act, "" if old is None else old["id"])
        return again

    def _attach(self, act: Act, old: str) -> set[Thing]:
        """A check written under a code belongs to the crate that carries the code."""
        crate = self.crate_of(act)
        again: set[Thing] = {("act", act.sha256)}
        if old and old != crate:
            self._index.detach(act, ("crate", old))
            again.add(("crate", old))
        if crate:
            self._index.attach(act, ("crate", crate))
        return again | self._index.things_named_by(act)


def _outs_of_unknown(waiting: int, *, is_given: bool) -> list[str]:
    """A code nobody knew can be given to a crate; one on another thing can only be left."""
    outs = ["accept"] if is_given else ["label"]
    return ["void", *outs] if waiting == 1 else outs


def _on_two(code: str, given: Given) -> dict[str, Problem]:
    things = {(target, key) for _, target, key in given}
    if len(things) < 2:
        return {}
    first = given[0]
    others = [act for act, target, key in given if (target, key) != first[1:]]
    labels = [act.sha256 for act in others if act.kind == "labelled"]
    single = len(others) == 1 and bool(labels)
    found = problem(
        "code_on_two",
        [first[0].sha256, *(act.sha256 for act in others)],
        outs=["void", "accept"] if single else ["accept"],
        voidable=labels if single else [],
        label=code,
    )
    return {f"code_on_two:{code}": found}
