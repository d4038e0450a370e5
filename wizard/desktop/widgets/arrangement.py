"""The card 'Which plug goes where': the search for the best arrangement, and what it found. Lays out; plans nothing."""

from collections.abc import Iterable

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.blocks import widgets_of
from wizard.desktop.widgets.card import Card, clear
from wizard.desktop.widgets.share import Progress
from wizard.desktop.widgets.text import Text
from wizard.report.blocks import Block

PATIENCE_MS = 250
"""How long the search may take before the card shows that it goes on. Mostly it is over by then."""


class ArrangementCard(Card):
    """Hidden until there is something to say."""

    stop_wanted = Signal()
    start_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        name = self.tr("Which plug goes where")
        self.setAccessibleName(name)
        self.column.addWidget(Text(name, theme.HEADING, bold=True))
        self._busy = self._build_row()
        self._told = QVBoxLayout()
        self._told.setSpacing(theme.px(0.35))
        self.column.addWidget(self._busy)
        self.column.addLayout(self._told)
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(PATIENCE_MS)
        self._patience.timeout.connect(self._show_busy)
        self.hide()

    def _build_row(self) -> QWidget:
        panel = QWidget()
        row = QHBoxLayout(panel)
        row.setContentsMargins(0, 0, 0, 0)
        self._words = Text("")
        self._words.setWordWrap(False)
        self._words.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self._progress = Progress(self.tr("The best arrangement is being looked for"))
        self.stop = QPushButton(self.tr("Cancel"))
        self.start = QPushButton(self.tr("Look for it"))
        self.start.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.stop.clicked.connect(self.stop_wanted)
        self.start.clicked.connect(self.start_wanted)
        row.addWidget(self._words)
        row.addWidget(self._progress, 1)
        row.addWidget(self.stop)
        row.addWidget(self.start)
        return panel

    def show_looking(self, looking: bool) -> None:
        """The search began, or ended. A short one is not shown at all."""
        if looking:
            self._patience.start()
        else:
            self._patience.stop()
            if not self._busy.isHidden():
                self.hide()

    def _show_busy(self) -> None:
        clear(self._told)
        self._words.say(self.tr("Looking for the best arrangement…"))
        self._show_row(busy=True)
        self.show()

    def show_stopped(self) -> None:
        """The user called it off."""
        clear(self._told)
        self._words.say(self.tr("The search for the best arrangement was cancelled."))
        self._show_row(busy=False)
        self.show()

    def _show_row(self, busy: bool) -> None:
        self._busy.show()
        self._progress.setVisible(busy)
        self.stop.setVisible(busy)
        self.start.setVisible(not busy)

    def show_nothing(self) -> None:
        """Nothing to say."""
        clear(self._told)
        self.hide()

    def show_blocks(self, blocks: Iterable[Block]) -> None:
        """What was found, in the words of the report."""
        clear(self._told)
        self._busy.hide()
        for block in blocks:
            for part in widgets_of(block):
                self._told.addWidget(part)
        self.show()
