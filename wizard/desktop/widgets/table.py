"""A table of plain cells, each row with the state of a budget at its head. Lays out; knows no budgets."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from wizard.budget.entry import State
from wizard.desktop import theme
from wizard.desktop.widgets.gauge import vessel
from wizard.report.clean import one_line

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()


@dataclass(frozen=True)
class Row:
    """One row: its cells, and the state drawn before a cell (by column)."""

    cells: tuple[str, ...]
    states: tuple[State | None, ...]


@dataclass(frozen=True)
class Head:
    """One column: its name, its width in lines of text (0: shares what is left), and how soon it may be left out
    where the table is narrow (0: never)."""

    name: str
    lines: float = 0.0
    leave_below: float = 0.0


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
            return one_line(row.cells[index.column()])
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
    """Rows of two lines each; `row_chosen` gives the number of the row the user is on."""

    row_chosen = Signal(int)

    def __init__(self, heads: Sequence[Head], name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows = Rows(heads)
        self.setModel(self.rows)
        self.setAccessibleName(name)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setWordWrap(True)
        self.setIconSize(QSize(theme.px(1.15), theme.px(1.15)))
        self.verticalHeader().hide()
        self.verticalHeader().setDefaultSectionSize(theme.px(2.35))
        self.verticalHeader().setMinimumSectionSize(theme.px(1.2))
        self.horizontalHeader().setHighlightSections(False)
        self.horizontalHeader().setMinimumSectionSize(theme.px(3))
        for place, head in enumerate(heads):
            if head.lines:
                self.horizontalHeader().setSectionResizeMode(place, QHeaderView.ResizeMode.Interactive)
                self.setColumnWidth(place, theme.px(head.lines))
            else:
                self.horizontalHeader().setSectionResizeMode(place, QHeaderView.ResizeMode.Stretch)
        self.selectionModel().currentRowChanged.connect(self._on_row)

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Other rows; the first one is chosen."""
        self.rows.show_rows(rows)
        if rows:
            self.selectRow(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave out what can be missed where there is no room."""
        super().resizeEvent(event)
        for place, head in enumerate(self.rows.heads):
            self.setColumnHidden(place, self.viewport().width() < theme.px(head.leave_below))

    def _on_row(self, now: QModelIndex, _before: QModelIndex) -> None:
        if now.isValid():
            self.row_chosen.emit(now.row())
