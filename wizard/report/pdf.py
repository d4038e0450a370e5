"""A report as a PDF to print or to attach. Needs no display; knows the blocks of a report and no Portmend.

The fonts are ours to bring, since a PDF's own ones hold Western Europe's letters only. What they lack
(Chinese, Japanese, Korean names, say) is written as code points, so that nothing is silently lost.
"""

from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from fpdf import FPDF
from fpdf.enums import TableBordersLayout, XPos, YPos
from fpdf.fonts import FontFace, TTFFont

from wizard.report.blocks import Block, Item, Listing, Material, Para, Part, Row, Section, Table, Tone
from wizard.report.clean import one_line

_FAMILY = "DejaVu"
_MARGIN = 18.0
"""Millimetres of white at every side."""
_BODY, _SMALL, _TITLE, _CHAPTER, _PART = 10.0, 8.0, 19.0, 14.0, 11.0
"""Sizes of type in points."""
_LEADING = 1.45
"""Height of a line by the size of its type."""
_POINT = 25.4 / 72
"""Millimetres in a point."""
_INDENT = 5.0
_DEEPEST = 8
_COLUMN_MOST, _COLUMN_GAP = 60.0, 3.0
"""Millimetres that a column of a table may ask for, and the white after it."""

_INK, _QUIET, _LINE = (29, 34, 40), (90, 99, 110), (205, 210, 216)
_TONES: dict[Tone, tuple[int, int, int]] = {
    "plain": _INK,
    "quiet": _QUIET,
    "good": (28, 85, 50),
    "warning": (122, 38, 0),
}
_WARNING_PAPER, _PAPER = (255, 241, 230), (255, 255, 255)


def render_pdf(material: Material, fonts: Path) -> bytes:
    """The whole report on A4; `fonts` is the folder with DejaVu Sans and its bold."""
    sheet = _Sheet(fonts, material)
    sheet.head(material.title, material.subtitle)
    for section in material.sections:
        sheet.chapter(section)
    return bytes(sheet.output())


class _Sheet(FPDF):
    """The paper: where the pen is, and what is drawn with it."""

    def __init__(self, fonts: Path, material: Material) -> None:
        super().__init__(format="A4")
        self.add_font(_FAMILY, "", fonts / "DejaVuSans.ttf")
        self.add_font(_FAMILY, "B", fonts / "DejaVuSans-Bold.ttf")
        self.set_margins(_MARGIN, _MARGIN)
        self.set_auto_page_break(True, _MARGIN)
        self.set_draw_color(*_LINE)
        self.set_font(_FAMILY, size=_BODY)
        self.set_title(self._text(material.title))
        self.set_creator("Portmend")
        self.set_creation_date(datetime.now(UTC))
        self.set_lang("en")
        self.add_page()

    def footer(self) -> None:
        """The number of the page; called at the end of each."""
        self.set_y(-_MARGIN + 6)
        self._pen("quiet", _SMALL)
        self.cell(0, 4, f"{self.page_no()} / {{nb}}", align="R")

    def head(self, title: str, below: str) -> None:
        """The head of the first page."""
        self._write(title, size=_TITLE, bold=True)
        self._write(below, "quiet")
        self.ln(3)

    def chapter(self, section: Section) -> None:
        """A chapter, listed in the reader's outline."""
        self._keep_room(30)
        self.ln(4)
        self._pen("plain", _CHAPTER, bold=True)
        self.start_section(self._text(section.title))
        self._write(section.title, size=_CHAPTER, bold=True)
        self.line(_MARGIN, self.get_y() + 0.5, self.w - _MARGIN, self.get_y() + 0.5)
        self.ln(2)
        self._blocks(section.blocks)

    def _blocks(self, blocks: tuple[Block, ...]) -> None:
        for block in blocks:
            if isinstance(block, Part):
                self._keep_room(24)
                self.ln(2)
                self._write(block.title, size=_PART, bold=True)
                self._blocks(block.blocks)
            elif isinstance(block, Para):
                self._paragraph(block)
            elif isinstance(block, Listing):
                for item in block.items:
                    self._item(item)
            else:
                self._table(block)

    def _paragraph(self, para: Para) -> None:
        words = f"{para.label}: {para.text}" if para.label else para.text
        if para.tone == "warning":
            self._keep_room(14)
            self.set_fill_color(*_WARNING_PAPER)
            self.set_draw_color(*_TONES["warning"])
            self._write(words, "warning", border="L", fill=True)
            self.set_draw_color(*_LINE)
        else:
            self._write(words, para.tone)
        self.ln(0.8)

    def _item(self, item: Item) -> None:
        indent = _INDENT * min(item.depth, _DEEPEST)
        self.set_x(_MARGIN + indent)
        self._pen(item.tone, _BODY)
        self.cell(_INDENT, self._line_height(), "!" if item.tone == "warning" else "–")
        self._write(item.text, item.tone)

    def _table(self, table: Table) -> None:
        self.ln(1)
        self._pen("plain", _SMALL)
        head = FontFace(emphasis="BOLD", color=_QUIET, fill_color=_PAPER)
        with self.table(
            borders_layout=TableBordersLayout.HORIZONTAL_LINES,
            col_widths=self._column_widths(table),
            headings_style=head,
            line_height=self._line_height(),
            text_align="LEFT",
            v_align="TOP",
            padding=(0.6, 1, 0.6, 0),
        ) as grid:
            grid.row([self._text(cell) for cell in table.head])
            for row in table.rows:
                grid.row([self._text(cell) for cell in row.cells], style=self._row_style(row))
        self.ln(2)

    @staticmethod
    def _row_style(row: Row) -> FontFace:
        paper = _WARNING_PAPER if row.tone == "warning" else _PAPER
        return FontFace(emphasis="", color=_TONES[row.tone], fill_color=paper)

    def _column_widths(self, table: Table) -> tuple[float, ...]:
        """Each column its longest word; what the page has left goes to those whose cells would wrap."""
        least, wished = [], []
        for column in range(len(table.head)):
            cells = [self._text(cells[column]) for cells in (table.head, *(row.cells for row in table.rows))]
            word = max(self.get_string_width(word) for cell in cells for word in cell.split() or [""])
            least.append(min(word, _COLUMN_MOST) + _COLUMN_GAP)
            wished.append(max(least[-1], min(max(map(self.get_string_width, cells)), _COLUMN_MOST) + _COLUMN_GAP))
        spare, wish = self.epw - sum(least), sum(wished) - sum(least)
        share = max(0.0, spare / wish) if wish else 0.0
        return tuple(low + share * (high - low) for low, high in zip(least, wished, strict=True))

    def _write(
        self,
        text: str,
        tone: Tone = "plain",
        size: float = _BODY,
        *,
        bold: bool = False,
        border: str = "",
        fill: bool = False,
    ) -> None:
        """A paragraph from where the pen is to the right margin; the pen goes below it."""
        self._pen(tone, size, bold=bold)
        self.multi_cell(
            0,
            self._line_height(),
            self._text(text),
            align="L",
            border=border or 0,
            fill=fill,
            new_x=XPos.LMARGIN,
            new_y=YPos.NEXT,
        )

    def _pen(self, tone: Tone, size: float, *, bold: bool = False) -> None:
        self.set_font(_FAMILY, "B" if bold else "", size)
        self.set_text_color(*_TONES[tone])

    def _line_height(self) -> float:
        return float(self.font_size_pt) * _POINT * _LEADING

    def _keep_room(self, millimetres: float) -> None:
        """Begin a new page rather than leave a heading alone at the foot of one."""
        if self.will_page_break(millimetres):
            self.add_page()

    def _text(self, text: str) -> str:
        line = one_line(text)
        return line if line.isascii() else "".join(map(partial(_drawn, self._letters()), line))

    def _letters(self) -> frozenset[int]:
        return frozenset(font.cmap) if isinstance(font := self.current_font, TTFFont) else frozenset()


def _drawn(letters: frozenset[int], char: str) -> str:
    """The letter, or its code point where the font has no such letter."""
    return char if ord(char) in letters else f"[U+{ord(char):04X}]"
