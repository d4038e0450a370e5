"""Foreign text can neither steer a terminal nor forge a line, and honest text is left alone."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.report.clean import one_line, shortened


@pytest.mark.parametrize(
    "text", ["Fader bank 1", "Überwurf-Kabel", "カメラ", "علی\u200cرضا", "👩\u200d🔧", "µs – “quoted”", ""]
)
def test_honest_text_stays(text: str) -> None:
    assert one_line(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[2Jgone", "\\x1b[2Jgone"),
        ("a\r\nb\tc", "a  b c"),
        ("\u202egnp.exe", "\\u202egnp.exe"),
        ("a\u2028b", "a\\u2028b"),
        ("\x9b31m", "\\x9b31m"),
        ("\u200bx", "\\u200bx"),
        ("\ud800", "\\ud800"),
        ("\x00\x07\x7f", "\\x00\\x07\\x7f"),
    ],
)
def test_what_steers_is_written_out(text: str, shown: str) -> None:
    assert one_line(text) == shown


@given(st.text(st.characters(codec=None)))
def test_no_control_character_ever_comes_through(text: str) -> None:
    shown = one_line(text)
    assert not any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") for c in shown)
    shown.encode("utf-8")


def test_long_text_is_cut_visibly() -> None:
    assert shortened("x" * 301) == "x" * 299 + "…"
    assert shortened("x" * 300) == "x" * 300
