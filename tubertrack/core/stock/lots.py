"""A lot's page: its balance by account, what it is, where it lies, and what contradicts itself in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from tubertrack.core.stock.book import (
    Book,
    LotPage,
    PostingRow,
    add_up,
    is_since_basis,
    removed_by,
    removers,
)
from tubertrack.core.stock.crates import Standing
from tubertrack.core.stock.entries import Act
from tubertrack.core.stock.facts import Birth, births, placements
from tubertrack.core.stock.ledger import Posting, postings
from tubertrack.core.stock.living import Problem, problem
from tubertrack.core.stock.stays import Stay, Whereabouts

Line = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Ties:
    """What a lot's page needs to know of other things."""

    variety: str
    unit: str
    whereabouts: Whereabouts
    standings: Callable[[str], Sequence[Standing]]
    emptyings: Callable[[str], Sequence[Act]]
    code: str
    crate_of_code: Callable[[str], str]


COUNT_DOUBTS = ("check_disagrees", "counts_differ", "emptied_with_stock")


def read_lot(
    lot: str, acts: Sequence[Act], ties: Ties
) -> tuple[LotPage, dict[str, PostingRow], dict[str, Problem]]:
    """(page, postings, problems) of a lot from its own entries in order."""
    book = Book(lot, ties.unit, page=_blank(ties))
    for act in acts:
        _read(book, act, ties)
    add_up(book)
    book.page["container"] = ties.whereabouts.container
    book.page["stays"] = _stays(ties.whereabouts.stays, ties.standings)
    problems = dict(book.doubts.values())
    problems |= _final_problems(book, acts) | _left_behind(book, ties)
    return book.page, book.rows, problems


def _blank(ties: Ties) -> LotPage:
    return {
        "variety": ties.variety,
        "unit": ties.unit,
        "eyes": "",
        "grade": "",
        "born_on": "",
        "born_by": "",
        "parents": [],
        "container": "",
        "balance": 0,
        "about": 0,
        "accounts": {},
        "thrown": {},
        "out": {},
        "code": ties.code,
        "packed_on": "",
        "packed_count": -1,
        "packed_by": "",
        "all_on": "",
        "all_count": -1,
        "looked_on": "",
        "look": "",
        "counted_on": "",
        "counted": -1,
        "curing": {},
        "woken": {},
        "quarantined": 0,
        "flags": {},
        "stays": [],
    }


def _read(book: Book, act: Act, ties: Ties) -> None:
    before = book.balance
    for i, line in enumerate(postings(act)):
        if line.lot == book.lot:
            book.post(act, i, line)
    for birth in births(act):
        if birth.lot == book.lot:
            _read_birth(book, act, birth)
    put = dict(placements(act)).get(book.lot)
    if put is not None:
        book.container = put
        book.settle("lot_elsewhere")
    if reader := _READERS.get(act.kind):
        reader(book, act, before)
    if act.kind == "checked":
        _read_checked(book, act, before, ties)


def _read_birth(book: Book, act: Act, birth: Birth) -> None:
    page = book.page
    if not book.births:
        page |= {"eyes": birth.eyes, "grade": birth.grade, "born_on": act.on, "born_by": act.sha256}
        page["about"] = int(birth.about)
    book.births.append((act, birth))
    page["parents"] += [p for p in birth.parents if p not in page["parents"]]


def _read_packed(book: Book, act: Act, before: int) -> None:
    counts = [line for line in act.body["lots"] if line["lot"] == book.lot]
    if counts:
        book.page |= {
            "packed_on": act.on,
            "packed_count": sum(line["count"] for line in counts),
            "packed_by": act.sha256,
            "about": int(any(line.get("about", False) for line in counts)),
        }


def _read_counted(book: Book, act: Act, before: int) -> None:
    count, other = act.body["count"], book.last_count
    recount = "counts_differ" in book.doubts
    book.settle(*COUNT_DOUBTS)
    if (
        not recount
        and other
        and other.on == act.on
        and other.device != act.device
        and count != before
    ):
        book.doubt(
            "counts_differ",
            f"counts_differ:{book.lot}:{other.sha256}:{act.sha256}",
            problem(
                "counts_differ",
                [other.sha256, act.sha256],
                outs=["recount", "void", "accept"],
                voidable=[other.sha256, act.sha256],
                lot=book.lot,
                first=other.body["count"],
                second=count,
            ),
        )
    book.post(act, 0, Posting(book.lot, "difference", count - before, cause="counted"))
    book.page |= {"counted_on": act.on, "counted": count}
    book.page["about"] = int(act.body.get("about", False))
    book.last_count, book.basis = act, act.key


def _read_emptied(book: Book, act: Act, before: int) -> None:
    listed: list[str] = act.body.get("lots", [])
    if book.lot not in listed:
        return
    if before > 0:
        outs = ["void", "recount", "accept"]
        book.doubt("emptied_with_stock", *_emptied_doubt(book.lot, act, before, outs))
    line = Posting(book.lot, "difference", -before, cause="emptied")
    book.post(act, listed.index(book.lot), line)
    book.last_count, book.basis = None, act.key


def _emptied_doubt(lot: str, act: Act, count: int, outs: list[str]) -> tuple[str, Problem]:
    found = problem(
        "emptied_with_stock",
        [act.sha256],
        outs=outs,
        voidable=[act.sha256],
        lot=lot,
        crate=act.body["crate"],
        count=count,
    )
    return f"emptied_with_stock:{lot}:{act.sha256}", found


def _read_checked(book: Book, act: Act, before: int, ties: Ties) -> None:
    crate = act.body.get("crate") or ties.crate_of_code(act.body.get("code", ""))
    for line in act.body["lines"]:
        if line["lot"] == book.lot:
            book.page |= {"looked_on": act.on, "look": act.body["look"]}
            _note_where(book, act, crate)
            if line.get("all") and "seen" in line:
                _read_full_look(book, act, line, before)


def _note_where(book: Book, act: Act, crate: str) -> None:
    if not crate or crate == book.container:
        book.settle("lot_elsewhere")
        return
    outs = ["move_here", "void"] if not book.container else ["move_here", "move_back", "void"]
    found = problem(
        "lot_elsewhere",
        [act.sha256],
        outs=outs,
        voidable=[act.sha256],
        lot=book.lot,
        crate=crate,
        container=book.container,
    )
    book.doubt("lot_elsewhere", f"lot_elsewhere:{book.lot}:{act.sha256}", found)


def _read_full_look(book: Book, act: Act, line: Line, before: int) -> None:
    seen, removed = line["seen"], sum(line.get("removed", {}).values())
    book.page |= {"all_on": act.on, "all_count": max(0, seen - removed)}
    book.settle("check_disagrees")
    if seen == before:
        book.page["about"] = 0
        return
    twice = [sha for sha in removers(book, act.sha256) if removed_by(book, sha) == seen - before]
    found = problem(
        "check_disagrees",
        [*twice, act.sha256],
        outs=["recount", "void", "accept"],
        voidable=[*twice, act.sha256],
        lot=book.lot,
        seen=seen,
        expected=before,
    )
    book.doubt("check_disagrees", f"check_disagrees:{book.lot}:{act.sha256}", found)


def _read_curing(book: Book, act: Act, before: int) -> None:
    if book.lot not in act.body["lots"]:
        return
    if act.kind == "curing_started":
        book.page["curing"] = {
            "from": act.on,
            "to": "",
            "place": act.body.get("place", ""),
            "washed": _yes_no_unsaid(act.body, "washed"),
            "cut": _yes_no_unsaid(act.body, "cut"),
        }
    else:
        blank = {"from": "", "place": "", "washed": -1, "cut": -1}
        book.page["curing"] = {**blank, **book.page["curing"], "to": act.on}


def _yes_no_unsaid(body: Line, name: str) -> int:
    return int(body[name]) if name in body else -1


def _read_woken(book: Book, act: Act, before: int) -> None:
    if act.body["lot"] != book.lot:
        return
    if act.body.get("back"):
        book.page["woken"] = {}
        return
    earlier = book.page["woken"]
    book.page["woken"] = {
        "on": earlier.get("on", act.on),
        "place": act.body.get("place", earlier.get("place", "")),
        "showing": act.body.get("showing", earlier.get("showing", -1)),
    }


def _read_returned(book: Book, act: Act, before: int) -> None:
    if act.body["lot"] == book.lot:
        book.page["quarantined"] = 1


def _read_moved(book: Book, act: Act, before: int) -> None:
    if act.body.get("lot") == book.lot:
        book.page["quarantined"] = 0


def _read_flagged(book: Book, act: Act, before: int) -> None:
    if act.body["target"] == "lot" and act.body["id"] == book.lot:
        book.page["flags"] = {**book.page["flags"], act.body["flag"]: act.body["state"]}


_READERS: dict[str, Callable[[Book, Act, int], None]] = {
    "packed": _read_packed,
    "counted": _read_counted,
    "emptied": _read_emptied,
    "curing_started": _read_curing,
    "curing_ended": _read_curing,
    "woken": _read_woken,
    "returned": _read_returned,
    "moved": _read_moved,
    "flagged": _read_flagged,
}


def _final_problems(book: Book, acts: Sequence[Act]) -> dict[str, Problem]:
    found = {}
    if acts and not book.births:
        found[f"no_origin:{book.lot}"] = problem(
            "no_origin", [acts[0].sha256], outs=["found"], lot=book.lot, count=max(0, -book.balance)
        )
    if book.balance < 0:
        found[f"negative_balance:{book.lot}:{book.balance}"] = _negative(book)
    return found


def _left_behind(book: Book, ties: Ties) -> dict[str, Problem]:
    """The crate was emptied and this lot not named: the book still has it in there.

    Accepting is no way out: nothing was posted, so only a count or a void makes the book true.
    """
    at = ties.whereabouts
    if book.balance <= 0 or not at.container:
        return {}
    known = [key for key in (at.placed_by, book.basis) if key is not None]
    return dict(
        _emptied_doubt(book.lot, act, book.balance, ["void", "recount"])
        for act in ties.emptyings(at.container)
        if all(act.key > key for key in known)
    )


def _negative(book: Book) -> Problem:
    net: dict[str, int] = {}
    for row in book.rows.values():
        if row["unit"] == book.unit:
            net[row["record"]] = net.get(row["record"], 0) + row["amount"]
    takers = [sha for sha, amount in net.items() if amount < 0]
    voidable = [sha for sha in takers if net[sha] <= book.balance and is_since_basis(book, sha)]
    outs = ["there_were_more", "recount", "void"] if voidable else ["there_were_more", "recount"]
    return problem(
        "negative_balance", takers, outs=outs, voidable=voidable, lot=book.lot, count=book.balance
    )


def _stays(
    stays: Sequence[Stay], standings: Callable[[str], Sequence[Standing]]
) -> list[dict[str, str]]:
    """Stays cut at every change of the crate's place, as plain dates."""
    return [row for stay in stays for row in _stay_rows(stay, standings(stay.crate))]


def _stay_rows(stay: Stay, standings: Sequence[Standing]) -> list[dict[str, str]]:
    at_start = [s for s in standings if s.since <= stay.since]
    later = [
        s
        for s in standings
        if s.since > stay.since and (stay.until is None or s.since < stay.until)
    ]
    first = at_start[-1] if at_start else Standing(stay.since, stay.since[0], "", "")
    cuts = [first, *later]
    rows = []
    for i, cut in enumerate(cuts):
        last = i == len(cuts) - 1
        rows.append(
            {
                "crate": stay.crate,
                "place": cut.place,
                "position": cut.position,
                "method": stay.method,
                "moisture": stay.moisture,
                "from": stay.since[0] if i == 0 else cut.on,
                "to": (stay.until[0] if stay.until else "") if last else cuts[i + 1].on,
                "packed_on": stay.packed_on,
                "first_crate": stay.first_crate,
                "entered": stay.entered if i == 0 else "moved",
                "ended": stay.ended if last else "moved",
            }
        )
    return rows
