"""The code on a label: seven characters without look-alikes and a check character.

A code names one thing inside one farm. It says nothing about the thing, so it can stay on a crate
for ever. The TypeScript twin is frontend/src/core/codes/codes.ts; tests/reference/codes.json holds
both to the same answers.
"""

from collections.abc import Iterable

from tubertrack.core.codes.check_character import check_character, has_valid_check

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U
CODE_LENGTH = 8
BYTES_PER_CODE = 5
LONGEST_READ = 2048
"""A longer text, such as the pages of text a QR code may hold, is no label of ours."""

_RANDOM_CHARACTERS = CODE_LENGTH - 1
# Spaces, hyphens and dashes that people, keyboards and copied text put into a code. Written out,
# because "white space" is not the same set in Python and JavaScript.
_SEPARATORS = (
    "\t\n\v\f\r -\u00a0\u00ad\u2007\u2009\u200b\u202f\u3000\ufeff"
    "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
)
_READ_AS = {
    **{ord(separator): None for separator in _SEPARATORS},
    **{ord(small): small.upper() for small in "abcdefghijklmnopqrstuvwxyz"},
    **{ord(alike): "1" for alike in "iIlL"},
    **{ord(alike): "0" for alike in "oO"},
}


def code_from_bytes(random_bytes: bytes) -> str | None:
    """A code made of five bytes, or None when its check character would be I, L, O or U.

    Each of the 2**35 beginnings is equally likely when the bytes are; the first five bits are not
    used. About one call in nine gives None: ask again with new bytes.

    Errors: ValueError for any other number of bytes.
    """
    if len(random_bytes) != BYTES_PER_CODE:
        message = f"a code is made of {BYTES_PER_CODE} bytes, not {len(random_bytes)}"
        raise ValueError(message)
    number = int.from_bytes(random_bytes, "big")
    beginning = "".join(
        ALPHABET[number >> 5 * place & 31] for place in reversed(range(_RANDOM_CHARACTERS))
    )
    check = check_character(beginning)
    return beginning + check if check in ALPHABET else None


def normalise_code(text: str) -> str | None:
    """The eight capitals that `text` stands for, or None when it does not have the form of a code.

    Of an address only the last part is read, whatever the host. Small letters, spaces and dashes
    are as good as none; i and l are read as 1, o as 0. The check character is not looked at: see
    is_valid_code.
    """
    read = _characters(text)
    return read if len(read) == CODE_LENGTH and _in_alphabet(read) else None


def is_valid_code(code: str) -> bool:
    """Whether `code` may be on a label: eight capitals whose check character is right."""
    return len(code) == CODE_LENGTH and _in_alphabet(code) and has_valid_check(code)


def show_code(code: str) -> str:
    """The code in the two groups of four that labels and screens show: 4K7Q-M2X1."""
    return f"{code[:4]}-{code[4:]}"


def known_codes_one_away(typed: str, known: Iterable[str]) -> list[str]:
    """Those of `known` that one slip of the hand turns into what was typed, in order.

    One slip is: a wrong character, a missing one, one too many, or two neighbours swapped. A code
    that was typed without a slip is not among them.
    """
    read = _characters(typed)
    if abs(len(read) - CODE_LENGTH) > 1:
        return []
    return sorted({code for code in known if _is_one_slip(code, read)})


def _characters(text: str) -> str:
    if len(text) > LONGEST_READ:
        return ""
    _, scheme, address = text.partition("://")
    path = address.partition("/")[2] if scheme else text
    trimmed = path.split("?", 1)[0].split("#", 1)[0].strip(_SEPARATORS).rstrip("/")
    return trimmed.rsplit("/", 1)[-1].translate(_READ_AS)


def _in_alphabet(text: str) -> bool:
    return all(character in ALPHABET for character in text)


def _is_one_slip(code: str, read: str) -> bool:
    if len(code) > len(read):
        return _without_one(code, read)
    if len(code) < len(read):
        return _without_one(read, code)
    wrong = [
        place for place, (ours, theirs) in enumerate(zip(code, read, strict=True)) if ours != theirs
    ]
    if len(wrong) == 1:
        return True
    if len(wrong) != 2 or wrong[1] - wrong[0] != 1:
        return False
    first, second = wrong
    return code[first] == read[second] and code[second] == read[first]


def _without_one(longer: str, shorter: str) -> bool:
    return len(longer) == len(shorter) + 1 and any(
        longer[:place] + longer[place + 1 :] == shorter for place in range(len(longer))
    )
