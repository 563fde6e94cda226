"""The check character of ISO/IEC 7064 MOD 37,36.

Source: ISO/IEC 7064:2003, the hybrid system MOD 37,36 (one check character, of the same alphabet as
the text). Checked in tests against python-stdnum and against published identifiers.
"""

SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_MODULUS = len(SYMBOLS)  # 36
_VALUES = {symbol: value for value, symbol in enumerate(SYMBOLS)}


def check_character(text: str) -> str:
    """The character that makes `text` valid when it is appended.

    Empty:  "" has the check character "1".
    Errors: ValueError when a character is not one of 0-9 A-Z.
    """
    return SYMBOLS[(1 - _carried(text)) % _MODULUS]


def has_valid_check(text: str) -> bool:
    """Whether the last character of `text` is the check character of those before it."""
    if not text or any(symbol not in _VALUES for symbol in text):
        return False
    return (_carried(text[:-1]) + _VALUES[text[-1]]) % _MODULUS == 1


def _carried(text: str) -> int:
    """What the recursion hands to the next character, 1 to 36: 36 before the first."""
    carried = _MODULUS
    for symbol in text:
        if symbol not in _VALUES:
            message = f"{symbol!r} is not one of 0-9 A-Z"
            raise ValueError(message)
        # A sum of 0 counts as 36, so doubling modulo 37 (a prime) never gives 0.
        total = (carried + _VALUES[symbol]) % _MODULUS or _MODULUS
        carried = 2 * total % (_MODULUS + 1)
    return carried
