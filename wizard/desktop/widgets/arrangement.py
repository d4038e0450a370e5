"""The card 'Which plug goes where': the search for the best arrangement, and what it found. Lays out; plans nothing."""

from collections.abc import Iterable, Sequence

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.card import Card, Caution, Rule, clear
from wizard.desktop.widgets.share import Progress
from wizard.desktop.widgets.text import Text, quiet
from wizard.report.blocks import Block, Listing, Para, Part, Table

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
            for part in _parts(block):
                self._told.addWidget(part)
        self.show()


def _parts(block: Block) -> list[QWidget]:
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
    return _parts(block)


def _indented(text: str, depth: int) -> Text:
    line = Text(text)
    line.setContentsMargins(theme.px(0.8 * (depth + 1)), 0, 0, 0)
    return line
