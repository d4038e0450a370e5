"""Labels for the sockets: what belongs where, so that what was put right stays right, to look at and to print."""

from pathlib import Path

from PySide6.QtCore import QRectF, QSize, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QFileDialog, QGridLayout, QSizePolicy, QWidget

from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.printing import LabelWords, draw_label
from wizard.desktop.session import Session
from wizard.desktop.widgets.card import Column
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.report.blocks import Para, Section, Table

ACROSS = 3


class LabelsPage(Page):
    """`wanted` asks for the labels of the case, `save_wanted` to write them to a path."""

    wanted = Signal()
    save_wanted = Signal(str)

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(flow.engine.texts.get("arrange.label.title") or self.tr("Labels for the sockets"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self.labels: tuple[LabelWords, ...] = ()
        self._desk: tuple[int, int] | None = None
        self._column = Column(wide=True)
        self.body.addWidget(self._column, 1)
        self._saved = quiet("")
        self.body.addWidget(self._saved)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Ask for the labels if something else is plugged in than at the last time."""
        if (session.desk, session.line) != self._desk:
            self._desk = (session.desk, session.line)
            self.labels = ()
            self._saved.say("")
            self._column.fill(Text(self.tr("One moment…"), quiet=True))
            self.wanted.emit()

    def show_labels(self, section: Section | None) -> None:
        """The labels there are."""
        tables = [b for b in section.blocks if isinstance(b, Table)] if section is not None else []
        words = [b.text for b in section.blocks if isinstance(b, Para)] if section is not None else []
        self.labels = tuple((row.cells[0], row.cells[1]) for table in tables for row in table.rows)
        self.words.say(" ".join(words) or self.tr("There is no socket to label."))
        if not self.labels:
            self._column.fill(heading(self.tr("No socket is known here")))
        else:
            holder = QWidget()
            grid = QGridLayout(holder)
            grid.setContentsMargins(0, 0, 0, 0)
            grid.setSpacing(theme.px(theme.TIGHT_GAP))
            for number, label in enumerate(self.labels):
                grid.addWidget(_Label(label), number // ACROSS, number % ACROSS)
            self._column.fill(holder)
        self.acted.emit()

    def show_saved(self, path: Path) -> None:
        """Say where they were saved."""
        self._saved.say(self.tr("Saved as %1. Print it at its own size.").replace("%1", str(path)))

    def show_failed(self, words: str) -> None:
        """Say why not."""
        self._saved.say(words)

    def primary(self, session: Session, flow: Flow) -> Action:
        """Onto paper."""
        return Action(self.tr("&Save them as a PDF to print…"), bool(self.labels))

    def press_primary(self) -> None:
        """Choose where."""
        dialog = QFileDialog(self, self.tr("Save the labels"))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("pdf")
        dialog.setNameFilter("PDF (*.pdf)")
        dialog.selectFile("portmend-labels.pdf")
        dialog.fileSelected.connect(self.save_wanted)
        dialog.open()


class _Label(QWidget):
    """One label as it will be on paper: black on white in any light."""

    def __init__(self, words: LabelWords) -> None:
        super().__init__()
        self._words = words
        self.setAccessibleName(": ".join(words))
        self.setToolTip(": ".join(words))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(theme.px(12), theme.px(4))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), "white")
        draw_label(painter, QRectF(self.rect()).adjusted(1, 1, -1, -1), self._words)
