"""Farms named on the command line."""

from collections.abc import Iterable

from django.core.exceptions import ValidationError
from django.core.management.base import CommandError

from tubertrack.apps.accounts.models import Farm


def chosen_farms(farm_id: str | None) -> Iterable[Farm]:
    """The farm with this id, or all; CommandError where there is none."""
    if farm_id is None:
        return Farm.objects.order_by("created_at")
    return [one_farm(farm_id)]


def one_farm(farm_id: str | None) -> Farm:
    """The farm with this id, or the only one there is."""
    farms = list(Farm.objects.all()[:2])
    if farm_id is None and len(farms) == 1:
        return farms[0]
    if farm_id is None:
        raise CommandError("Say which farm: --farm <id> (manage.py rebuild lists them).")
    try:
        return Farm.objects.get(pk=farm_id)
    except (Farm.DoesNotExist, ValidationError):
        raise CommandError(f"There is no farm {farm_id} on this server.") from None
