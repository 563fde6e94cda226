"""Which winter a packing belongs to, and when a crate should be looked at again."""

from tubertrack.core.season.looks import LookRule, due_on
from tubertrack.core.season.winters import (
    Season,
    season_for,
    winter_of,
    winter_starts_on,
)

__all__ = [
    "LookRule",
    "Season",
    "due_on",
    "season_for",
    "winter_of",
    "winter_starts_on",
]
