"""Paragraphs, lists and parts as the report has them, laid out in the window. Knows nothing of what they say."""

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.card import Card, Caution, Rule
from wizard.desktop.widgets.text import Text, quiet
from wizard.report.blocks import Block, Listing, Para, Part, Table


def widgets_of(block: Block) -> list[QWidget]:
    """The widgets of one block, in order; warnings of a part come before everything else in it."""
    if not isinstance(block, Part):
        return _plain(block)
    cautions = [b for b in block.blocks if isinstance(b, Para) and b.tone == "warning"]
    rest = [widget for b in block.blocks if b not in cautions for widget in _plain(b)]
    head: list[QWidget] = [Rule(), Text(block.title, theme.HEADING, bold=True)]
    return [*head, *([_warning(cautions)] if cautions else []), *rest]


def _warning(paras: Sequence[Para]) -> Card:
    """All cautions of a part in one sheet, under one label, before anything is to be done."""
    return Caution(paras[0].label, [para.text for para in paras])


def _plain(block: Para | Listing | Table | Part) -> list[QWidget]:
    if isinstance(block, Para):
        words = quiet(block.text) if block.tone == "quiet" else Text(block.text)
        return [Text(block.label, bold=True), words] if block.label else [words]
    if isinstance(block, Listing):
        return [_indented(item.text, item.depth) for item in block.items]
    if isinstance(block, Table):
        return [Text("; ".join(row.cells)) for row in block.rows]
    return widgets_of(block)


def _indented(text: str, depth: int) -> Text:
    line = Text(text)
    line.setContentsMargins(theme.px(0.8 * (depth + 1)), 0, 0, 0)
    return line
