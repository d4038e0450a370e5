"""The PDF report: read back with a library we did not write, it says what the report says."""

import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from wizard.report.blocks import Item, Listing, Material, Para, Part, Row, Section, Table
from wizard.report.pdf import render_pdf
from wizard.store import resources


def words_of(*blocks: Para | Listing | Table | Part, title: str = "T", subtitle: str = "S") -> str:
    """All text of a report with these blocks, runs of white space as one space."""
    written = render_pdf(Material(title, subtitle, (Section("one", "Chapter", blocks),)), resources.fonts())
    pages = PdfReader(io.BytesIO(written), strict=True).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_every_block_of_a_report_is_in_it() -> None:
    text = words_of(
        Para("Unplug it first.", "Careful", "warning"),
        Listing((Item("a hub"), Item("a drive", 3, "quiet"))),
        Table(("State", "Where"), (Row(("OVERDRAWN", "socket 1-3"), "warning"),)),
        Part("Step 1", (Para("Plug it into another socket."),)),
        title="Portmend report",
        subtitle="Left out: names.",
    )
    for words in (
        "Portmend report",
        "Left out: names.",
        "Chapter",
        "Careful: Unplug it first.",
        "a hub",
        "a drive",
        "OVERDRAWN",
        "socket 1-3",
        "Step 1",
        "Plug it into another socket.",
    ):
        assert words in text


def test_a_caution_stands_before_what_it_warns_of() -> None:
    text = words_of(Part("Step 1", (Para("Eject the drive.", "Careful", "warning"), Para("Unplug it.", "Do"))))
    assert text.index("Careful: Eject the drive.") < text.index("Do: Unplug it.")


def test_letters_of_europe_and_signs_of_measure_are_kept() -> None:
    assert "Žluťoučký Ωμέγα Щука 125 µs ≥ 4 → ok" in words_of(Para("Žluťoučký Ωμέγα Щука 125 µs ≥ 4 → ok"))


def test_a_letter_that_the_font_lacks_is_written_as_its_code_point() -> None:
    # U+97F3 U+58F0 ("sound") are not among the letters of DejaVu Sans.
    assert "[U+97F3][U+58F0] 2" in words_of(Para("\u97f3\u58f0 2"))


def test_control_characters_are_written_out() -> None:
    assert "a\\x1b[2J\\u202e b" in words_of(Para("a\x1b[2J\u202e\nb"))


def test_markup_in_a_name_is_shown_as_it_is() -> None:
    assert "**bold** <b>x</b> [u](v)" in words_of(Para("**bold** <b>x</b> [u](v)"))


@pytest.mark.parametrize("columns", [1, 7, 12])
def test_a_table_of_unbreakable_words_stays_on_the_page(columns: int) -> None:
    cells = tuple("0123456789abcdef" * 6 for _ in range(columns))
    text = words_of(Table(cells, tuple(Row(cells) for _ in range(3))))
    assert text.replace(" ", "").count("0123456789abcdef") >= 4 * columns


def test_a_long_report_goes_on_over_many_pages_each_with_its_number() -> None:
    blocks = tuple(Para(f"Line {n}") for n in range(400))
    written = render_pdf(Material("T", "S", (Section("one", "Chapter", blocks),)), resources.fonts())
    pages = PdfReader(io.BytesIO(written)).pages
    assert len(pages) > 5
    assert [page.extract_text().strip().endswith(f"{n} / {len(pages)}") for n, page in enumerate(pages, 1)] == [
        True
    ] * len(pages)
    assert all(f"Line {n}" in " ".join(page.extract_text() for page in pages) for n in (0, 200, 399))


def test_the_chapters_are_in_the_outline() -> None:
    material = Material("T", "S", (Section("a", "The trouble", ()), Section("b", "What was found", ())))
    reader = PdfReader(io.BytesIO(render_pdf(material, resources.fonts())))
    assert [entry.title for entry in reader.outline] == ["The trouble", "What was found"]
    assert reader.metadata is not None
    assert reader.metadata.title == "T"


@settings(max_examples=25, deadline=None)
@given(st.text(max_size=40))
def test_no_text_breaks_it(text: str) -> None:
    row = Row((text, text), "quiet")
    blocks = (Para(text, text, "warning"), Listing((Item(text, 30),)), Table((text, text), (row,)), Part(text, ()))
    written = render_pdf(Material(text, text, (Section("one", text, blocks),)), resources.fonts())
    assert len(PdfReader(io.BytesIO(written)).pages) >= 1
