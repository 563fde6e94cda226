"""What the QR code of a label holds."""

import ipaddress

LONGEST_QR_TEXT = 29
"""Capitals and digits in a symbol of 25 x 25 modules at level Q: ISO/IEC 18004, version 2-Q."""

_HOST_CHARACTERS = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ.-")
_LOCAL_ENDINGS = (".LOCAL", ".LAN", ".HOME.ARPA", ".INTERNAL", ".LOCALHOST", ".TEST", ".INVALID")


def qr_text(code: str, host: str = "") -> str:
    """HTTPS://HOST/CODE when the farm has a public name that fits, else the code alone.

    At most 29 characters, all of them of QR's alphanumeric mode. A local address is never printed:
    labels outlive it, and nobody outside the farm can open it. The scanner reads the last part
    only, so both forms are the same label.
    """
    name = host.strip().upper().rstrip(".")
    address = f"HTTPS://{name}/{code}"
    return address if _is_public(name) and len(address) <= LONGEST_QR_TEXT else code


def _is_public(name: str) -> bool:
    if "." not in name or not _HOST_CHARACTERS.issuperset(name) or name.endswith(_LOCAL_ENDINGS):
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return True
    return False
