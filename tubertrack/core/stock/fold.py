"""The stock of a farm, folded from its feed: the same state for any order of delivery.

Every lot, crate or row is worked out anew from its own entries whenever one of them changes, so
taking entries in one by one gives the same state as taking all of them at once. What is derived
is never read back as if it were a fact.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from tubertrack.core.stock import kinds
from tubertrack.core.stock.crates import Standing, crate_page, packing_before, standings
from tubertrack.core.stock.entries import Act, Entry, OrderKey
from tubertrack.core.stock.facts import births, codes, placements, touched
from tubertrack.core.stock.living import Living, Problem, problem
from tubertrack.core.stock.lots import Ties, read_lot
from tubertrack.core.stock.pages import (
    check_page,
    planting_page,
    reading_pages,
    round_page,
    row_page,
)
from tubertrack.core.stock.stays import whereabouts

UNKNOWN = "unknown"
Pages = dict[str, dict[str, Any]]
Thing = tuple[str, str]
"""("lot", id), ("planting", id), ("crate", id), ("round", id), ("code", code) or ("row:table", id)."""
SAME: Thing = ("same_as", "")
ORDERS: Thing = ("orders", "")


@dataclass
class Changed:
    """Keys of the state that may read differently now, by table of the state."""

    keys: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))

    def __getitem__(self, table: str) -> set[str]:
        return self.keys[table]


class Fold:
    """State and problems of one farm. Feed it entries with `apply`; read `state()` or `tables`.

    Raises nothing for any history: what contradicts itself becomes a problem.
    """

    def __init__(self, is_valid: Callable[[str, int, Any], bool] = kinds.is_valid_body) -> None:
        self.living = Living(is_valid)
        self.acts: dict[str, Act] = {}
        self.tables: dict[str, Pages] = {
            name: {}
            for name in (
                [
                    "lots",
                    "crates",
                    "postings",
                    "checks",
                    "readings",
                    "rounds",
                    "plantings",
                    "promises",
                    "problems",
                ]
            )
        }
        self.rows: dict[str, Pages] = {}
        self.same: dict[str, dict[str, str]] = {}
        self.codes: dict[str, dict[str, str]] = {}
        self._acts_of: dict[Thing, set[str]] = defaultdict(set)
        self._sorted: dict[Thing, list[Act]] = {}
        self._things_of: dict[str, set[Thing]] = {}
        self._children: dict[Thing, dict[Thing, int]] = defaultdict(lambda: defaultdict(int))
        self._codes_of: dict[Thing, set[str]] = defaultdict(set)
        self._lots_of: dict[str, set[str]] = defaultdict(set)
        self._crates_of: dict[str, set[str]] = {}
        self._problems_of: dict[Thing, dict[str, Problem]] = {}
        self._postings_of: dict[str, set[str]] = {}

    # taking entries in

    def apply(self, entries: Iterable[Entry]) -> Changed:
        """Takes entries in (new ones, or known ones that got their number) and says what changed."""
        shas: set[str] = set()
        changed = Changed()
        for entry in entries:
            shas |= self.living.add(entry)
        for sha in shas:
            known = self.living.entries.get(sha)
            if known and known.kind == "problem_accepted" and not known.held:
                changed["problems"].add(known.body["problem"])
        for sha in self.living.mends_upward(shas):
            self._set_problems(("entry", sha), self.living.trouble(sha), changed)
        dirty: set[Thing] = set()
        for sha in shas:
            dirty |= self._replace_act(sha)
        self._refold(dirty, changed)
        return changed

    def _replace_act(self, sha: str) -> set[Thing]:
        old, new = self.acts.get(sha), self.living.act(sha)
        if old == new:
            return set()
        dirty = {("act", sha)}
        if old is not None:
            del self.acts[sha]
            dirty |= self._unindex(old)
        if new is not None:
            self.acts[sha] = new
            dirty |= self._index(new)
        return dirty

    def _index(self, act: Act) -> set[Thing]:
        things = self._things(act)
        self._things_of[act.sha256] = things
        for thing in things:
            self._acts_of[thing].add(act.sha256)
            self._sorted.pop(thing, None)
        for parent, child in _kinship(act):
            self._children[parent][child] += 1
        return things

    def _unindex(self, act: Act) -> set[Thing]:
        things = self._things_of.pop(act.sha256)
        for thing in things:
            self._acts_of[thing].discard(act.sha256)
            self._sorted.pop(thing, None)
        for parent, child in _kinship(act):
            self._children[parent][child] -= 1
            if not self._children[parent][child]:
                del self._children[parent][child]
        return things

    def _things(self, act: Act) -> set[Thing]:
        named = touched(act)
        things: set[Thing] = {("lot", lot) for lot in named.lots}
        things |= {("crate", crate) for crate in named.crates}
        things |= {("planting", planting) for planting in named.plantings}
        things |= {("code", code) for code, _, _ in codes(act)}
        body = act.body
        if act.kind == "checked" and "crate" not in body:
            things.add(("code", body["code"]))
        if act.kind in ("round_started", "round_ended", "checked") and "round" in body:
            things.add(("round", body["round"]))
        if act.kind == "field_set":
            things.add((f"row:{body['table']}", body["row"]))
        if act.kind == "same_as":
            things.add(SAME)
        if act.kind == "promised" or (act.kind == "gone_out" and "order" in body):
            things.add(ORDERS)
        return things

    def acts_of(self, sort: str, key: str) -> Sequence[Act]:
        """The living entries that name a thing, in the order of the farm's history."""
        thing = (sort, key)
        if thing not in self._sorted:
            found = (self.acts[sha] for sha in self._acts_of.get(thing, ()))
            self._sorted[thing] = sorted(found, key=lambda act: act.key)
        return self._sorted[thing]

    # folding what changed

    def _refold(self, dirty: set[Thing], changed: Changed) -> None:
        dirty |= self._fold_codes({key for sort, key in dirty if sort == "code"}, changed)
        if SAME in dirty:
            dirty |= self._fold_same(changed)
        for sort, key in dirty:
            if sort == "act":
                self._fold_act(key, changed)
            elif sort == "round":
                _put(
                    self.tables["rounds"],
                    key,
                    round_page(self.acts_of("round", key)),
                    changed["rounds"],
                )
            elif sort.startswith("row:"):
                self._fold_row(sort.removeprefix("row:"), key, changed)
        crates = {key for sort, key in dirty if sort == "crate"}
        kin = self._with_descendants(
            {thing for thing in dirty if thing[0] in ("lot", "planting")}
            | {("lot", lot) for crate in crates for lot in self._ever_in(crate)}
        )
        for sort, key in kin:
            if sort == "lot":
                crates |= self._fold_lot(key, changed)
        for crate in crates:
            self._fold_crate(crate, changed)
        for sort, key in kin:
            if sort == "planting":
                self._fold_planting(key, changed)
        self._fold_promises(dirty, changed)

    def _with_descendants(self, things: set[Thing]) -> set[Thing]:
        seen: set[Thing] = set()
        todo = list(things)
        while todo:
            thing = todo.pop()
            if thing not in seen:
                seen.add(thing)
                todo.extend(self._children.get(thing, ()))
        return seen

    def _ever_in(self, crate: str) -> set[str]:
        placed = {
            lot
            for act in self.acts_of("crate", crate)
            for lot, container in placements(act)
            if container == crate
        }
        return placed | self._lots_of[crate]

    def _fold_act(self, sha: str, changed: Changed) -> None:
        act = self.acts.get(sha)
        check = check_page(act, self._crate_of(act)) if act and act.kind == "checked" else None
        _put(self.tables["checks"], sha, check, changed["checks"])
        readings = reading_pages(act) if act and act.kind == "measured" else {}
        for i in range(24):
            key = f"{sha}:{i}"
            _put(self.tables["readings"], key, readings.get(key), changed["readings"])
        found: dict[str, Problem] = {}
        if act is not None and act.clamped:
            key = f"date_clamped:{sha}"
            found[key] = problem("date_clamped", [sha], outs=["correct", "accept"], on=act.on)
        if act is not None and act.kind == "split":
            found |= _uneven(act)
        if act is not None and act.kind == "checked" and act.body.get("unassigned"):
            found |= _unassigned(act)
        self._set_problems(("act", sha), found, changed)

    def _crate_of(self, act: Act) -> str:
        return str(act.body.get("crate") or self.crate_of_code(act.body.get("code", "")))

    def crate_of_code(self, code: str) -> str:
        """The crate that carries a code, or ""."""
        owner = self.codes.get(code)
        return owner["id"] if owner and owner["target"] == "crate" else ""

    def _fold_row(self, table: str, row: str, changed: Changed) -> None:
        page = row_page(self.acts_of(f"row:{table}", row)) or None
        _put(self.rows.setdefault(table, {}), row, page, changed[table])
        if table == "crates":
            changed["crates"].add(row)

    def _fold_same(self, changed: Changed) -> set[Thing]:
        same: dict[str, dict[str, str]] = {}
        for act in self.acts_of(*SAME):
            body = act.body
            if self._same_row(same, body["table"], body["into"]) != body["row"]:
                same.setdefault(body["table"], {})[body["row"]] = body["into"]
        if same == self.same:
            return set()
        self.same = same
        for table in ("varieties", "places", "methods"):
            changed[table].update(self.rows.get(table, {}))
        return {thing for thing in self._acts_of if thing[0] in ("lot", "planting")}

    @staticmethod
    def _same_row(same: dict[str, dict[str, str]], table: str, row: str) -> str:
        into, seen = same.get(table, {}), {row}
        while row in into and into[row] not in seen:
            row = into[row]
            seen.add(row)
        return row

    # codes

    def _fold_codes(self, dirty: set[str], changed: Changed) -> set[Thing]:
        again: set[Thing] = set()
        for code in dirty:
            given = [
                (act, target, key)
                for act in self.acts_of("code", code)
                for one, target, key in codes(act)
                if one == code
            ]
            again |= self._own_code(code, given)
            found = _code_problems(code, given)
            waiting = [act for act in self.acts_of("code", code) if act.kind == "checked"]
            if waiting and not self.crate_of_code(code):
                found[f"unknown_code:{code}"] = problem(
                    "unknown_code",
                    [act.sha256 for act in waiting],
                    outs=_outs_of_unknown(len(waiting), is_given=bool(given)),
                    voidable=[act.sha256 for act in waiting] if len(waiting) == 1 else [],
                    label=code,
                )
            self._set_problems(("code", code), found, changed)
            changed["codes"].add(code)
        return again

    def _own_code(self, code: str, given: list[tuple[Act, str, str]]) -> set[Thing]:
        """The first that got the code owns it; everything that reads by the code is read again."""
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
        for act in self.acts_of("code", code):
            if act.kind == "checked" and "crate" not in act.body:
                again |= self._attach(act, "" if old is None else old["id"])
        return again

    def _attach(self, act: Act, old: str) -> set[Thing]:
        """A check written under a code belongs to the crate that carries the code."""
        things, crate = self._things_of[act.sha256], self._crate_of(act)
        if ("crate", old) in things and old != crate:
            things.discard(("crate", old))
            self._acts_of["crate", old].discard(act.sha256)
            self._sorted.pop(("crate", old), None)
        if crate:
            things.add(("crate", crate))
            self._acts_of["crate", crate].add(act.sha256)
            self._sorted.pop(("crate", crate), None)
        return (
            {*things, ("crate", old), ("act", act.sha256)}
            if old
            else {*things, ("act", act.sha256)}
        )

    def code_of(self, sort: str, key: str) -> str:
        """The code that a thing got first, or ""."""
        owned = self._codes_of.get((sort, key), ())
        return min(
            owned, key=lambda code: (self.acts[self.codes[code]["by"]].key, code), default=""
        )

    # lots, crates, plantings

    def variety_of(self, sort: str, key: str) -> str:
        """What was identified or stated, of the thing or of the nearest it comes from."""
        todo, seen = [(sort, key)], set()
        while todo:
            thing = todo.pop()
            if thing in seen:
                continue
            seen.add(thing)
            stated, parents = self._stated(thing)
            if stated and stated != UNKNOWN:
                return self._same_row(self.same, "varieties", stated)
            todo.extend(reversed(parents))
        return UNKNOWN

    def _stated(self, thing: Thing) -> tuple[str, list[Thing]]:
        sort, key = thing
        identified, stated, parents = "", "", []
        for act in self.acts_of(sort, key):
            if act.kind == "identified" and act.body.get(sort) == key:
                identified = act.body["variety"]
            elif sort == "planting" and act.kind == "planted" and act.body["planting"] == key:
                stated = _known_or(stated, act.body.get("variety", ""))
                parents += [("lot", line["lot"]) for line in act.body.get("from", [])]
                if "from_planting" in act.body:
                    parents.append(("planting", act.body["from_planting"]))
            elif sort == "lot":
                for birth in births(act):
                    if birth.lot == key:
                        stated = _known_or(stated, birth.variety)
                        parents += [("planting", birth.planting)] if birth.planting else []
                        parents += [("lot", lot) for lot in birth.parents]
        return identified or stated, parents

    def unit_of(self, lot: str) -> str:
        """The unit stated when the lot came into being, or that of the nearest it comes from."""
        todo, seen = [lot], set()
        while todo:
            one = todo.pop()
            if one in seen:
                continue
            seen.add(one)
            born = [b for act in self.acts_of("lot", one) for b in births(act) if b.lot == one]
            stated = next((birth.unit for birth in born if birth.unit), "")
            if stated:
                return stated
            todo.extend(reversed([parent for birth in born for parent in birth.parents]))
        return "tuber"

    def _standings(self, crate: str) -> Sequence[Standing]:
        return standings(crate, self.acts_of("crate", crate))

    def _packing(self, crate: str, key: OrderKey) -> tuple[str, str, str] | None:
        return packing_before(crate, self.acts_of("crate", crate), key)

    def _fold_lot(self, lot: str, changed: Changed) -> set[str]:
        """Works the lot out anew; returns the crates whose contents that may change."""
        acts = self.acts_of("lot", lot)
        old = self.tables["lots"].get(lot)
        old_rows = self._postings_of.get(lot, set())
        crates = set(self._crates_of.pop(lot, ()))
        for crate in crates:
            self._lots_of[crate].discard(lot)
        if not acts:
            _put(self.tables["lots"], lot, None, changed["lots"])
            self._set_postings(lot, old_rows, {}, changed)
            self._set_problems(("lot", lot), {}, changed)
            return crates
        at = whereabouts(lot, lambda one: self.acts_of("lot", one), self._packing)
        ties = Ties(
            variety=self.variety_of("lot", lot),
            unit=self.unit_of(lot),
            whereabouts=at,
            standings=self._standings,
            code=self.code_of("lot", lot),
            crate_of_code=self.crate_of_code,
        )
        page, rows, problems = read_lot(lot, acts, ties)
        _put(self.tables["lots"], lot, page, changed["lots"])
        self._set_postings(lot, old_rows, rows, changed)
        self._set_problems(("lot", lot), problems, changed)
        now = {at.container, *(stay.crate for stay in at.stays)} - {""}
        self._crates_of[lot] = now
        for crate in now:
            self._lots_of[crate].add(lot)
        return crates | now if old != page else set()

    def _set_postings(
        self, lot: str, old: set[str], rows: dict[str, dict[str, Any]], changed: Changed
    ) -> None:
        for key in old - rows.keys():
            if self.tables["postings"].get(key, {}).get("lot") == lot:
                _put(self.tables["postings"], key, None, changed["postings"])
        for key, row in rows.items():
            _put(self.tables["postings"], key, row, changed["postings"])
        self._postings_of[lot] = set(rows)

    def _fold_crate(self, crate: str, changed: Changed) -> None:
        acts = self.acts_of("crate", crate)
        lots = self.tables["lots"]
        inside = [
            lot
            for lot in self._lots_of[crate]
            if lots[lot]["container"] == crate and lots[lot]["balance"] != 0
        ]
        page = crate_page(crate, acts, code=self.code_of("crate", crate), lots=inside)
        _put(self.tables["crates"], crate, page if acts or inside else None, changed["crates"])

    def _fold_planting(self, planting: str, changed: Changed) -> None:
        acts = self.acts_of("planting", planting)
        page = planting_page(
            [act for act in acts if act.body.get("planting") == planting],
            variety=self.variety_of("planting", planting),
            code=self.code_of("planting", planting),
        )
        _put(self.tables["plantings"], planting, page if acts else None, changed["plantings"])

    # promises

    def _fold_promises(self, dirty: set[Thing], changed: Changed) -> None:
        orders = self.acts_of(*ORDERS)
        if ORDERS not in dirty and not orders:
            return
        promises = {act.sha256: act for act in orders if act.kind == "promised"}
        for sha in self.tables["promises"].keys() | promises.keys():
            page = self._promise_page(promises[sha]) if sha in promises else None
            _put(self.tables["promises"], sha, page, changed["promises"])
        self._set_problems(ORDERS, self._short_promises(), changed)

    def _promise_page(self, act: Act) -> dict[str, Any]:
        body = act.body
        lot = body.get("lot", "")
        variety = (
            self.variety_of("lot", lot)
            if lot
            else self._same_row(self.same, "varieties", body["variety"])
        )
        return {
            "variety": variety,
            "lot": lot,
            "count": body["count"],
            "order": body["order"],
            "on": act.on,
        }

    def _short_promises(self) -> dict[str, Problem]:
        """Varieties of which more single tubers are promised than there are."""
        open_orders: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
        for page in self.tables["promises"].values():
            open_orders[page["variety"]][page["order"]] += page["count"]
        for act in self.acts_of(*ORDERS):
            if act.kind == "gone_out":
                orders = open_orders[self.variety_of("lot", act.body["lot"])]
                if act.body["order"] in orders:
                    orders[act.body["order"]] -= act.body["count"]
        there: dict[str, int] = defaultdict(int)
        for page in self.tables["lots"].values():
            if page["unit"] == "tuber" and not page["quarantined"]:
                there[page["variety"]] += max(0, page["balance"])
        found = {}
        for variety, orders in open_orders.items():
            promised = sum(max(0, count) for count in orders.values())
            if promised > there[variety]:
                key = f"promised_short:{variety}:{promised - there[variety]}"
                found[key] = self._short(variety, promised, there[variety])
        return found

    def _short(self, variety: str, promised: int, there: int) -> Problem:
        shas = sorted(
            sha for sha, page in self.tables["promises"].items() if page["variety"] == variety
        )
        return problem(
            "promised_short", shas, outs=["accept"], variety=variety, promised=promised, there=there
        )

    # problems and state

    def _set_problems(self, owner: Thing, found: dict[str, Problem], changed: Changed) -> None:
        old = self._problems_of.get(owner, {})
        if old == found:
            return
        for key in old.keys() - found.keys():
            self.tables["problems"].pop(key, None)
        self.tables["problems"].update(found)
        if found:
            self._problems_of[owner] = found
        else:
            self._problems_of.pop(owner, None)
        changed["problems"].update(old.keys() | found.keys())

    def problem(self, key: str) -> Problem | None:
        """A problem as it stands now, with the hash of the entry that accepted it, if any."""
        found = self.tables["problems"].get(key)
        return None if found is None else {**found, "accepted": self.living.accepted(key)}

    def state(self) -> dict[str, Any]:
        """Everything derived, as integers, strings, booleans and null in dictionaries and lists."""
        printed: dict[str, int] = {}
        for act in self.acts.values():
            if act.kind == "printed":
                for code in act.body["codes"]:
                    printed[code] = printed.get(code, 0) + act.body.get("copies", 1)
        held, unknown = {}, 0
        for sha, entry in self.living.entries.items():
            if entry.held:
                held[sha] = entry.held
            elif entry.kind not in kinds.ranks():
                unknown += 1
        return {
            **self.tables,
            "problems": {key: self.problem(key) for key in self.tables["problems"]},
            "rows": {table: rows for table, rows in self.rows.items() if rows},
            "same": self.same,
            "codes": self.codes,
            "printed": printed,
            "held": {sha: code for sha, code in held.items() if sha not in self.acts},
            "unknown": unknown,
        }


def canonical(state: Any) -> str:
    """The one JSON text of a state: keys in order, no spaces, only ASCII."""
    return json.dumps(state, sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def _put(pages: Pages, key: str, page: dict[str, Any] | None, changed: set[str]) -> None:
    if pages.get(key) == page:
        return
    changed.add(key)
    if page is None:
        pages.pop(key, None)
    else:
        pages[key] = page


def _known_or(stated: str, new: str) -> str:
    return new if stated in ("", UNKNOWN) and new else stated


def _kinship(act: Act) -> list[tuple[Thing, Thing]]:
    """(older, newer) for each thing that takes over something from another."""
    kin: list[tuple[Thing, Thing]] = []
    for birth in births(act):
        child = ("lot", birth.lot)
        kin += [(("lot", parent), child) for parent in birth.parents]
        kin += [(("planting", birth.planting), child)] if birth.planting else []
    if act.kind == "packed":
        kin += [
            (("lot", line["lot"]), ("lot", into["lot"]))
            for into in act.body["lots"]
            for line in act.body.get("from", [])
        ]
    if act.kind == "planted":
        child = ("planting", act.body["planting"])
        kin += [(("lot", line["lot"]), child) for line in act.body.get("from", [])]
        if "from_planting" in act.body:
            kin.append((("planting", act.body["from_planting"]), child))
    return kin


def _uneven(act: Act) -> dict[str, Problem]:
    taken = sum(
        line["count"] - sum(line.get("thrown_out", {}).values()) for line in act.body["from"]
    )
    given = sum(line["count"] for line in act.body["into"])
    if taken == given:
        return {}
    found = problem(
        "sums_differ", [act.sha256], outs=["correct", "accept"], taken=taken, given=given
    )
    return {f"sums_differ:{act.sha256}": found}


def _unassigned(act: Act) -> dict[str, Problem]:
    outs = ["correct", "accept"] if act.body["lines"] else ["accept"]
    count = sum(act.body["unassigned"].values())
    found = problem("unassigned_loss", [act.sha256], outs=outs, count=count)
    return {f"unassigned_loss:{act.sha256}": found}


def _outs_of_unknown(waiting: int, *, is_given: bool) -> list[str]:
    """A code nobody knew can be given to a crate; one on another thing can only be left."""
    outs = ["accept"] if is_given else ["label"]
    return ["void", *outs] if waiting == 1 else outs


def _code_problems(code: str, given: list[tuple[Act, str, str]]) -> dict[str, Problem]:
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
