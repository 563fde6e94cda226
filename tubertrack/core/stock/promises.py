"""What is promised against what is there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tubertrack.core.stock.entries import Act
from tubertrack.core.stock.living import Problem, problem

Pages = Mapping[str, dict[str, Any]]


def promise_page(act: Act, variety: str) -> dict[str, Any]:
    """One promise."""
    body = act.body
    return {
        "variety": variety,
        "lot": body.get("lot", ""),
        "count": body["count"],
        "order": body["order"],
        "on": act.on,
    }


def short_promises(
    promises: Pages, lots: Pages, orders: Iterable[Act], variety_of_lot: Callable[[str], str]
) -> dict[str, Problem]:
    """Varieties of which more single tubers are promised than there are."""
    there = _tubers_there(lots)
    found = {}
    for variety, counts in _open_orders(promises, orders, variety_of_lot).items():
        promised = sum(max(0, count) for count in counts.values())
        if promised > there.get(variety, 0):
            short = promised - there.get(variety, 0)
            found[f"promised_short:{variety}:{short}"] = problem(
                "promised_short",
                sorted(sha for sha, page in promises.items() if page["variety"] == variety),
                outs=["accept"],
                variety=variety,
                promised=promised,
                there=there.get(variety, 0),
            )
    return found


def _open_orders(
    promises: Pages, orders: Iterable[Act], variety_of_lot: Callable[[str], str]
) -> dict[str, dict[str, int]]:
    """By variety and order, what is promised and has not gone out yet."""
    open_orders: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for page in promises.values():
        open_orders[page["variety"]][page["order"]] += page["count"]
    for act in orders:
        if act.kind == "gone_out":
            counts = open_orders.get(variety_of_lot(act.body["lot"]), {})
            if act.body["order"] in counts:
                counts[act.body["order"]] -= act.body["count"]
    return open_orders


def _tubers_there(lots: Pages) -> dict[str, int]:
    there: dict[str, int] = {}
    for page in lots.values():
        if page["unit"] == "tuber" and not page["quarantined"]:
            there[page["variety"]] = there.get(page["variety"], 0) + max(0, page["balance"])
    return there
