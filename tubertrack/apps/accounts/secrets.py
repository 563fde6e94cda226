"""Tokens and codes: what is handed out once, and what is kept of it."""

from __future__ import annotations

import hashlib
import hmac
import secrets

from django.conf import settings


def new_token() -> str:
    """256 random bits, written for a header or an address."""
    return secrets.token_urlsafe(32)


def token_hash(token: str) -> str:
    """What is kept of a token. Plain SHA-256: nobody can guess 256 random bits."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def new_pairing_secret() -> str:
    """128 random bits, short enough for a QR code that an old camera reads."""
    return secrets.token_urlsafe(16)


def new_code() -> str:
    """Six random digits."""
    return f"{secrets.randbelow(1_000_000):06}"


def code_hash(code: str) -> str:
    """What is kept of a code. Keyed, since a million guesses need no time at all."""
    key = settings.SECRET_KEY.encode()
    return hmac.new(key, b"pairing:" + code.encode("utf-8", "surrogatepass"), "sha256").hexdigest()
