"""Codes that were given out for labels."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from tubertrack.apps.accounts.models import Farm


class IssuedCode(models.Model):
    """A code that the server made for a farm: never made again, whether it was printed or not."""

    farm = models.ForeignKey(Farm, models.CASCADE, related_name="issued_codes")
    code = models.CharField(max_length=8)
    issued_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["farm", "code"], name="code_issued_once_per_farm"),
        ]

    def __str__(self) -> str:
        return self.code
