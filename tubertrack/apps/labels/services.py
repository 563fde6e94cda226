"""Giving out codes, and turning a request for labels into sheets."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import transaction

from tubertrack.apps.accounts.models import Farm
from tubertrack.apps.labels.models import IssuedCode
from tubertrack.apps.paper.fonts import Fonts, bundled_fonts
from tubertrack.apps.records.models import Crate, Lot, Planting
from tubertrack.core.codes import BYTES_PER_CODE, code_from_bytes

MOST_CODES = 2000
"""At once: as many as one `printed` record may name."""


def issue_codes(
    farm: Farm,
    count: int,
    *,
    now: datetime,
    random_bytes: Callable[[int], bytes] = secrets.token_bytes,
) -> list[str]:
    """New codes, none of which this farm has had before: neither given out nor on any thing.

    Two requests at once never get the same code. Every farm has codes of its own, so that two farms
    may have the same one.

    Errors: ValueError outside 1 to 2000.
    """
    if not 1 <= count <= MOST_CODES:
        message = f"1 to {MOST_CODES} codes can be made at once, not {count}"
        raise ValueError(message)
    with transaction.atomic():
        Farm.objects.select_for_update().get(pk=farm.pk)  # one at a time
        fresh: dict[str, None] = {}
        while len(fresh) < count:
            wanted = count - len(fresh)
            drawn = [code_from_bytes(random_bytes(BYTES_PER_CODE)) for _ in range(wanted)]
            codes = [code for code in drawn if code is not None]
            taken = _taken(farm, codes)
            fresh |= dict.fromkeys(code for code in codes if code not in taken)
        IssuedCode.objects.bulk_create(
            [IssuedCode(farm=farm, code=code, issued_at=now) for code in fresh], batch_size=200
        )
    return list(fresh)


def _taken(farm: Farm, codes: Sequence[str]) -> set[str]:
    taken: set[str] = set()
    for model in (IssuedCode, Crate, Lot, Planting):
        for start in range(0, len(codes), 500):
            rows = model.objects.filter(farm=farm, code__in=codes[start : start + 500])
            taken |= set(rows.values_list("code", flat=True))
    return taken


def label_fonts() -> Fonts:
    """The face in the built app."""
    return bundled_fonts(Path(settings.SPA_DIR))
