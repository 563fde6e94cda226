"""Small drawings of a printed report, as SVG: the range of a share, and tally gates.

Nothing depends on colour: a dot is filled or hollow, a lost bar is thick and struck.
"""

from __future__ import annotations

from typing import Any

INK, EDGE, HIGHLIGHT = "#16181b", "#7c7a72", "#2a3f9d"
WIDTH, HEIGHT, PAD = 200.0, 22.0, 8.0
MOST_BARS = 60


def _x(share: float) -> float:
    return PAD + share * (WIDTH - 2 * PAD)


def _svg(width: float, height: float, body: str, name: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'role="img" aria-label="{name}"><title>{name}</title>{body}</svg>'
    )


def axis() -> str:
    """The head of the plot's column: 0, 50 and 100 %."""
    texts = "".join(
        f'<text x="{_x(share):g}" y="12" text-anchor="{anchor}" font-size="10" '
        f'font-family="B612, DejaVu Sans" fill="{INK}">{label}</text>'
        f'<line x1="{_x(share):g}" y1="15" x2="{_x(share):g}" y2="{HEIGHT:g}" stroke="{EDGE}"/>'
        for share, label, anchor in ((0, "0", "middle"), (0.5, "50", "middle"), (1, "100 %", "end"))
    )
    return _svg(WIDTH, HEIGHT, texts, "Scale from 0 to 100 percent")


def whisker(found: dict[str, Any] | None, *, is_everything: bool = False) -> str:
    """A dot at the share with its range; hollow under ten tubers, a square for everything."""
    grid = "".join(
        f'<line x1="{_x(share):g}" y1="0" x2="{_x(share):g}" y2="{HEIGHT:g}" stroke="#d5d0c4" '
        'stroke-width="0.8"/>'
        for share in (0, 0.25, 0.5, 0.75, 1)
    )
    if found is None:
        return _svg(WIDTH, HEIGHT, grid, "No counts yet")
    middle, colour = HEIGHT / 2, HIGHLIGHT if is_everything else INK
    low, high, dot = (_x(found[name]) for name in ("low", "high", "share"))
    line = (
        f'<path d="M{low:.1f} {middle - 4:g}v8M{low:.1f} {middle:g}H{high:.1f}M{high:.1f} '
        f'{middle - 4:g}v8" stroke="{colour}" stroke-width="1.6" fill="none"/>'
    )
    fill = "#ffffff" if found["few"] else colour
    style = f'fill="{fill}" stroke="{colour}" stroke-width="1.8"'
    mark = (
        f'<rect x="{dot - 4.2:.1f}" y="{middle - 4.2:.1f}" width="8.4" height="8.4" {style}/>'
        if is_everything
        else f'<circle cx="{dot:.1f}" cy="{middle:g}" r="4.6" {style}/>'
    )
    name = f"{found['share']:.0%} came through, range {found['low']:.0%} to {found['high']:.0%}".replace(
        "%", " percent"
    )
    return _svg(WIDTH, HEIGHT, grid + line + mark, name)


def tally(held: int, lost: int) -> str:
    """Five-bar gates: one bar a tuber, the lost ones first, thick and struck through.

    More than sixty are drawn to scale, a bar for several; the words beside it have the count.
    """
    bars = min(held, MOST_BARS)
    struck = round(lost * bars / held) if held else 0
    struck = max(1, struck) if lost and bars else struck
    shapes, x = [], 4.0
    for i in range(bars):
        width = 3.2 if i < struck else 1.2
        if i % 5 == 4:
            shapes.append(
                f'<line x1="{x - 22:g}" y1="17" x2="{x - 1:g}" y2="3" stroke="{INK}" stroke-width="{width}"/>'
            )
            x += 5
            continue
        shapes.append(
            f'<line x1="{x:g}" y1="2" x2="{x:g}" y2="18" stroke="{INK}" stroke-width="{width}"/>'
        )
        if i < struck:
            shapes.append(
                f'<line x1="{x - 3:g}" y1="12" x2="{x + 3:g}" y2="8" stroke="#ffffff" stroke-width="1.4"/>'
            )
        x += 5
    return _svg(max(x, 10), 20, "".join(shapes), f"{lost} of {held} lost")
