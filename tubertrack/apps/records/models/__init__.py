"""The record log, and the tables worked out of it."""

from tubertrack.apps.records.models.log import Erasure, Record
from tubertrack.apps.records.models.projected import (
    Check,
    CheckLine,
    Crate,
    HeldEntry,
    Lot,
    Method,
    Place,
    Planting,
    Posting,
    Problem,
    Projected,
    Reading,
    Setting,
    Stay,
    Variety,
)

__all__ = [
    "Check",
    "CheckLine",
    "Crate",
    "Erasure",
    "HeldEntry",
    "Lot",
    "Method",
    "Place",
    "Planting",
    "Posting",
    "Problem",
    "Projected",
    "Reading",
    "Record",
    "Setting",
    "Stay",
    "Variety",
]
