"""The words of one label, made to fit the arrangement of its stock. Pure."""

from dataclasses import dataclass

from tubertrack.apps.labels.fitting import OTHER_FACE_SCALE, Fitted, fit, width_em
from tubertrack.apps.labels.label import LabelData
from tubertrack.apps.labels.layout import CODE_LEADING, POINTS_PER_MM, Form
from tubertrack.apps.labels.printable import printable

SIZES_PT = (
    54,
    46,
    40,
    36,
    32,
    28,
    24,
    22,
    20,
    18,
    16,
    15,
    14,
    13,
    12,
    11,
    10,
    9,
    8,
    7.5,
    7,
    6.5,
    6,
)
NAME_LEADING = 1.14
DETAIL_LEADING = 1.25
GAP_PT = 3.0
"""Between the variety and the details: the height of an empty line."""
CAPTION_PT = 7.0
CAPTION_LEADING = 1.2
NUMBER_CAPTION = "Crate"
_LONGEST_NUMBER = 40
_DETAILS_SHARES = (0.54, 0.5, 0.46)
"""Of the height under the code, at most; the variety gets the rest."""
_NUMBER_SHARE = 0.26
_SECOND_LINE_MM = 9.0
"""Free height from which there is a second pencil line."""


@dataclass(frozen=True)
class Words:
    """Lines and their sizes, from the top down.

    number stands in the form's own box, number_line among the text; one of them is empty.
    pencil_lines: how many lines to write on fit below.
    """

    number: Fitted
    number_line: Fitted
    name: Fitted
    details: Fitted
    pencil_lines: int


def words_of(label: LabelData, form: Form, *, bundled_face: bool) -> Words:
    """What the label says, in lines that stay inside the form's boxes."""
    scale = 1.0 if bundled_face else OTHER_FACE_SCALE
    number = printable(label.number, _LONGEST_NUMBER) if label.kind == "crate" else ""
    width_pt = form.text.width_mm * POINTS_PER_MM
    free_pt = form.text.height_mm * POINTS_PER_MM - form.code_pt * CODE_LEADING
    number_line = fit(
        "" if form.number else number,
        width_pt=width_pt - CAPTION_PT * scale * width_em(NUMBER_CAPTION + " "),
        height_pt=free_pt * _NUMBER_SHARE,
        sizes_pt=_sizes(form.code_pt * 1.2),
        leading=NAME_LEADING,
        scale=scale,
        most_lines=1,
    )
    free_pt -= _height_pt(number_line, NAME_LEADING)
    name, details = _name_and_details(label, form, free_pt, scale)
    free_pt -= _height_pt(name, NAME_LEADING) + _details_height_pt(details)
    return Words(
        number=_number_in_its_box(number, form, scale),
        number_line=number_line,
        name=name,
        details=details,
        pencil_lines=2 if free_pt / POINTS_PER_MM >= _SECOND_LINE_MM else 1,
    )


def _name_and_details(
    label: LabelData, form: Form, free_pt: float, scale: float
) -> tuple[Fitted, Fitted]:
    """Both in the height there is, the details giving way to a long name."""
    nothing = Fitted((), SIZES_PT[-1])
    if label.kind == "blank":
        return nothing, nothing
    width_pt = form.text.width_mm * POINTS_PER_MM
    name_pt = max(11.0, form.code_pt * 0.86)  # the code stays the largest: it is what is typed
    name, details = nothing, nothing
    for share in _DETAILS_SHARES:
        height_pt = free_pt * share
        sizes_pt = _sizes(max(8.0, name_pt * 0.62))
        tries = [
            fit(
                text,
                width_pt=width_pt,
                height_pt=height_pt,
                sizes_pt=sizes_pt,
                leading=DETAIL_LEADING,
                scale=scale,
            )
            for text in (label.details, label.details_apart)
        ]
        together, apart = tries
        no_worse = len(apart.lines) == len(together.lines) and apart.size_pt >= together.size_pt
        details = apart if no_worse and not apart.is_cut else together
        name = fit(
            printable(label.variety),
            width_pt=width_pt,
            height_pt=free_pt - _details_height_pt(details),
            sizes_pt=_sizes(name_pt),
            leading=NAME_LEADING,
            scale=scale,
        )
        if not name.is_cut and not details.is_cut:
            break
    return name, details


def _number_in_its_box(number: str, form: Form, scale: float) -> Fitted:
    if form.number is None:
        return Fitted((), SIZES_PT[0])
    caption_pt = CAPTION_PT * CAPTION_LEADING if form.captions_number else 0.0
    return fit(
        number,
        width_pt=form.number.width_mm * POINTS_PER_MM,
        height_pt=form.number.height_mm * POINTS_PER_MM - caption_pt,
        sizes_pt=SIZES_PT,
        leading=1.0,
        scale=scale,
        most_lines=1,
    )


def _sizes(largest_pt: float) -> tuple[float, ...]:
    return tuple(size for size in SIZES_PT if size <= largest_pt)


def _height_pt(fitted: Fitted, leading: float) -> float:
    return len(fitted.lines) * fitted.size_pt * leading


def _details_height_pt(details: Fitted) -> float:
    gap_pt = GAP_PT if details.lines else 0.0
    return _height_pt(details, DETAIL_LEADING) + gap_pt
