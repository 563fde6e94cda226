"""The check character against python-stdnum, and what it catches, counted exactly."""

from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36  # type: ignore[import-untyped]

from tubertrack.core.codes import ALPHABET, check_character, has_valid_check, is_valid_code
from tubertrack.core.codes.check_character import SYMBOLS

texts = st.text(alphabet=SYMBOLS, max_size=30)


@given(text=texts)
def test_check_character_is_that_of_an_independent_implementation(text: str) -> None:
    """Referee: python-stdnum, stdnum.iso7064.mod_37_36."""
    assert mod_37_36.calc_check_digit(text) == check_character(text)


@given(text=texts.filter(bool))
def test_validity_is_that_of_an_independent_implementation(text: str) -> None:
    assert mod_37_36.is_valid(text) == has_valid_check(text)


def test_a_printed_identifier_of_the_trade_in_recordings() -> None:
    """The example of the GRid standard (an identifier that uses ISO 7064 MOD 37,36)."""
    assert has_valid_check("A12425GABC1234002M")


@pytest.mark.parametrize("text", ["a", "4K7Q-M2X", "\u0131", " "])
def test_other_characters_are_refused_by_name(text: str) -> None:
    assert not has_valid_check(text + "1")
    with pytest.raises(ValueError, match="is not one of 0-9 A-Z"):
        check_character(text)


def codes() -> st.SearchStrategy[str]:
    beginnings = st.text(alphabet=ALPHABET, min_size=7, max_size=7)
    return beginnings.map(lambda text: text + check_character(text)).filter(is_valid_code)


@given(code=codes(), place=st.integers(0, 7))
def test_every_single_wrong_character_is_caught(code: str, place: int) -> None:
    for other in SYMBOLS:
        if other != code[place]:
            assert not has_valid_check(code[:place] + other + code[place + 1 :])


def test_no_single_wrong_character_can_pass_at_all() -> None:
    """The same for every code there is: each step of the recursion is one to one, so two texts that
    differ in one place stay apart to the end. Checked for each of the 36 x 36 steps.
    """
    for carry in range(1, 37):
        assert len({_step(carry, value) for value in range(36)}) == 36
    for value in range(36):
        assert len({_step(carry, value) for carry in range(1, 37)}) == 36


def test_share_of_swapped_neighbours_that_is_caught_is_exactly_this() -> None:
    """Counted over every code that can be on a label and every pair of unlike neighbours in it.

    Swapping is not always caught by MOD 37,36. The count is exact (no sample): codes are counted by
    what the recursion carries, from the left and from the right of the pair.
    """
    swaps, missed = _swaps_and_missed()

    assert (207_112_867_055, 293_811_652) == (swaps, missed)  # 99.858 % are caught


def test_the_count_of_swaps_agrees_with_a_sample() -> None:
    """The exact count, against codes drawn at random (fixed seed) and swapped one by one."""
    draw = Random(37)
    swapped = missed = 0
    for _ in range(40_000):
        beginning = "".join(draw.choice(ALPHABET) for _ in range(7))
        code = beginning + check_character(beginning)
        for place in range(7 if is_valid_code(code) else 0):
            if code[place] != code[place + 1]:
                other = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
                swapped += 1
                missed += is_valid_code(other)

    expected = swapped * 293_811_652 / 207_112_867_055
    assert abs(missed - expected) < 4 * expected**0.5  # about 340: four standard deviations


def _step(carry: int, value: int) -> int:
    return 2 * ((carry + value) % 36 or 36) % 37


def _swaps_and_missed() -> tuple[int, int]:
    values = [SYMBOLS.index(character) for character in ALPHABET]
    before = [Counter({36: 1})]  # before[n][carry]: beginnings of n characters
    for _ in range(7):
        grown: Counter[int] = Counter()
        for carry, ways in before[-1].items():
            for value in values:
                grown[_step(carry, value)] += ways
        before.append(grown)
    # after[n][carry]: endings of n characters, the last of them a check character of our alphabet.
    after = [Counter(), Counter({c: 1 for c in range(1, 37) if (1 - c) % 36 in values})]
    for _ in range(7):
        after.append(
            Counter({c: sum(after[-1][_step(c, value)] for value in values) for c in range(1, 37)})
        )
    swaps = missed = 0
    for place in range(6):  # the pair at place, place + 1, neither of them the check character
        for carry, ways in before[place].items():
            for one in values:
                for other in values:
                    if one == other:
                        continue
                    right = _step(_step(carry, one), other)
                    swapped = _step(_step(carry, other), one)
                    swaps += ways * after[6 - place][right]
                    missed += ways * after[6 - place][right] * (right == swapped)
    for carry, ways in before[6].items():  # the last character and its check character
        for one in values:
            check = (1 - _step(carry, one)) % 36
            if check not in values or check == one:
                continue
            swaps += ways
            missed += ways * ((1 - _step(carry, check)) % 36 == one)
    return swaps, missed
