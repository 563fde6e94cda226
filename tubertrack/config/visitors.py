"""How visitors reach the server, and what follows for cookies, redirects and lasting promises.

TUBERTRACK_HTTPS is one of
  ""    plain HTTP on this computer alone (127.0.0.1): nothing leaves the machine
  lan   HTTPS by the farm's own certificate, on the farm's network
  1     HTTPS under a public name, by a reverse proxy that sets X-Forwarded-Proto and -For itself
"""

from dataclasses import dataclass

from django.core.exceptions import ImproperlyConfigured

YEAR_S = 31_536_000
"""A year, as check --deploy and the HSTS preload list have it (RFC 6797 sets no number)."""


@dataclass(frozen=True)
class Way:
    """One way in."""

    secure_cookies: bool
    redirects_to_https: bool
    hsts_s: int
    proxies: int
    """How many hops in front add to X-Forwarded-For; 0: the header is a claim of anybody's."""

    @property
    def is_farm_network(self) -> bool:
        """HTTPS without a public name."""
        return self.secure_cookies and not self.hsts_s


WAYS = {
    "": Way(secure_cookies=False, redirects_to_https=False, hsts_s=0, proxies=0),
    # No HSTS: it holds for every port of a name (RFC 6797, 8.3), so the page that hands out the
    # certificate by plain HTTP could not be reached again, nor anything else on that computer.
    "lan": Way(secure_cookies=True, redirects_to_https=False, hsts_s=0, proxies=0),
    "1": Way(secure_cookies=True, redirects_to_https=True, hsts_s=YEAR_S, proxies=1),
}


def way_in(told: str) -> Way:
    """The way of that name. ImproperlyConfigured for any other, so that a typing slip is not HTTP."""
    if told not in WAYS:
        raise ImproperlyConfigured(
            f"TUBERTRACK_HTTPS is “{told}”. Write 1 (a proxy serves HTTPS under a public name), lan"
            " (the farm's own certificate), or leave it out (this computer alone)."
        )
    return WAYS[told]
