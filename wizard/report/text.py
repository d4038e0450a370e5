"""A report as plain text, for a file or a terminal of a given width. Every string is made harmless here."""

import textwrap
import unicodedata
from collections.abc import Iterator, Sequence

from wizard.report.blocks import Block, Item, Listing, Material, Para, Part, Section, Table, Tone
from wizard.report.clean import one_line

WIDTH = 100
"""Columns of a text file: common practice (no source)."""

_NARROWEST = 40
_GAP = "  "
_MARKS: dict[Tone, str] = {"warning": "! "}


def render_text(material: Material, width: int = WIDTH) -> str:
    """The whole report; lines end in a bare line feed."""
    head = [one_line(material.title), *_wrapped(material.subtitle, width)]
    chapters = [render_section(section, width) for section in material.sections]
    return "\n".join(["\n".join(head), "", *chapters])


def render_section(section: Section, width: int = WIDTH) -> str:
    """One chapter: its title underlined, then its blocks."""
    title = one_line(section.title)
    lines = [title, "=" * columns(title), *render_blocks(section.blocks, width)]
    return "\n".join(lines) + "\n"


def render_blocks(blocks: tuple[Block, ...], width: int = WIDTH) -> list[str]:
    """Blocks as lines."""
    lines: list[str] = []
    for block in blocks:
        if isinstance(block, Part):
            lines += ["", *_wrapped(block.title, width)]
            lines += [f"  {line}" for line in render_blocks(block.blocks, width - 2)]
        elif isinstance(block, Para):
            lines += _paragraph(block, width)
        elif isinstance(block, Listing):
            lines += [line for item in block.items for line in _item(item, width)]
        else:
            lines += _table(block, width)
    return lines


def numbered(options: Sequence[str], width: int = WIDTH) -> list[str]:
    """Options as lines, each with its number."""
    return [line for n, option in enumerate(options, 1) for line in _wrapped(option, width, f"{n:>3}  ", "     ")]


def columns(text: str) -> int:
    """Columns a terminal needs: wide characters take two, combining ones none (Unicode Standard Annex 11)."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in text
    )


def _wrapped(text: str, width: int, first: str = "", later: str = "") -> list[str]:
    return textwrap.wrap(
        one_line(text), max(width, _NARROWEST), initial_indent=first, subsequent_indent=later, break_on_hyphens=False
    ) or ([first.rstrip()] if first.strip() else [])


def _paragraph(para: Para, width: int) -> list[str]:
    label = f"{para.label}: " if para.label else ""
    return _wrapped(f"{label}{para.text}", width, _MARKS.get(para.tone, ""), "  " if para.label else "")


def _item(item: Item, width: int) -> list[str]:
    # Ever deeper lines would leave no room for words; a bus is at most seven tiers deep (USB 2.0 §4.1.1).
    indent = "  " * min(item.depth, 8)
    mark = _MARKS.get(item.tone, "- ")
    return _wrapped(item.text, max(width, len(indent) + _NARROWEST), f"{indent}{mark}", f"{indent}  ")


def _table(table: Table, width: int) -> list[str]:
    head, *rows = [tuple(one_line(cell) for cell in cells) for cells in (table.head, *(r.cells for r in table.rows))]
    widths = [max(columns(cells[i]) for cells in (head, *rows)) for i in range(len(head))]
    if sum(widths) + len(_GAP) * (len(widths) - 1) <= width:
        lines = [_aligned(head, widths), _aligned(tuple("-" * w for w in widths), widths)]
        return lines + [_aligned(cells, widths) for cells in rows]
    rests = [one_line(row.rest) for row in table.rows]
    return [line for cells, rest in zip(rows, rests, strict=True) for line in _stacked(head, cells, rest, width)]


def _aligned(cells: tuple[str, ...], widths: list[int]) -> str:
    padded = [cell + " " * (wide - columns(cell)) for cell, wide in zip(cells, widths, strict=True)]
    return _GAP.join(padded).rstrip()


def _stacked(head: tuple[str, ...], cells: tuple[str, ...], said: str, width: int) -> Iterator[str]:
    """A row that is too wide for one line: its first three cells as a heading, the others named below."""
    yield from _wrapped(" | ".join(cells[:3]), width, "- ", "  ")
    rest = said or "; ".join(f"{name.lower()} {cell}" for name, cell in zip(head[3:], cells[3:], strict=True))
    if rest:
        yield from _wrapped(rest, width, "    ", "    ")
