"""A table of plain cells, each row with the state of a budget at its head. Lays out; knows no budgets."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QStyle, QTableView, QWidget

from wizard.budget.entry import State
from wizard.desktop import theme
from wizard.desktop.widgets.gauge import vessel
from wizard.desktop.widgets.text import BREAK_HERE, breakable
from wizard.report.clean import one_line

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()

ROW = 2.35
"""Height of a row in lines of text: room for two."""


@dataclass(frozen=True)
class Row:
    """One row: its cells, and the state drawn before a cell (by column)."""

    cells: tuple[str, ...]
    states: tuple[State | None, ...]


@dataclass(frozen=True)
class Head:
    """One column: its name and its least width in lines of text. A `shared` one takes what is left over with the
    others of its kind."""

    name: str
    lines: float
    shared: bool = False


class Rows(QAbstractTableModel):
    """The rows as Qt wants them."""

    def __init__(self, heads: Sequence[Head]) -> None:
        super().__init__()
        self.heads = tuple(heads)
        self.rows: tuple[Row, ...] = ()

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Other rows."""
        self.beginResetModel()
        self.rows = tuple(rows)
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """How many rows."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """How many columns."""
        return 0 if parent.isValid() else len(self.heads)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """A cell's text, or the picture of its state."""
        row = self.rows[index.row()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return _shown(row.cells[index.column()])
        state = row.states[index.column()]
        if role == Qt.ItemDataRole.DecorationRole and state is not None:
            return vessel(state, theme.px(1.15))
        if role == Qt.ItemDataRole.ForegroundRole and state is not None:
            return theme.colours().of_state(state)
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """The name of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self.heads[section].name
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return None


class Table(QTableView):
    """Rows as high as their text; where the columns need more width than there is, the table scrolls sideways.
    `row_chosen` gives the number of the row the user is on."""

    row_chosen = Signal(int)

    def __init__(self, heads: Sequence[Head], name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows = Rows(heads)
        self.setModel(self.rows)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setWordWrap(True)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.setIconSize(QSize(theme.px(1.15), theme.px(1.15)))
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(theme.px(ROW))
        self.verticalHeader().setMinimumSectionSize(theme.px(1.2))
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setMinimumSectionSize(theme.px(3))
        self.selectionModel().currentRowChanged.connect(self._on_row)
        self._least: tuple[int, ...] = tuple(theme.px(head.lines) for head in heads)

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Other rows; the first one is chosen."""
        self.rows.show_rows(rows)
        self._least = tuple(self._least_width(place) for place in range(len(self.rows.heads)))
        self._fit()
        if rows:
            self.selectRow(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the new width out."""
        super().resizeEvent(event)
        self._fit()

    def _least_width(self, place: int) -> int:
        """The width in pixels at which no cell of a column needs more than two lines. A shared column may need more,
        its names being as long as they please; it must hold the longest word."""
        head, metrics = self.rows.heads[place], self.fontMetrics()
        texts = {_shown(row.cells[place]) for row in self.rows.rows}
        if head.shared:
            words = {word for text in texts for word in text.replace(BREAK_HERE, " ").split(" ")}
            wide = max(map(metrics.horizontalAdvance, words), default=0) + 1
        else:
            wide = max((_in_two_lines(text, metrics) for text in texts), default=0)
        icon = any(row.states[place] is not None for row in self.rows.rows)
        return max(theme.px(head.lines), self.horizontalHeader().sectionSizeHint(place), wide + self._room(icon))

    def _room(self, icon: bool) -> int:
        """What a cell needs beside its text: Qt's own margins, and the picture."""
        margin = 2 * (self.style().pixelMetric(QStyle.PixelMetric.PM_FocusFrameHMargin, None, self) + 1)
        return margin + (self.iconSize().width() + margin if icon else 0)

    def _fit(self) -> None:
        heads = self.rows.heads
        spare = max(0, self.viewport().width() - sum(self._least))
        sharing = sum(head.shared for head in heads)
        for place, head in enumerate(heads):
            self.setColumnWidth(place, self._least[place] + (spare // sharing if head.shared else 0))
        measured: dict[tuple[str, int], int] = {}
        for number, row in enumerate(self.rows.rows):
            needed = max(self._height(row, place, measured) for place in range(len(heads)))
            if needed != self.rowHeight(number):
                self.setRowHeight(number, needed)

    def _height(self, row: Row, place: int, measured: dict[tuple[str, int], int]) -> int:
        """The height in pixels that a cell needs at the width of its column; each text is measured once."""
        width = self.columnWidth(place) - self._room(row.states[place] is not None)
        text = _shown(row.cells[place])
        height = measured.get((text, width))
        if height is None:
            box, metrics = QRect(0, 0, max(width, 1), 100_000), self.fontMetrics()
            one = metrics.horizontalAdvance(text) <= width
            lines = 0 if one else metrics.boundingRect(box, int(Qt.TextFlag.TextWordWrap), text).height()
            height = measured[text, width] = max(theme.px(ROW), lines + theme.px(0.35))
        return height

    def _on_row(self, now: QModelIndex, _before: QModelIndex) -> None:
        if now.isValid():
            self.row_chosen.emit(now.row())


def _shown(text: str) -> str:
    return breakable(one_line(text))


def _in_two_lines(text: str, metrics: QFontMetrics) -> int:
    """The least width in pixels at which a text stands in two lines, broken between words."""
    words = text.split(" ")
    breaks = ((" ".join(words[:i]), " ".join(words[i:])) for i in range(len(words)))
    return min(max(map(metrics.horizontalAdvance, halves)) for halves in breaks) + 1
