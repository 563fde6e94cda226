"""Texts that have hurt other programs, and a farm in which every text is one of them."""

from __future__ import annotations

import hashlib
import random
from itertools import cycle
from typing import Any

from tests.farms import Phone
from tests.security.bodies import Bodies, kinds, thing
from tubertrack.core.codes import code_from_bytes

HURTS = "window.__hurt=1"
# Sources: OWASP's XSS Filter Evasion Cheat Sheet for the markup, its page “CSV Injection” for the
# formula starts, Unicode Standard Annex 9 (bidirectional text) and Technical Report 36 for the rest.
MARKUP = [
    f"<script>{HURTS}</script>",
    f'"><img src=x onerror="{HURTS}">',
    f"<svg/onload={HURTS}>",
    f"' onmouseover='{HURTS}' autofocus onfocus='{HURTS}",
    f"javascript:{HURTS}",
    f'<a href="javascript:{HURTS}">press</a>',
    f"</title></style></textarea><script>{HURTS}</script>",
    f"{{{{constructor.constructor('{HURTS}')()}}}}${{{HURTS}}}",
    '<link rel=attachment href="file:///etc/hostname">',
    "&lt;b&gt;&amp;#60;",
]
FORMULAS = [
    '=HYPERLINK("http://other.example","x")',
    "+1+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(1,1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "\u200b=1+1",
    "\uff1d1+1",
    '",=1+1,"',
]
SCRIPTS = [
    "\u202e99 tubers\u202c",
    "\u2067\u05d0\u05d1 12\u2069 34",
    "\u2069\u202d55",
    "\u05d3\u05dc\u05d9\u05d4 \u05e9\u05d7\u05d5\u05e8\u05d4",
    "\u062f\u0627\u0644\u064a\u0627 \u0660\u0661",
    "nul\x00here",
    "half\ud83cof",
    "\udf31other half",
    "\U0001f331\U0001f3f4\U000e0067\U000e0062\U000e007f\U0010ffff",
    "zero\u200bwidth\u200d\ufeff\u2060joined",
    "Z\u0300\u0301\u0302\u0303\u0304\u0305\u0306\u0307\u0308\u0309\u030a\u030b" * 6,
    "line\u2028and\u2029paragraph",
    "W" * 300,
    "\U0001f331" * 120,
    "__proto__",
    "constructor",
    " ",
]
TEXTS = MARKUP + FORMULAS + SCRIPTS
NAMES = {
    "varieties": ("name", "form", "color", "note", "notes", "breeder", "synonyms"),
    "places": ("name", "note", "notes"),
    "methods": ("name", "note", "notes", "packing", "wrap"),
    "crates": ("number", "name", "note", "notes"),
}
SORT_OF = {"varieties": "variety", "places": "place", "methods": "method", "crates": "crate"}


def names_first(phone: Phone, start: int = 0) -> list[bytes]:
    """Every thing of the small pools gets a hostile name, number and note."""
    texts = cycle(TEXTS[start:] + TEXTS[:start])
    return [
        phone.raw(
            "field_set",
            {"table": table, "row": thing(SORT_OF[table], n), "field": field, "value": next(texts)},
        )
        for table, fields in NAMES.items()
        for field in fields
        for n in range(3)
    ]


def code(sort: str, n: int) -> str:
    """A code that a label may carry."""
    digests = (hashlib.sha256(f"{sort} {n} {turn}".encode()).digest() for turn in range(99))
    return next(made for digest in digests if (made := code_from_bytes(digest[:5])))


def story(phone: Phone, winter_days: tuple[str, str] = ("2024-11-02", "2024-11-12")) -> list[bytes]:
    """Three packed crates with batches, looked at once, so that reports and lists have rows."""
    found_on, packed_on = winter_days
    raws = []
    for n in range(3):
        lot = {"lot": thing("lot", n), "count": 34 + n}
        born = {**lot, "unit": "tuber", "variety": thing("variety", n)}
        raws.append(phone.raw("found", {**born, "note": TEXTS[n]}, occurred_on=found_on))
        told = {"place": thing("place", n), "method": thing("method", n), "position": TEXTS[n][:40]}
        body = {"crate": thing("crate", n), "from": [lot], "lots": [lot], **told}
        raws.append(phone.raw("packed", {**body, "note": TEXTS[9 + n]}, occurred_on=packed_on))
        lines = [{"lot": thing("lot", n), "removed": {"rot": 2}, "all": True, "seen": 32 + n}]
        look = {"crate": thing("crate", n), "look": "all", "lines": lines, "note": TEXTS[20 + n]}
        raws.append(phone.raw("checked", look))
        raws += [
            phone.raw("labelled", {"code": code(sort, n), "target": sort, "id": thing(sort, n)})
            for sort in ("crate", "lot")
        ]
    return raws


def of_every_kind(phone: Phone, times: int = 2) -> list[bytes]:
    """Records of every kind with every optional field, each free text a hostile one."""
    texts = cycle(TEXTS)
    bodies = Bodies(random.Random(7), lambda _: next(texts), optional=1.0)
    return [
        phone.raw(kind, bodies.body(kind, version), v=version)
        for _ in range(times)
        for kind, version in kinds()
    ]


def settle(phone: Phone, *, mend: bool = True) -> dict[str, Any]:
    """Writes all of it; how many count, how many of each kind."""
    verdicts = phone.append(*names_first(phone), *story(phone))
    assert [] == [one for one in verdicts if one.verdict != "stored"]
    more = phone.append(*of_every_kind(phone)) if mend else []
    return {"records": len(verdicts) + len(more), "stored": [one.verdict for one in more]}
