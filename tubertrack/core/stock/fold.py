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
from tubertrack.core.stock.act_index import ActIndex
from tubertrack.core.stock.code_book import CodeBook
from tubertrack.core.stock.crates import Standing, crate_page, packing_before, standings
from tubertrack.core.stock.entries import Act, Entry, OrderKey
from tubertrack.core.stock.facts import placements
from tubertrack.core.stock.ledger import left_of
from tubertrack.core.stock.lineage import Same, same_row, unit_of, variety_of
from tubertrack.core.stock.living import Living, Problem, problem
from tubertrack.core.stock.lots import Ties, read_lot
from tubertrack.core.stock.pages import (
    check_page,
    planting_page,
    reading_pages,
    round_page,
    row_page,
)
from tubertrack.core.stock.promises import promise_page, short_promises
from tubertrack.core.stock.stays import whereabouts
from tubertrack.core.stock.things import ORDERS, SAME, Thing

Pages = dict[str, dict[str, Any]]
TABLES = (
    "lots",
    "crates",
    "postings",
    "checks",
    "readings",
    "rounds",
    "plantings",
    "promises",
    "problems",
)


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
        self._index = ActIndex()
        self._codes = CodeBook(self._index)
        self.tables: dict[str, Pages] = {name: {} for name in TABLES}
        self.rows: dict[str, Pages] = {}
        self.same: Same = {}
        self._lots_of: dict[str, set[str]] = defaultdict(set)
        self._crates_of: dict[str, set[str]] = {}
        self._problems_of: dict[Thing, dict[str, Problem]] = {}
        self._postings_of: dict[str, set[str]] = {}

    @property
    def acts(self) -> dict[str, Act]:
        """The entries that count, by hash."""
        return self._index.acts

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
        return set() if old == new else {("act", sha), *self._index.replace(sha, new)}

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
                    round_page(self._index.acts_of("round", key)),
                    changed["rounds"],
                )
            elif sort.startswith("row:"):
                self._fold_row(sort.removeprefix("row:"), key, changed)
        crates = {key for sort, key in dirty if sort == "crate"}
        kin = self._index.with_descendants(
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

    def _ever_in(self, crate: str) -> set[str]:
        placed = {
            lot
            for act in self._index.acts_of("crate", crate)
            for lot, container in placements(act)
            if container == crate
        }
        return placed | self._lots_of[crate]

    def _fold_act(self, sha: str, changed: Changed) -> None:
        act = self.acts.get(sha)
        check = (
            check_page(act, self._codes.crate_of(act)) if act and act.kind == "checked" else None
        )
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

    def _fold_row(self, table: str, row: str, changed: Changed) -> None:
        page = row_page(self._index.acts_of(f"row:{table}", row)) or None
        _put(self.rows.setdefault(table, {}), row, page, changed[table])
        if table == "crates":
            changed["crates"].add(row)

    def _fold_same(self, changed: Changed) -> set[Thing]:
        same: Same = {}
        for act in self._index.acts_of(*SAME):
            body = act.body
            if same_row(same, body["table"], body["into"]) != body["row"]:
                same.setdefault(body["table"], {})[body["row"]] = body["into"]
        if same == self.same:
            return set()
        self.same = same
        for table in ("varieties", "places", "methods"):
            changed[table].update(self.rows.get(table, {}))
        return self._index.all_things("lot", "planting")

    def _fold_codes(self, dirty: set[str], changed: Changed) -> set[Thing]:
        again: set[Thing] = set()
        for code in dirty:
            things, found = self._codes.fold(code)
            again |= things
            self._set_problems(("code", code), found, changed)
            changed["codes"].add(code)
        return again

    # lots, crates, plantings

    def _variety(self, sort: str, key: str) -> str:
        return variety_of(self._index, self.same, sort, key)

    def _standings(self, crate: str) -> Sequence[Standing]:
        return standings(crate, self._index.acts_of("crate", crate))

    def _emptyings(self, crate: str) -> list[Act]:
        return [act for act in self._index.acts_of("crate", crate) if act.kind == "emptied"]

    def _packing(self, crate: str, key: OrderKey) -> tuple[str, str, str] | None:
        return packing_before(crate, self._index.acts_of("crate", crate), key)

    def _fold_lot(self, lot: str, changed: Changed) -> set[str]:
        """Works the lot out anew; returns the crates whose contents that may change."""
        acts = self._index.acts_of("lot", lot)
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
        at = whereabouts(lot, lambda one: self._index.acts_of("lot", one), self._packing)
        ties = Ties(
            variety=self._variety("lot", lot),
            unit=unit_of(self._index, lot),
            whereabouts=at,
            standings=self._standings,
            emptyings=self._emptyings,
            code=self._codes.code_of("lot", lot),
            crate_of_code=self._codes.crate_of_code,
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
        acts = self._index.acts_of("crate", crate)
        lots = self.tables["lots"]
        inside = [
            lot
            for lot in self._lots_of[crate]
            if lots[lot]["container"] == crate and lots[lot]["balance"] != 0
        ]
        page = crate_page(crate, acts, code=self._codes.code_of("crate", crate), lots=inside)
        _put(self.tables["crates"], crate, page if acts or inside else None, changed["crates"])

    def _fold_planting(self, planting: str, changed: Changed) -> None:
        acts = self._index.acts_of("planting", planting)
        page = planting_page(
            [act for act in acts if act.body.get("planting") == planting],
            variety=self._variety("planting", planting),
            code=self._codes.code_of("planting", planting),
        )
        _put(self.tables["plantings"], planting, page if acts else None, changed["plantings"])

    # promises

    def _fold_promises(self, dirty: set[Thing], changed: Changed) -> None:
        orders = self._index.acts_of(*ORDERS)
        if ORDERS not in dirty and not orders:
            return
        promises = {act.sha256: act for act in orders if act.kind == "promised"}
        for sha in self.tables["promises"].keys() | promises.keys():
            page = self._promise_page(promises[sha]) if sha in promises else None
            _put(self.tables["promises"], sha, page, changed["promises"])
        found = short_promises(
            self.tables["promises"],
            self.tables["lots"],
            orders,
            lambda lot: self._variety("lot", lot),
        )
        self._set_problems(ORDERS, found, changed)

    def _promise_page(self, act: Act) -> dict[str, Any]:
        body = act.body
        if "lot" in body:
            return promise_page(act, self._variety("lot", body["lot"]))
        return promise_page(act, same_row(self.same, "varieties", body["variety"]))

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
            "codes": self._codes.codes,
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


def _uneven(act: Act) -> dict[str, Problem]:
    taken = sum(left_of(line) for line in act.body["from"])
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
