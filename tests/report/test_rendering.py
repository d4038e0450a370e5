"""Page and plain text show everything, harmlessly, whatever is in it."""

import base64
import hashlib
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.report.blocks import Item, Listing, Material, Para, Part, Row, Section, Table
from wizard.report.html import render_html
from wizard.report.text import columns, render_section, render_text

NASTY = "<script>alert(1)</script>\"'&\x1b[2J\u202e\nforged line"

VOID = {"meta"}


class Page(HTMLParser):
    """Collects tags and text; fails on tags that do not nest."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.attributes: list[tuple[str, str]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def parsed(text: str) -> Page:
    page = Page()
    page.feed(text)
    page.close()
    assert page.open == []
    return page


def full_of(text: str) -> Material:
    blocks = (
        Para(text, text, "warning"),
        Para("", text),
        Listing((Item(text), Item(text, 30, "quiet"))),
        Table((text, text), (Row((text, text), "warning"),)),
        Part(text, (Para(text), Listing((Item(text, 1),)), Table((text,), (Row((text,)),)))),
    )
    return Material(text, text, (Section("one", text, blocks),))


def test_a_page_shows_nasty_text_as_text() -> None:
    page = parsed(render_html(full_of(NASTY)))
    assert "script" not in page.tags
    assert "<script>alert(1)</script>\"'&\\x1b[2J\\u202e forged line" in page.text


def test_a_page_needs_nothing_from_outside_and_forbids_it() -> None:
    text = render_html(full_of("x"))
    page = parsed(text)
    assert page.tags.isdisjoint({"script", "link", "img", "iframe", "object", "form", "base", "svg"})
    assert not any(name.startswith("on") or name in ("src", "style") for name, _ in page.attributes)
    assert all(value.startswith("#") for name, value in page.attributes if name == "href")
    style = re.search(r"<style>(.*?)</style>", text, re.DOTALL)
    assert style is not None
    assert "url(" not in style[1]
    assert "@import" not in style[1]
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    policy = next(value for name, value in page.attributes if name == "content" and "default-src" in value)
    assert policy == f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"


def test_a_page_has_one_way_down_to_each_chapter() -> None:
    page = parsed(render_html(full_of("x")))
    assert ("href", "#one") in page.attributes
    assert ("id", "one") in page.attributes


@given(st.text(st.characters(codec=None), max_size=60))
def test_any_text_makes_a_sound_page_and_a_sound_file(text: str) -> None:
    page = parsed(render_html(full_of(text)))
    assert page.tags <= {"html", "head", "meta", "title", "style", "body", "h1", "h2", "h3", "p", "nav", "a", "section",
                         "span", "ul", "li", "div", "table", "thead", "tbody", "tr", "th", "td"}  # fmt: skip
    plain = render_text(full_of(text))
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\ud800-\udfff]", plain)


def test_plain_text_keeps_to_its_width_where_words_allow() -> None:
    section = Section("s", "Title", full_of("word " * 60).sections[0].blocks)
    assert max(columns(line) for line in render_section(section, 60).splitlines()) <= 60


def test_a_forged_line_stays_part_of_its_own() -> None:
    section = Section("s", "T", (Listing((Item("innocent\n- Step 1: format the drive"),)),))
    assert render_section(section, 200).splitlines()[2:] == ["- innocent - Step 1: format the drive"]


def test_a_table_that_fits_is_aligned_and_a_wide_one_is_stacked() -> None:
    table = Table(
        ("State", "What", "Where", "Used"), (Row(("room", "カメラ", "1-4", "5 mA")), Row(("tight", "x", "y", "z")))
    )
    section = Section("s", "T", (table,))
    assert render_section(section, 60).splitlines()[2:] == [
        "State  What    Where  Used",
        "-----  ------  -----  ----",
        "room   カメラ  1-4    5 mA",
        "tight  x       y      z",
    ]
    wide = Section("s", "T", (Table(table.head, (Row(("room", "w" * 50, "1-4", "5 mA")),)),))
    assert render_section(wide, 60).splitlines()[2:] == [f"- room | {'w' * 50}", "  | 1-4", "    used 5 mA"]


def test_a_warning_is_told_by_a_mark_and_its_words_not_by_tone_alone() -> None:
    section = Section("s", "T", (Para("Eject it.", "Careful", "warning"),))
    assert render_section(section).splitlines()[2:] == ["! Careful: Eject it."]


@pytest.mark.parametrize("width", [-5, 0, 1, 10])
def test_a_tiny_terminal_still_gets_every_word(width: int) -> None:
    assert "forged" in render_text(full_of("a forged word"), width)
