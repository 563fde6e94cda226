"""What a label says, before anything is laid out."""

from dataclasses import dataclass

from tubertrack.apps.labels.printable import printable
from tubertrack.apps.labels.stock import Kind
from tubertrack.core.codes import is_valid_code, normalise_code, show_code


@dataclass(frozen=True)
class LabelData:
    """The words of one label. Only `code` and `qr_text` must not be empty.

    count is the slip's line, such as "packed 34, 3 Nov 2026": true for ever, unlike a live count.
    """

    kind: Kind
    code: str
    qr_text: str
    number: str = ""
    variety: str = ""
    year: str = ""
    count: str = ""
    method: str = ""
    unit: str = ""

    def __post_init__(self) -> None:
        if not is_valid_code(self.code):
            message = f"{printable(self.code, 40)!r} is not a code that may be printed."
            raise ValueError(message)
        if normalise_code(self.qr_text) != self.code:
            message = f"The QR text of {show_code(self.code)} does not lead to that code."
            raise ValueError(message)

    @property
    def details(self) -> str:
        """The lines under the variety: the slip, then year, unit and method."""
        return _lines(printable(self.count), _facts(*self._when_and_what(), self.method))

    @property
    def details_apart(self) -> str:
        """The same with the method on a line of its own, for a narrow label."""
        return _lines(printable(self.count), printable(self.method), _facts(*self._when_and_what()))

    def _when_and_what(self) -> tuple[str, str]:
        return self.year, self.unit if self.kind == "lot" else ""


def _facts(*facts: str) -> str:
    return " · ".join(fact for fact in map(printable, facts) if fact)


def _lines(*lines: str) -> str:
    return "\n".join(line for line in lines if line)
