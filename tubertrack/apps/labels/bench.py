"""How fast sheets are made, beside the obvious way to make the same sheets with the same renderer."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from html import escape
from random import Random
from typing import Any, TextIO

from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.pdf import write_pdf
from tubertrack.apps.labels.qr import QUIET_MODULES, qr_symbol
from tubertrack.apps.labels.render import render_labels
from tubertrack.apps.labels.services import label_fonts
from tubertrack.apps.labels.stock import LETTER_30
from tubertrack.apps.paper.fonts import SANS, Fonts
from tubertrack.core.codes import code_from_bytes, qr_text, show_code

LABELS = 300
ROUNDS = 3


def bench_labels(stdout: TextIO) -> dict[str, Any]:
    """300 crate labels, 30 a sheet: ours, and flexible boxes with an SVG each; best of 3, by turns."""
    labels, fonts = _labels(LABELS), label_fonts()
    ways: dict[str, Callable[[], bytes]] = {
        "positions_and_drawing": lambda: render_labels(labels, LETTER_30, fonts=fonts),
        "flex_and_svg": lambda: _flex_and_svg(labels, fonts),
    }
    render_labels(labels[:1], LETTER_30, fonts=fonts)  # imports and fonts come once
    best = dict.fromkeys(ways, float("inf"))
    size = dict.fromkeys(ways, 0)
    for number in range(ROUNDS):
        for name, way in ways.items():
            start = time.perf_counter()
            size[name] = len(way())
            taken = time.perf_counter() - start
            best[name] = min(best[name], taken)
            stdout.write(f"round {number + 1}, {name}: {taken:.2f} s\n")
    ours, other = best["positions_and_drawing"], best["flex_and_svg"]
    return {
        "figures": {
            "labels": LABELS,
            "seconds": ours,
            "labels_per_second": LABELS / ours,
            "bytes_per_label": size["positions_and_drawing"] / LABELS,
            "flex_and_svg_seconds": other,
            "flex_and_svg_bytes_per_label": size["flex_and_svg"] / LABELS,
        },
        "ratios": {"times_as_fast_as_flex_and_svg": other / ours},
        "targets": {"times_as_fast_as_flex_and_svg": {"at_least": 4.0}},
    }


def _labels(count: int) -> list[LabelData]:
    draw = Random(1)  # noqa: S311  the same labels each time
    codes: list[str] = []
    while len(codes) < count:
        code = code_from_bytes(draw.randbytes(5))
        if code:
            codes.append(code)
    return [
        LabelData(
            "crate",
            code,
            qr_text(code, "farm.example"),
            number=str(number),
            variety=("Oddny Larkvane", "Gräfin Ottoline von Hessenquell")[number % 2],
            year="2026",
            count=f"packed {20 + number % 30}, 3 Nov 2026",
            method="Vermiculite in vented bags",
        )
        for number, code in enumerate(codes, 1)
    ]


def _flex_and_svg(labels: Sequence[LabelData], fonts: Fonts) -> bytes:
    """The way that comes to mind first: a wrapping row of boxes, in each a drawing and four lines."""
    per_sheet = LETTER_30.labels_per_sheet
    sheets = [labels[start : start + per_sheet] for start in range(0, len(labels), per_sheet)]
    body = "".join(
        f"<section>{''.join(_flex_label(label) for label in sheet)}</section>" for sheet in sheets
    )
    css = f"""
@page {{ size: 215.9mm 279.4mm; margin: 0 }}
body {{ margin: 0; font: 7.5pt/1.25 {SANS} }}
section {{ display: flex; flex-wrap: wrap; column-gap: 3.175mm; padding: 12.7mm 4.76mm 0;
  height: 266.6mm; box-sizing: border-box; break-after: page; align-content: flex-start }}
section:last-child {{ break-after: auto }}
article {{ display: flex; width: 66.67mm; height: 25.4mm; align-items: center }}
svg {{ width: 20mm; height: 20mm }}
.code {{ font: 700 14pt/1.15 "B612 Mono", monospace }} .name {{ font-weight: 700; font-size: 9pt }}
p {{ margin: 0 }}
"""
    html = f"<!doctype html><html lang=en><title>Labels</title><body>{body}</body></html>"
    return write_pdf(html, css, fonts, [b""] * len(sheets), "Labels")


def _flex_label(label: LabelData) -> str:
    symbol = qr_symbol(label.qr_text)
    side = symbol.modules + 2 * QUIET_MODULES
    path = "".join(
        f"M{box.x + QUIET_MODULES} {box.y + QUIET_MODULES}h{box.width}v{box.height}h-{box.width}z"
        for box in symbol.rectangles
    )
    lines = [("code", f"{show_code(label.code)} {label.number}"), ("name", label.variety)]
    lines += [("", line) for line in label.details.split("\n")]
    words = "".join(f'<p class="{name}">{escape(line)}</p>' for name, line in lines)
    return f'<article><svg viewBox="0 0 {side} {side}"><path d="{path}"/></svg><div>{words}</div></article>'


BENCHES = {"labels": bench_labels}
