"""Our own drawings of what a phone shows at each step, as SVG with nothing but shapes and text.

No phone looks exactly like this; the words in them are those that the phone shows. Fixed colours on
a light ground: they read the same on a dark page and on paper, and break no content policy.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

WIDTH, HEIGHT = 220, 260
INK, PALE, LINE, PAPER, GROUND = "#1d2a24", "#5a6a62", "#c3cdc7", "#ffffff", "#eef2ef"
PRESSED = "#8a3b00"
"""The place to press: an outline and a finger, so that the colour says nothing alone."""
ROW = 30


def settings_rows(title: str, rows: Sequence[str], press: int, *, typed: str = "") -> str:
    """A page of settings: a title, perhaps a search field with what was typed, rows to choose from."""
    parts = [_title(title)]
    top = 62
    if typed:
        parts += [
            f'<rect x="26" y="{top}" width="168" height="26" rx="13" fill="{GROUND}" stroke="{PALE}"/>',
            f'<circle cx="40" cy="{top + 12}" r="4.5" fill="none" stroke="{PALE}" stroke-width="1.5"/>',
            f'<path d="M43.5 {top + 15.5}l4 4" stroke="{PALE}" stroke-width="1.5"/>',
            _text(54, top + 17, typed),
        ]
        top += 36
    for at, row in enumerate(rows):
        y = top + at * ROW
        parts.append(_text(32, y + 19, row))
        parts.append(f'<path d="M26 {y + ROW}H194" stroke="{LINE}"/>')
        if at == press:
            parts.append(_press(24, y + 2, 172, ROW - 4))
    return _phone(parts)


def switch(title: str, row: str) -> str:
    """A page of settings with one switch, turned on."""
    return _phone(
        [
            _title(title),
            _text(32, 96, row),
            f'<rect x="148" y="110" width="40" height="22" rx="11" fill="{INK}"/>',
            f'<circle cx="177" cy="121" r="8.5" fill="{PAPER}"/>',
            _text(32, 126, "on"),
            _press(142, 105, 52, 32),
        ]
    )


def question(words: Sequence[str], answers: Sequence[str], press: int) -> str:
    """A question over the page, with its answers below each other."""
    height = 26 + 18 * len(words) + 36 * len(answers)
    top = (HEIGHT - height) // 2
    parts = [
        f'<rect x="18" y="26" width="184" height="208" fill="{GROUND}"/>',
        f'<rect x="30" y="{top}" width="160" height="{height}" rx="10" fill="{PAPER}" stroke="{PALE}"/>',
    ]
    for at, line in enumerate(words):
        parts.append(_text(WIDTH // 2, top + 24 + 18 * at, line, middle=True))
    for at, answer in enumerate(answers):
        y = top + 18 + 18 * len(words) + 36 * at
        parts.append(_text(WIDTH // 2, y + 20, answer, middle=True, strong=True))
        if at == press:
            parts.append(_press(42, y + 1, 136, 28))
    return _phone(parts)


def button(title: str, words: str, notice: str) -> str:
    """This page with its button, and what the phone says once it was pressed."""
    return _phone(
        [
            _title(title),
            f'<rect x="32" y="82" width="156" height="40" rx="7" fill="none" stroke="{INK}" stroke-width="1.6"/>',
            _text(WIDTH // 2, 106, words, middle=True, strong=True),
            _press(28, 78, 164, 48),
            f'<rect x="26" y="178" width="168" height="40" rx="7" fill="{INK}"/>',
            _text(WIDTH // 2, 202, notice, middle=True, colour=PAPER),
        ]
    )


def compare(rows: Sequence[str]) -> str:
    """The same first rows on the phone and on the computer's screen."""
    phone = [
        f'<rect x="14" y="44" width="104" height="180" rx="12" fill="{PAPER}" stroke="{INK}" stroke-width="2"/>',
        _text(66, 72, "phone", middle=True, colour=PALE),
    ]
    screen = [
        f'<rect x="134" y="56" width="152" height="110" rx="5" fill="{INK}"/>',
        f'<path d="M196 166h28l8 26h-44z" fill="{PALE}"/>',
        _text(210, 78, "the computer", middle=True, colour=PAPER),
    ]
    for at, row in enumerate(rows):
        phone.append(_text(66, 104 + 26 * at, row, middle=True, mono=True))
        screen.append(_text(210, 101 + 18 * at, row, middle=True, mono=True, colour=PAPER))
    equal = f'<path d="M120 118h12M120 126h12" stroke="{PRESSED}" stroke-width="3"/>'
    return _drawing(300, HEIGHT, [*phone, *screen, equal])


def _phone(parts: Sequence[str]) -> str:
    case = (
        f'<rect x="12" y="8" width="196" height="244" rx="18" fill="{PAPER}" stroke="{INK}" stroke-width="2.5"/>'
        f'<path d="M92 18h36" stroke="{LINE}" stroke-width="4" stroke-linecap="round"/>'
        f'<path d="M86 243h48" stroke="{LINE}" stroke-width="3" stroke-linecap="round"/>'
    )
    return _drawing(WIDTH, HEIGHT, [case, *parts])


def _drawing(width: int, height: int, parts: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        f'<rect width="{width}" height="{height}" rx="14" fill="{GROUND}"/>{"".join(parts)}</svg>'
    )


def _title(words: str) -> str:
    return _text(WIDTH // 2, 46, words, middle=True, strong=True)


def _press(x: int, y: int, width: int, height: int) -> str:
    """A ring round the place, and a finger from below that points at it."""
    at, tip = x + width - 12, y + height - 6
    return (
        f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="7" fill="none" '
        f'stroke="{PRESSED}" stroke-width="2.5"/>'
        f'<path d="M{at} {tip}c-4 0-6 3-6 6v26h14v-26c0-3-3-6-8-6z" fill="{PAPER}" '
        f'stroke="{PRESSED}" stroke-width="2"/>'
    )


def _text(
    x: int,
    y: int,
    words: str,
    *,
    middle: bool = False,
    strong: bool = False,
    mono: bool = False,
    colour: str = INK,
) -> str:
    family = "ui-monospace, monospace" if mono else "system-ui, sans-serif"
    more = [' text-anchor="middle"' if middle else "", ' font-weight="600"' if strong else ""]
    size = 11.5 if mono else min(14.5, 300 / len(words))  # the longest still fits in a row
    return (
        f'<text x="{x}" y="{y}" font-size="{size:.1f}" fill="{colour}" font-family="{family}"'
        f"{''.join(more)}>{escape(words)}</text>"
    )
