"""The farm's own network: a certificate of its own, and the page on which phones learn to trust it."""

from tubertrack.apps.accounts.lan.keeping import Unusable
from tubertrack.apps.accounts.lan.serving import serve

__all__ = ["Unusable", "serve"]
