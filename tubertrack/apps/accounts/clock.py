"""The server's clock, read in one place."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> datetime:
    """This moment, aware, UTC."""
    return datetime.now(UTC)


def in_ms(moment: datetime) -> int:
    """Whole milliseconds since 1970 UTC."""
    return int(moment.timestamp() * 1000)
