"""What a lot or planting is, as stated or identified, or as the nearest it comes from was."""

from __future__ import annotations

from tubertrack.core.stock.act_index import ActIndex
from tubertrack.core.stock.facts import births
from tubertrack.core.stock.things import Thing

UNKNOWN = "unknown"
Same = dict[str, dict[str, str]]


def same_row(same: Same, table: str, row: str) -> str:
    """The row that stays, of those that were said to be one."""
    into, seen = same.get(table, {}), {row}
    while row in into and into[row] not in seen:
        row = into[row]
        seen.add(row)
    return row


def variety_of(index: ActIndex, same: Same, sort: str, key: str) -> str:
    """The variety of a lot or planting; "unknown" when nobody said."""
    todo, seen = [(sort, key)], set()
    while todo:
        thing = todo.pop()
        if thing in seen:
            continue
        seen.add(thing)
        stated, parents = _stated(index, thing)
        if stated and stated != UNKNOWN:
            return same_row(same, "varieties", stated)
        todo.extend(reversed(parents))
    return UNKNOWN


def _stated(index: ActIndex, thing: Thing) -> tuple[str, list[Thing]]:
    stated, parents = _of_lot(index, thing) if thing[0] == "lot" else _of_planting(index, thing)
    identified = [
        str(act.body["variety"])
        for act in index.acts_of(*thing)
        if act.kind == "identified" and act.body.get(thing[0]) == thing[1]
    ]
    return (identified[-1] if identified else "") or stated, parents


def _of_lot(index: ActIndex, thing: Thing) -> tuple[str, list[Thing]]:
    stated, parents = "", []
    for act in index.acts_of(*thing):
        for birth in births(act):
            if birth.lot == thing[1]:
                stated = _known_or(stated, birth.variety)
                parents += [("planting", birth.planting)] if birth.planting else []
                parents += [("lot", lot) for lot in birth.parents]
    return stated, parents


def _of_planting(index: ActIndex, thing: Thing) -> tuple[str, list[Thing]]:
    stated, parents = "", []
    for act in index.acts_of(*thing):
        if act.kind == "planted" and act.body["planting"] == thing[1]:
            stated = _known_or(stated, act.body.get("variety", ""))
            parents += [("lot", line["lot"]) for line in act.body.get("from", [])]
            if "from_planting" in act.body:
                parents.append(("planting", act.body["from_planting"]))
    return stated, parents


def _known_or(stated: str, new: str) -> str:
    return new if stated in ("", UNKNOWN) and new else stated


def unit_of(index: ActIndex, lot: str) -> str:
    """The unit stated when the lot came into being, or that of the nearest it comes from."""
    todo, seen = [lot], set()
    while todo:
        one = todo.pop()
        if one in seen:
            continue
        seen.add(one)
        born = [b for act in index.acts_of("lot", one) for b in births(act) if b.lot == one]
        stated = next((birth.unit for birth in born if birth.unit), "")
        if stated:
            return stated
        todo.extend(reversed([parent for birth in born for parent in birth.parents]))
    return "tuber"
