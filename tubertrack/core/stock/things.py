"""The things that entries name, and which of them takes over something from which."""

from __future__ import annotations

from tubertrack.core.stock.entries import Act
from tubertrack.core.stock.facts import births, codes, touched

Thing = tuple[str, str]
"""("lot", id), ("planting", id), ("crate", id), ("round", id), ("code", code) or ("row:table", id)."""
SAME: Thing = ("same_as", "")
ORDERS: Thing = ("orders", "")


def things_of(act: Act) -> set[Thing]:
    """Everything whose page an entry may change."""
    named, body = touched(act), act.body
    things: set[Thing] = {("lot", lot) for lot in named.lots}
    things |= {("crate", crate) for crate in named.crates}
    things |= {("planting", planting) for planting in named.plantings}
    things |= {("code", code) for code, _, _ in codes(act)}
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


def kinship(act: Act) -> list[tuple[Thing, Thing]]:
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
