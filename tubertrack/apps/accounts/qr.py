"""QR codes as SVG, for a screen."""

from __future__ import annotations


def qr_svg(text: str) -> str:
    """The text as a QR code (level M, quiet zone of 4 modules), black on white."""
    import qrcode

    code = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_M, border=4)
    code.add_data(text)
    rows = code.get_matrix()
    size = len(rows)
    dark = "".join(
        f"M{x} {y}h1v1h-1z"
        for y, row in enumerate(rows)
        for x, is_dark in enumerate(row)
        if is_dark
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" '
        f'shape-rendering="crispEdges"><path fill="#fff" d="M0 0h{size}v{size}H0z"/>'
        f'<path d="{dark}"/></svg>'
    )
