"""Label codes: making, reading and checking them. Pure; random bytes arrive as arguments."""

from tubertrack.core.codes.check_character import check_character, has_valid_check
from tubertrack.core.codes.label_codes import (
    ALPHABET,
    BYTES_PER_CODE,
    CODE_LENGTH,
    code_from_bytes,
    is_valid_code,
    known_codes_one_away,
    normalise_code,
    show_code,
)
from tubertrack.core.codes.qr_text import LONGEST_QR_TEXT, qr_text

__all__ = [
    "ALPHABET",
    "BYTES_PER_CODE",
    "CODE_LENGTH",
    "LONGEST_QR_TEXT",
    "check_character",
    "code_from_bytes",
    "has_valid_check",
    "is_valid_code",
    "known_codes_one_away",
    "normalise_code",
    "qr_text",
    "show_code",
]
