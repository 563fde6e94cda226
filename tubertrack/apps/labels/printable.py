"""Text from outside made fit to print: one line, visible characters only, no power over the page."""

import unicodedata

LONGEST_TEXT = 200
_MARKS_AT_MOST = 3
_INVISIBLE = frozenset({"Cc", "Cf", "Cn", "Co", "Zl", "Zp", "Zs"})
# Without these two some scripts and picture characters fall apart.
_JOINERS = frozenset("\u200c\u200d")


def printable(text: str, longest: int = LONGEST_TEXT) -> str:
    """The text as it is printed: composed, on one line, at most `longest` characters.

    Control characters, direction marks and unassigned characters become spaces or go; half of a
    surrogate pair becomes the replacement character; more than three marks on one letter go.
    """
    whole = "".join(
        "\ufffd" if unicodedata.category(character) == "Cs" else character for character in text
    )
    kept: list[str] = []
    marks = 0
    for character in unicodedata.normalize("NFC", whole):
        category = unicodedata.category(character)
        if category in _INVISIBLE and character not in _JOINERS:
            if category != "Cf":
                kept.append(" ")
            continue
        marks = marks + 1 if category in {"Mn", "Me"} else 0
        if marks <= _MARKS_AT_MOST:
            kept.append(character)
    line = " ".join("".join(kept).split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"
