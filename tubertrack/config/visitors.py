"""How visitors reach the server, and what follows for cookies, redirects and lasting promises.

TUBERTRACK_HTTPS is one of
  ""    plain HTTP on this computer alone (127.0.0.1): nothing leaves the machine
  lan   HTTPS by the farm's own certificate, on the farm's network
  1     HTTPS under a public name, by a reverse proxy that sets X-Forwarded-Proto and -For itself
        (proxy/nginx.conf.example); TUBERTRACK_PROXIES says how many stand in front, if not one
"""

from dataclasses import dataclass, replace

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


def way_in(told: str, proxies: str = "") -> Way:
    """The way of that name, with so many proxies.

    Errors: ImproperlyConfigured for any other name, so that a typing slip is not HTTP; for proxies
    on a way that has none, so that nobody's word on the way is taken by a slip.
    """
    if told not in WAYS:
        raise ImproperlyConfigured(
            f"TUBERTRACK_HTTPS is “{told}”. Write 1 (a proxy serves HTTPS under a public name), lan"
            " (the farm's own certificate), or leave it out (this computer alone)."
        )
    way = WAYS[told]
    if not proxies or (proxies == "0" and not way.proxies):
        return way
    if (
        not way.proxies
        or not proxies.isascii()
        or not proxies.isdigit()
        or not 1 <= int(proxies) < 10
    ):
        raise ImproperlyConfigured(
            f"TUBERTRACK_PROXIES is “{proxies}”. Write how many proxies of yours stand in front of the"
            " server, 1 to 9, and TUBERTRACK_HTTPS=1 with it; or leave it out."
        )
    return replace(way, proxies=int(proxies))
