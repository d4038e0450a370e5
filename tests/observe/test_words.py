"""Texts from devices come out as one harmless line, numbers as numbers or not at all."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.observe.words import LONGEST, clean, number_in, text_of


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b"Keyboard\n", "Keyboard"),
        (b"Keyboard", "Keyboard"),
        (b"  two  words \n", "two  words"),
        (b"", ""),
        ("Maßstab µ\n".encode(), "Maßstab µ"),
        (b"\x1b[31mred\n", "[31mred"),
        (b"line\none\x00two", "line one two"),
        ("left\u202eright".encode(), "left right"),
        (b"\xff\xfe", "��"),
    ],
)
def test_text_is_one_line_without_anything_that_steers(raw, text):
    assert text_of(raw) == text


@given(st.text())
def test_any_text_comes_out_printable_and_short(text):
    cleaned = clean(text)
    assert len(cleaned) <= LONGEST
    assert cleaned == cleaned.strip()
    assert not any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") for c in cleaned)
    assert clean(cleaned) == cleaned


@given(st.binary())
def test_any_bytes_are_survived(raw):
    text_of(raw)
    number_in(raw)


@pytest.mark.parametrize(
    ("raw", "base", "number"),
    [
        (b" 0\n", 10, 0),
        (b"2000", 10, 2000),
        (b"-1000\n", 10, -1000),
        (b"09\n", 16, 9),
        (b"", 10, None),
        (b"none\n", 10, None),
        (b"1_000", 10, None),
        (b"9" * 5000, 10, None),
    ],
)
def test_a_number_is_read_only_where_there_is_nothing_else(raw, base, number):
    assert number_in(raw, base) == number
