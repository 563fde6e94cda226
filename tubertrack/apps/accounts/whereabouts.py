"""Where a request comes from, as far as it can be told."""

from __future__ import annotations

from ipaddress import IPv6Address, ip_address, ip_network

from django.http import HttpRequest
from rest_framework.throttling import BaseThrottle

SITE_BITS = 64
"""What one visitor holds of IPv6: a whole /64 at the least (RFC 4291, 2.5.4; RFC 6177)."""


def place_of(request: HttpRequest) -> str:
    """The visitor's address, or its /64 for IPv6; "" when there is none.

    X-Forwarded-For counts only as far as REST_FRAMEWORK["NUM_PROXIES"] proxies of ours vouch for
    it: anybody may write that header.
    """
    told = BaseThrottle().get_ident(request) or ""  # type: ignore[arg-type]
    try:
        address = ip_address(told.strip("[] ").partition("%")[0])
    except ValueError:
        return told[:100]
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped:
            return str(address.ipv4_mapped)
        return str(ip_network((address, SITE_BITS), strict=False))
    return str(address)
