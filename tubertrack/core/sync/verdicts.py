"""Whether a record counts or is set aside; nothing is ever turned away."""

from __future__ import annotations

from tubertrack.core.stock import kinds
from tubertrack.core.sync.envelope import Envelope, Unreadable

MOST_BYTES = 64 * 1024
"""An envelope may have this many bytes of UTF-8; bigger ones are set aside."""

MOST_STORED_BYTES = 1024 * 1024
"""More is refused before it is read: no form of ours can make it."""

HELD_CODES = (
    "unreadable",
    "bad_envelope",
    "wrong_farm",
    "too_large",
    "quarantined",
    "unknown_kind",
    "newer_version",
    "bad_body",
    "not_permitted",
)
"""Why a record was set aside, in the order in which the reasons are looked for."""


def verdict(
    envelope: Envelope | Unreadable, *, size: int, role: str, farm_id: str, quarantined: bool
) -> str:
    """Code of why the record is set aside, or "" when it counts.

    Depends on the record's own bytes, the role it has at receipt and the pushing device's
    quarantine, never on which other records have arrived.
    """
    if isinstance(envelope, Unreadable):
        return envelope.code
    if envelope.farm != farm_id:
        return "wrong_farm"
    if size > MOST_BYTES:
        return "too_large"
    if quarantined:
        return "quarantined"
    return _verdict_on_body(envelope) or (
        "" if kinds.may_write(role, envelope.kind) else "not_permitted"
    )


def _verdict_on_body(envelope: Envelope) -> str:
    versions = _versions(envelope.kind)
    if not versions:
        return "unknown_kind"
    if envelope.v not in versions:
        return "newer_version"
    return "" if kinds.is_valid_body(envelope.kind, envelope.v, envelope.body) else "bad_body"


def _versions(kind: str) -> set[int]:
    return {v for known, v in kinds.schemas() if known == kind}


def lesser_role(author_role: str, pusher_role: str) -> str:
    """The weaker of two roles; "" (nobody we know) is weaker than any."""
    order = ("", *kinds.roles())
    known = [role if role in order else "" for role in (author_role, pusher_role)]
    return min(known, key=order.index)
