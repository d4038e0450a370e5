"""Beside the details: what is being tried and the way back; the planner's moves one by one. Decide nothing."""

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout

from wizard.desktop import theme
from wizard.desktop.widgets.strip_bars import plain_button
from wizard.desktop.widgets.strip_details import Inside
from wizard.desktop.widgets.text import Text, quiet

HIGH = 12.5
"""Height in lines of text."""


class SidePanel(QFrame):
    """A few lines of text, and buttons below them, on a sheet with the dashed edge of what is not real."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(name)
        self.head = Text("", bold=True)
        self.verdict = Text("", bold=True)
        self.words = Text("")
        self.note = quiet("")
        inside = Inside()
        told = QVBoxLayout(inside)
        told.setContentsMargins(0, 0, 0, 0)
        told.setSpacing(theme.px(0.15))
        for line in (self.head, self.verdict, self.note, self.words):  # the caution before what it is about
            told.addWidget(line)
        told.addStretch(1)
        self._scroll = QScrollArea()
        self._scroll.setWidget(inside)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.viewport().setAutoFillBackground(False)
        inside.setAutoFillBackground(False)
        self.row = QHBoxLayout()
        self.row.setSpacing(theme.px(0.3))
        column = QVBoxLayout(self)
        column.setContentsMargins(theme.px(0.6), theme.px(0.45), theme.px(0.4), theme.px(0.45))
        column.setSpacing(theme.px(0.25))
        column.addWidget(self._scroll, 1)
        column.addLayout(self.row)
        self.hide()

    def add(self, button: QPushButton) -> QPushButton:
        """One more button below the text."""
        self.row.addWidget(button)
        return button

    def say(self, head: str, verdict: str, words: str, note: str = "") -> None:
        """Show other text; the verdict is what counts, in one line."""
        for label, text in ((self.head, head), (self.verdict, verdict), (self.words, words), (self.note, note)):
            label.say(text)
            label.setVisible(bool(text))
        self._scroll.verticalScrollBar().setValue(0)
        self.show()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The sheet."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        painter.setBrush(QColor(colours.card))
        painter.setPen(not_real_pen())
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)


def not_real_pen() -> QPen:
    """The dashed line around everything that is only tried."""
    pen = QPen(QColor(theme.colours().accent), 2.0)
    pen.setDashPattern([4, 3])
    return pen


class TrialPanel(SidePanel):
    """What is being tried, what it would change, and the way back."""

    undo_wanted = Signal()
    reset_wanted = Signal()

    def __init__(self) -> None:
        super().__init__("")
        self.setAccessibleName(self.tr("What if"))
        self.undo = self.add(plain_button(self.tr("Undo")))
        self.reset = self.add(plain_button(self.tr("Put everything back")))
        self.undo.clicked.connect(self.undo_wanted)
        self.reset.clicked.connect(self.reset_wanted)

    def tell(self, head: str, verdict: str, words: str, moved: bool) -> None:
        """Tell it; without anything `moved` there is nothing to put back."""
        caution = self.tr("Only tried on the picture. For real, first eject drives and stop what moves or heats.")
        self.say(head, verdict, words, caution)
        self.undo.setVisible(moved)
        self.reset.setVisible(moved)


class StagePanel(SidePanel):
    """The planner's arrangement: which move is shown, and the way forward and back."""

    stepped = Signal(int)
    left = Signal()

    def __init__(self) -> None:
        super().__init__("")
        self.setAccessibleName(self.tr("The best arrangement, move by move"))
        self.back = self.add(plain_button(self.tr("One back")))
        self.forward = self.add(plain_button(self.tr("Next move")))
        self.leave = self.add(plain_button(self.tr("As it is now")))
        self.back.clicked.connect(lambda: self.stepped.emit(-1))
        self.forward.clicked.connect(lambda: self.stepped.emit(1))
        self.leave.clicked.connect(self.left)

    def tell(self, head: str, verdict: str, words: str, number: int, last: int) -> None:
        """Tell which of the moves is shown, 0 being the desk as it is."""
        self.say(head, verdict, words, self.tr("Only drawn here: for real, the cautions in the plan come first."))
        self.back.setEnabled(number > 0)
        self.forward.setEnabled(number < last)
        self.leave.setEnabled(number > 0)
