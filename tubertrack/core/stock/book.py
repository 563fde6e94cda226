"""The book of one lot, kept entry by entry: amounts by account, and what contradicts itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tubertrack.core.stock.entries import Act, OrderKey
from tubertrack.core.stock.facts import Birth
from tubertrack.core.stock.ledger import IN, Posting
from tubertrack.core.stock.living import Problem

LotPage = dict[str, Any]
PostingRow = dict[str, Any]


@dataclass(slots=True)
class Book:
    """A lot's entries read one after the other."""

    lot: str
    unit: str
    balance: int = 0
    rows: dict[str, PostingRow] = field(default_factory=dict)
    births: list[tuple[Act, Birth]] = field(default_factory=list)
    doubts: dict[str, tuple[str, Problem]] = field(default_factory=dict)
    last_count: Act | None = None
    basis: OrderKey | None = None
    order: dict[str, OrderKey] = field(default_factory=dict)
    container: str = ""
    page: LotPage = field(default_factory=dict)

    def post(self, act: Act, i: int, line: Posting) -> None:
        """Puts one amount into the book; nothing is posted for none."""
        if not line.amount:
            return
        self.order[act.sha256] = act.key
        self.rows[f"{act.sha256}:{i}"] = {
            "record": act.sha256,
            "lot": self.lot,
            "unit": line.unit or self.unit,
            "account": line.account,
            "amount": line.amount,
            "stage": line.stage,
            "cause": line.cause,
            "how": line.how,
            "on": act.on,
        }
        if not line.unit:
            self.balance += line.amount

    def doubt(self, sort: str, key: str, found: Problem) -> None:
        """A contradiction of this sort; a later one of the sort takes its place."""
        self.doubts[sort] = (key, found)

    def settle(self, *sorts: str) -> None:
        """A later entry makes contradictions of these sorts pointless."""
        for sort in sorts:
            self.doubts.pop(sort, None)


def removers(book: Book, other_than: str) -> list[str]:
    """Earlier checks that threw some of this lot out since it was last counted."""
    return sorted(
        {
            row["record"]
            for row in book.rows.values()
            if row["stage"] == "store"
            and row["record"] != other_than
            and is_since_basis(book, row["record"])
        }
    )


def removed_by(book: Book, sha: str) -> int:
    """How many of this lot one check threw out."""
    removed = 0
    for row in book.rows.values():
        if row["record"] == sha and row["account"] == "thrown_out" and row["unit"] == book.unit:
            removed -= int(row["amount"])
    return removed


def is_since_basis(book: Book, sha: str) -> bool:
    """Whether an entry that posted comes after the last count."""
    return book.basis is None or book.order[sha] > book.basis


_COUNTED_AS_POSTED = (*IN, "difference")


def add_up(book: Book) -> None:
    """Writes the book's sums on the lot's page: by account, by stage and cause, by way out."""
    page = book.page
    page["balance"] = book.balance
    for row in book.rows.values():
        if row["unit"] != book.unit:
            continue
        account, amount = row["account"], row["amount"]
        signed = amount if account in _COUNTED_AS_POSTED else -amount
        page["accounts"][account] = page["accounts"].get(account, 0) + signed
        if account == "thrown_out":
            by_cause = page["thrown"].setdefault(row["stage"], {})
            by_cause[row["cause"]] = by_cause.get(row["cause"], 0) - amount
        if account == "gone_out":
            page["out"][row["how"]] = page["out"].get(row["how"], 0) - amount
