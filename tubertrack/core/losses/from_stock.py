"""Filling lines from the stock's own tables: stays, postings and looks.

A posting belongs to the stay of its lot that it fell into. On the day one stay gives way to the
next, what went out belongs to the older one and what came in to the younger. What the older one
still holds then goes over to the younger. After waking, what is thrown out or missing still counts
for the stay, since it was stored that way; what is sold or planted then came through.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypedDict

from tubertrack.core.losses.filling_lines import Amount, Dimension, FillingLine, Look, Named, total

NEVER_A_STORAGE_LOSS = frozenset({"blind", "broken", "too_small"})
"""What is thrown out at the bench for these was so before it was stored."""
BEFORE = -1


class LotRow(TypedDict):
    uid: str
    variety: str
    unit: str
    about: bool


class StayRow(TypedDict):
    """Dates are YYYY-MM-DD; to_on "" while it lasts."""

    lot: str
    number: int
    crate: str
    place: str
    method: str
    moisture: str
    from_on: str
    to_on: str
    packed_on: str
    first_crate: str
    entered: str
    ended: str


class PostingRow(TypedDict):
    record: str
    lot: str
    unit: str
    account: str
    amount: int
    stage: str
    cause: str
    how: str
    on: str


class LookRow(TypedDict):
    """One lot's line of a check. seen includes what was removed; -1 when nobody counted."""

    record: str
    lot: str
    on: str
    seen: int
    all: bool
    removed: int


Naming = Callable[[StayRow, LotRow], Mapping[Dimension, Named]]


@dataclass
class _Slot:
    """What fell into one stay."""

    entered: list[Amount] = field(default_factory=list)
    thrown: list[Amount] = field(default_factory=list)
    gone_out: list[Amount] = field(default_factory=list)
    differences: list[Amount] = field(default_factory=list)
    moved_out: list[Amount] = field(default_factory=list)
    brought_out: list[Amount] = field(default_factory=list)
    cut_away: list[Amount] = field(default_factory=list)
    after: int = 0

    @property
    def left(self) -> int:
        """What is left in the stay when all this is counted."""
        out = (*self.thrown, *self.gone_out, *self.moved_out, *self.brought_out)
        return total((*self.entered, *self.differences)) - total(out)


@dataclass(frozen=True)
class _Lot:
    row: LotRow
    stays: Sequence[StayRow]
    postings: Sequence[PostingRow]
    looks: Sequence[LookRow]


def filling_lines(
    lots: Iterable[LotRow],
    stays: Iterable[StayRow],
    postings: Iterable[PostingRow],
    looks: Iterable[LookRow],
    *,
    crate: Callable[[str], Named],
    naming: Naming,
    as_of: date,
) -> list[FillingLine]:
    """One line for each stay of the lots, with what had happened by as_of.

    All stays, postings and looks of each lot are needed, of any winter. Rows of other lots are
    ignored. The lines of a lot follow each other in time.
    """
    day = as_of.isoformat()
    held = _by_lot(lots, stays, postings, looks, day)
    first_packings = _first_packings(held)
    slots = {lot.row["uid"]: _slots(lot, first_packings) for lot in held}
    came_from_store = _handed_on(slots)
    lines: list[FillingLine] = []
    for lot in held:
        found = slots[lot.row["uid"]]
        _name_entries(lot, found, came_from_store)
        lines += _lines(lot, found, crate, naming, day)
    return lines


def _by_lot(
    lots: Iterable[LotRow],
    stays: Iterable[StayRow],
    postings: Iterable[PostingRow],
    looks: Iterable[LookRow],
    day: str,
) -> list[_Lot]:
    stays_of: dict[str, list[StayRow]] = defaultdict(list)
    postings_of: dict[str, list[PostingRow]] = defaultdict(list)
    looks_of: dict[str, list[LookRow]] = defaultdict(list)
    for stay in stays:
        if stay["from_on"] <= day:
            stays_of[stay["lot"]].append(stay)
    for posting in postings:
        if posting["on"] <= day:
            postings_of[posting["lot"]].append(posting)
    for look in looks:
        if look["on"] <= day:
            looks_of[look["lot"]].append(look)
    return [
        _Lot(
            lot,
            sorted(stays_of[lot["uid"]], key=lambda stay: stay["number"]),
            postings_of[lot["uid"]],
            sorted(looks_of[lot["uid"]], key=lambda look: (look["on"], look["record"])),
        )
        for lot in lots
        if stays_of[lot["uid"]]
    ]


# which stay a posting belongs to


def _first_packings(lots: Iterable[_Lot]) -> set[tuple[str, str]]:
    """(entry, day) of what was put into store for the first time, so came from the bench.

    When several crates are filled from one tray and the rest of the tray is packed as itself,
    what went into the other crates that day left the tray before it was packed.
    """
    return {
        (posting["record"], posting["on"])
        for lot in lots
        if lot.stays[0]["entered"] == "packed"
        for posting in lot.postings
        if posting["amount"] > 0 and posting["on"] == lot.stays[0]["from_on"]
    }


def _slots(lot: _Lot, first_packings: set[tuple[str, str]]) -> list[_Slot]:
    slots = [_Slot() for _ in lot.stays]
    brought = {(p["record"], p["on"]) for p in lot.postings if p["amount"] > 0} | first_packings
    carried: list[PostingRow] = []
    benched: dict[tuple[int, str, str], int] = defaultdict(int)
    for posting in lot.postings:
        at, is_after = _place(posting, lot.stays, brought)
        if posting["unit"] != lot.row["unit"]:
            if at != BEFORE and posting["account"] == "thrown_out":
                slots[at].cut_away.append(_out(posting, posting["cause"]))
        elif at == BEFORE:
            carried.append(posting)
        elif is_after:
            _post_after(slots[at], posting)
        elif _is_bench(posting):
            benched[at, posting["record"], posting["on"]] -= posting["amount"]
        else:
            _post(slots[at], posting)
    for (at, record, on), count in benched.items():
        if count:
            slots[at].moved_out.append(Amount(date.fromisoformat(on), count, record, "bench"))
    if before := sum(posting["amount"] for posting in carried):
        first = lot.stays[0]
        amount = Amount(
            date.fromisoformat(first["from_on"]), before, carried[-1]["record"], "packed"
        )
        slots[0].entered.append(amount)
    return slots


def _place(
    posting: PostingRow, stays: Sequence[StayRow], brought: set[tuple[str, str]]
) -> tuple[int, bool]:
    """(number of the stay, whether it fell after that stay), or BEFORE the first."""
    on = posting["on"]
    starting = next((i for i, stay in enumerate(stays) if stay["from_on"] == on), None)
    if posting["amount"] > 0 and starting is not None and posting["account"] != "difference":
        return starting, False
    if on < stays[0]["from_on"]:
        return BEFORE, False
    if on == stays[0]["from_on"] and (posting["record"], on) in brought:
        return BEFORE, False
    for i, stay in enumerate(stays):
        if stay["from_on"] <= on and (not stay["to_on"] or on <= stay["to_on"]):
            return i, False
    before = [i for i, stay in enumerate(stays) if stay["to_on"] and stay["to_on"] < on]
    return max(before, default=BEFORE), True


def _is_bench(posting: PostingRow) -> bool:
    """Taken to the bench: judged or cut again, or thrown out there for what it was before."""
    account, cause = posting["account"], posting["cause"]
    if account == "thrown_out":
        return posting["stage"] == "bench" and cause in NEVER_A_STORAGE_LOSS
    if account == "used_up":
        return posting["unit"] != "clump"
    return account == "graded" and posting["amount"] > 0


def _out(posting: PostingRow, how: str) -> Amount:
    """What went out; a senseless entry may take out less than nothing."""
    return Amount(date.fromisoformat(posting["on"]), -posting["amount"], posting["record"], how)


def _in(posting: PostingRow, how: str) -> Amount:
    return replace(_out(posting, how), count=posting["amount"])


def _post(slot: _Slot, posting: PostingRow) -> None:
    account, amount = posting["account"], posting["amount"]
    if account == "difference":
        slot.differences.append(_in(posting, posting["cause"]))
    elif account == "thrown_out":
        slot.thrown.append(_out(posting, posting["cause"]))
    elif account == "gone_out":
        slot.gone_out.append(_out(posting, posting["how"]))
    elif account in ("planted", "used_up"):
        slot.brought_out.append(_out(posting, account))
    elif amount < 0:
        slot.moved_out.append(_out(posting, account))
    else:
        slot.entered.append(_in(posting, account))


def _post_after(slot: _Slot, posting: PostingRow) -> None:
    """After waking: losses and differences still count for the stay, the rest came through."""
    if posting["account"] in ("thrown_out", "difference") and not _is_bench(posting):
        _post(slot, posting)
    else:
        slot.after -= posting["amount"]


# what came from where


def _handed_on(slots: Mapping[str, Sequence[_Slot]]) -> dict[str, int]:
    """How many each entry took out of stays, to be matched with what it put into others."""
    found: dict[str, int] = defaultdict(int)
    for of_lot in slots.values():
        for slot in of_lot:
            for amount in slot.moved_out:
                found[amount.record] += amount.count
    return found


def _name_entries(lot: _Lot, slots: Sequence[_Slot], came_from_store: dict[str, int]) -> None:
    """Each entry is packed, found or moved in; what one entry took from the store is used up once."""
    for stay, slot in zip(lot.stays, slots, strict=True):
        named: list[Amount] = []
        for amount in slot.entered:
            moved = max(0, min(amount.count, came_from_store.get(amount.record, 0)))
            came_from_store[amount.record] = came_from_store.get(amount.record, 0) - moved
            if moved:
                named.append(replace(amount, count=moved, how="moved_in"))
            if amount.count - moved:
                how = "found" if _turned_up(amount, stay) else "packed"
                named.append(replace(amount, count=amount.count - moved, how=how))
        slot.entered = named


def _turned_up(amount: Amount, stay: StayRow) -> bool:
    """Stock that nothing recorded before, unless it was packed at once: that is a first packing."""
    packed = stay["entered"] in ("packed", "repacked") and amount.on.isoformat() == stay["from_on"]
    return amount.how in ("found", "returned") and not packed


# the lines


def _lines(
    lot: _Lot, slots: list[_Slot], crate: Callable[[str], Named], naming: Naming, day: str
) -> list[FillingLine]:
    lines: list[FillingLine] = []
    handed = 0
    for i, (stay, slot) in enumerate(zip(lot.stays, slots, strict=True)):
        is_over = bool(stay["to_on"]) and stay["to_on"] <= day
        continues = bool(handed)
        if handed:
            begin = date.fromisoformat(stay["from_on"])
            slot.entered.insert(0, Amount(begin, handed, _step(lot, i), "moved_in"))
        handed = _end(lot, slots, i) if is_over else 0
        lines.append(_line(lot, i, slot, crate, naming, is_over=is_over, continues=continues))
    return lines


def _step(lot: _Lot, i: int) -> str:
    """Stands for the entry that carried a lot from one stay into the next; opens nothing."""
    return f"{lot.row['uid']}:{i}"


def _end(lot: _Lot, slots: list[_Slot], i: int) -> int:
    """Closes a stay that is over: what it still holds is brought out, or handed to the next.

    More taken out than was in it is handed on as well, so that a later recount makes up for it.
    """
    stay, slot = lot.stays[i], slots[i]
    left, ended_on = slot.left, date.fromisoformat(stay["to_on"])
    if i + 1 == len(slots):
        if left > 0:
            _close(slot, Amount(ended_on, left, "", stay["ended"]), _step(lot, i + 1))
        return 0
    used = max(0, min(left, slot.after))
    if used:
        slot.brought_out.append(Amount(ended_on, used, "", stay["ended"]))
    if left != used:
        slot.moved_out.append(Amount(ended_on, left - used, _step(lot, i + 1), "moved"))
    if between := used - slot.after:
        begin = date.fromisoformat(lot.stays[i + 1]["from_on"])
        slots[i + 1].entered.append(Amount(begin, between, _step(lot, i + 1) + "+", "packed"))
    return left - used


def _close(slot: _Slot, rest: Amount, step: str) -> None:
    """What a last stay held when it ended: nowhere to be found after emptying, else brought out."""
    if rest.how == "emptied":
        slot.differences.append(replace(rest, count=-rest.count, record=step))
    else:
        slot.brought_out.append(rest)


def _line(
    lot: _Lot,
    i: int,
    slot: _Slot,
    crate: Callable[[str], Named],
    naming: Naming,
    *,
    is_over: bool,
    continues: bool,
) -> FillingLine:
    stay = lot.stays[i]
    return FillingLine(
        lot=lot.row["uid"],
        unit=lot.row["unit"],
        crate=crate(stay["crate"]),
        first_crate=crate(stay["first_crate"] or stay["crate"]),
        packed_on=date.fromisoformat(stay["packed_on"] or stay["from_on"]),
        since=date.fromisoformat(stay["from_on"]),
        until=date.fromisoformat(stay["to_on"]) if is_over else None,
        belongs=naming(stay, lot.row),
        about=lot.row["about"],
        continues=continues,
        entered=tuple(slot.entered),
        thrown=tuple(slot.thrown),
        gone_out=tuple(slot.gone_out),
        differences=tuple(slot.differences),
        moved_out=tuple(slot.moved_out),
        brought_out=tuple(slot.brought_out),
        cut_away=tuple(slot.cut_away),
        looks=tuple(_looks(lot, stay, slot)),
    )


def _looks(lot: _Lot, stay: StayRow, slot: _Slot) -> Iterable[Look]:
    """Looks since the tubers were packed, recounts among them, up to the stay's end.

    Whoever splits or repacks has each tuber in hand, so that is a look as well.
    """
    begin, end = stay["packed_on"] or stay["from_on"], stay["to_on"] or "9999"
    for look in lot.looks:
        if begin <= look["on"] <= end:
            sound = max(0, look["seen"] - look["removed"]) if look["seen"] >= 0 else 0
            whole = look["all"] and look["seen"] >= 0
            yield Look(date.fromisoformat(look["on"]), look["record"], sound, whole)
    for posting in lot.postings:
        counted = posting["account"] == "difference" and posting["cause"] == "counted"
        if counted and begin <= posting["on"] <= end:
            on = date.fromisoformat(posting["on"])
            yield Look(on, posting["record"], max(0, _balance(lot, posting["on"])), whole=True)
    for amount in slot.entered:
        if amount.how == "moved_in" and not amount.record.startswith(lot.row["uid"]):
            yield Look(amount.on, amount.record, amount.count, whole=True)


def _balance(lot: _Lot, day: str) -> int:
    """The lot's balance at the end of a day."""
    unit = lot.row["unit"]
    return sum(p["amount"] for p in lot.postings if p["unit"] == unit and p["on"] <= day)
