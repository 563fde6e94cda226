"""Text that stays in its box: measured, wrapped, made smaller, cut last.

Widths are those of B612, the face labels are printed in; both weights have the same. What B612 has
no glyph for comes from another face and is measured generously.
"""

import unicodedata
from dataclasses import dataclass
from functools import lru_cache

# Advance widths of B612 (OFL) in twentieths of an em, rounded up, from its hmtx table.
_WIDTHS = {
    4: "'|¦",
    5: ",;·′",
    6: ".:Iij°²³¹ÌÍÎÏìíîï",
    7: " !l¡‘’‚",
    8: '"frtªº″',
    9: "()-J[s‹›",
    10: "=]cz¢§“”„↑↓",
    11: "$*/?FLS\\_`aekvxy£¨©®¯´¸¿àáâãäåçèéêë÷ýÿ–−",
    12: "+CEKPTYZbdghnopqu}¤¥±ÈÉÊËÝñòóôõöøùúûüþ•",
    13: "0123456789<>ABDGRVX{µÀÁÂÃÄÅÇÐÞßð",
    14: "&HU«¶»ÙÚÛÜ€",
    15: "N^w~¼½¾Ñ…",
    16: "OQÒÓÔÕÖ×Ø",
    17: "#¬Ææ™",
    18: "%Mm",
    19: "Wœ",
    20: "@Œ",
    21: "—",
}


class _Widths(dict[str, int]):
    """Twentieths of an em by character; what is not in the table is measured once, generously."""

    def __missing__(self, character: str) -> int:
        if unicodedata.category(character) in _DRAWN_OVER:
            width = 0
        else:
            width = 22 if _is_wide(character) or character.isupper() else 17
        if len(self) < _MOST_KEPT:
            self[character] = width
        return width


_DRAWN_OVER = frozenset({"Mn", "Me", "Cf", "Cc"})
_MOST_KEPT = 20_000
_TWENTIETHS = _Widths((character, width) for width, group in _WIDTHS.items() for character in group)
MONO_EM = 0.65
"""Advance of every character of B612 Mono."""
OTHER_FACE_SCALE = 1.2
"""How much wider the face is that stands in when the bundled one is missing."""

_ELLIPSIS = "…"


@dataclass(frozen=True)
class Fitted:
    """Lines that stand in the box at this size. `is_cut` when letters had to be left out."""

    lines: tuple[str, ...]
    size_pt: float
    is_cut: bool = False


def width_em(text: str) -> float:
    """Width of a line, in units of its font size; at least as wide as it is drawn."""
    return sum(map(_TWENTIETHS.__getitem__, text)) / 20


@lru_cache(maxsize=4096)  # a farm's labels share their varieties and methods
def fit(
    text: str,
    *,
    width_pt: float,
    height_pt: float,
    sizes_pt: tuple[float, ...],
    leading: float,
    scale: float = 1.0,
    most_lines: int = 99,
) -> Fitted:
    """The text at the largest of `sizes_pt` (largest first) at which whole words stand in the box.

    A line feed in `text` starts a new line. At the smallest size words are broken, and what still
    does not fit is replaced by an ellipsis.

    Shape:  at least one size; every line is at most width_pt wide, all of them height_pt high.
    Empty:  "" gives no lines.
    """
    if not text.strip():
        return Fitted((), sizes_pt[0])
    for size_pt in sizes_pt:
        width = width_pt / size_pt / scale
        lines = wrap(text, width)
        room = min(most_lines, int(height_pt / (size_pt * leading) + 1e-9))
        if len(lines) <= room and max(map(width_em, lines)) <= width:
            return Fitted(tuple(_evened(text, width)), size_pt)
    smallest_pt = sizes_pt[-1]
    width = width_pt / smallest_pt / scale
    lines = [part for line in wrap(text, width) for part in _broken(line, width)]
    room = max(1, min(most_lines, int(height_pt / (smallest_pt * leading))))
    if len(lines) <= room:
        return Fitted(tuple(lines), smallest_pt)
    last = _cut(f"{lines[room - 1]} {lines[room]}", width)
    return Fitted((*lines[: room - 1], last), smallest_pt, is_cut=True)


def wrap(text: str, width: float) -> list[str]:
    """Lines broken at spaces, after hyphens and between wide characters, where they get too long."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for piece in _pieces(paragraph):
            if line and width_em((line + piece).rstrip()) > width:
                lines.append(line.rstrip())
                line = ""
            line += piece if line else piece.lstrip()
        if line.strip():
            lines.append(line.rstrip())
    return lines


def _evened(text: str, width: float) -> list[str]:
    """The same number of lines, each paragraph broken where its lines come out most alike."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        usual = wrap(paragraph, width)
        if len(usual) < 2:
            lines += usual
            continue
        narrowest = max(map(width_em, usual), default=0.0) / max(1, len(usual))
        tries = (narrowest + (width - narrowest) * step / 12 for step in range(13))
        for narrower in tries:
            evened = wrap(paragraph, narrower)
            if len(evened) == len(usual) and max(map(width_em, evened), default=0.0) <= width:
                usual = evened
                break
        lines += usual
    return lines


def _is_wide(character: str) -> bool:
    return unicodedata.east_asian_width(character) in {"W", "F"}


def _pieces(paragraph: str) -> list[str]:
    """What may not be broken: a word with the space after it, up to a hyphen, a wide character."""
    pieces: list[str] = []
    piece = ""
    for character in paragraph:
        if _is_wide(character) and piece:
            pieces.append(piece)
            piece = ""
        piece += character
        if character in " -–/" or _is_wide(character):
            pieces.append(piece)
            piece = ""
    return [*pieces, piece] if piece else pieces


def _broken(line: str, width: float) -> list[str]:
    if width_em(line) <= width:
        return [line]
    parts: list[str] = []
    part = ""
    for character in line:
        if part and width_em(part + character) > width:
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]


def _cut(line: str, width: float) -> str:
    kept = line
    while kept and width_em(kept + _ELLIPSIS) > width:
        kept = kept[:-1]
    return kept.rstrip() + _ELLIPSIS
