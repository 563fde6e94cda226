"""Labels to print: invented varieties, codes from a fixed seed."""

from pathlib import Path
from random import Random

from tests.labels.sheets import Expected
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.stock import Kind, Stock
from tubertrack.apps.paper.fonts import Fonts, bundled_fonts
from tubertrack.core.codes import code_from_bytes, qr_text, show_code

SIXTY_LETTERS = "Gräfin Ottoline von und zu Hessenquell-Brundish am Osselbysee"[:60]
NAMES = (
    "Oddny Larkvane",
    "Gräfin Ottoline von Hessenquell",
    "Mrs. E. Brundish-Voss",
    SIXTY_LETTERS,
    "Oddny Larkvane, Kestrel Marzipan, Brackwater Bell, Zelka Morrow",
    "Ångström Éclair Ñandú Żółw",
    "暗い地下室の大きなダリア",
    "כדור ורוד גדול מאוד",
    "",
)
NUMBERS = ("12", "3", "107", "", "North 12", "1204", "B-7")


def face() -> Fonts:
    """The bundled face where the app has been built, else none; every sheet must hold with both."""
    return bundled_fonts(Path(__file__).parents[2] / "tubertrack" / "spa")


def some_code(draw: Random) -> str:
    code = None
    while code is None:
        code = code_from_bytes(draw.randbytes(5))
    return code


def some_labels(kind: Kind, count: int, *, host: str = "", seed: int = 7) -> list[LabelData]:
    draw = Random(seed)
    labels = []
    for index in range(count):
        code = some_code(draw)
        labels.append(
            LabelData(
                kind=kind,
                code=code,
                qr_text=qr_text(code, host if index % 2 else ""),
                number=NUMBERS[index % len(NUMBERS)],
                variety=NAMES[index % len(NAMES)],
                year="2026",
                count=f"packed {20 + index}, 3 Nov 2026",
                method=("Vermiculite in vented bags", "Plastic wrap, bundles of 8")[index % 2],
                unit="tubers",
            )
        )
    return labels


def expected(labels: list[LabelData], stock: Stock, *, start_at: int = 1) -> list[Expected]:
    per_sheet = {"letter-30": 30, "letter-10": 10, "a4-21": 21, "roll-62": 1}[stock.key]
    return [
        Expected(
            page=(index + start_at - 1) // per_sheet,
            position=(index + start_at - 1) % per_sheet,
            code=show_code(label.code),
            qr_text=label.qr_text,
            box_mm=BOXES_MM[stock.key, label.kind],
        )
        for index, label in enumerate(labels)
    ]


# 30 mm on what hangs on a crate where the stock holds it, 20 mm otherwise.
BOXES_MM = {
    ("letter-30", "crate"): 20,
    ("letter-30", "lot"): 20,
    ("letter-30", "blank"): 20,
    ("letter-10", "crate"): 30,
    ("letter-10", "lot"): 20,
    ("letter-10", "blank"): 30,
    ("a4-21", "crate"): 30,
    ("a4-21", "lot"): 20,
    ("a4-21", "blank"): 30,
    ("roll-62", "crate"): 30,
    ("roll-62", "lot"): 20,
    ("roll-62", "blank"): 30,
}
