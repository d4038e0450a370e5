"""A sheet that holds things together, and the scrolled column that pages are made of. Both know no content."""

from collections.abc import Callable, Iterable, Iterator

from PySide6.QtCore import QElapsedTimer, QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLayout, QScrollArea, QToolButton, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.icons import Icon
from wizard.desktop.widgets.text import Text

WIDEST = 62.0
"""Width of a column in lines of text: about 110 letters (common practice, no source)."""

SLICE_MS = 15
"""How long a column is filled before the window gets its turn: a frame of a common screen."""


class Rule(QWidget):
    """A thin line from side to side."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedHeight(1)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The line."""
        QPainter(self).fillRect(self.rect(), QColor(theme.colours().line))


class Card(QFrame):
    """A sheet with a thin border. `warning` gives it the ground and the thick edge of a caution."""

    def __init__(self, warning: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._warning = warning
        self.column = QVBoxLayout(self)
        pad = theme.px(0.6)
        self.column.setContentsMargins(pad + (theme.px(0.5) if warning else 0), pad, pad, pad)
        self.column.setSpacing(theme.px(0.35))

    def paintEvent(self, event: QPaintEvent) -> None:
        """The sheet itself."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        ground = QColor(colours.caution) if self._warning else self.palette().color(QPalette.ColorRole.Base)
        painter.setBrush(ground)
        painter.setPen(QPen(QColor(colours.tight if self._warning else colours.line), 1))
        painter.drawRoundedRect(box, 4, 4)
        if self._warning:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(colours.tight))
            painter.drawRect(QRectF(1, 4, theme.px(0.3), self.height() - 8))


class Caution(Card):
    """A warning that stands before an action: the sign of ISO 7010 W001 in our own hand, a title, its sentences.
    `briefs` are warnings in short, each with its full text, for those that were told in full before."""

    def __init__(self, title: str, sentences: Iterable[str], briefs: Iterable[tuple[str, str]] = ()) -> None:
        super().__init__(warning=True)
        self.setAccessibleName(title)
        head = QHBoxLayout()
        head.setSpacing(theme.px(0.5))
        head.addWidget(Icon("caution", "tight", 1.7), 0, Qt.AlignmentFlag.AlignTop)
        words = QVBoxLayout()
        words.setSpacing(theme.px(theme.TIGHT_GAP))
        words.addWidget(Text(title, bold=True))
        for sentence in sentences:
            words.addWidget(Text(sentence))
        for short, full in briefs:
            words.addWidget(_Brief(short, full))
        head.addLayout(words, 1)
        self.column.addLayout(head)


class _Brief(QWidget):
    """A warning in short that opens to its full text."""

    def __init__(self, short: str, full: str) -> None:
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.px(0.5))
        self._words = Text(short)
        self._both = (short, full)
        button = QToolButton()
        button.setText(self.tr("In full"))
        button.setFont(theme.sized(button.font(), theme.SMALL))
        button.setAutoRaise(True)
        button.setCheckable(True)
        button.setCursor(Qt.CursorShape.PointingHandCursor)
        button.setAccessibleName(self.tr("In full: %1").replace("%1", short))
        button.toggled.connect(lambda on: self._words.say(self._both[on]))
        row.addWidget(self._words, 1)
        row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)


class _Inside(QWidget):
    """The inside of a column: as high as its wrapped text needs at the width it has, and no higher."""

    def minimumSizeHint(self) -> QSize:
        """Without the height, which Qt would take for the narrowest width."""
        return QSize(super().minimumSizeHint().width(), 1)


class Column(QScrollArea):
    """Things below one another, scrolled when they don't fit; no wider than is good to read, unless `wide`."""

    def __init__(self, wide: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self._inside = _Inside()
        if not wide:
            self._inside.setMaximumWidth(theme.px(WIDEST))
        whole = QVBoxLayout(self._inside)
        whole.setContentsMargins(0, 0, theme.px(0.5), theme.px(0.5))
        whole.setSpacing(theme.px(0.6))
        self.column = QVBoxLayout()
        self.column.setSpacing(theme.px(0.6))
        whole.addLayout(self.column)
        self.setWidget(self._inside)
        self._makers: Iterator[Callable[[], QWidget]] = iter(())
        self._place = 0
        self._slices = QTimer(self)
        self._slices.setSingleShot(True)
        self._slices.setInterval(0)
        self._slices.timeout.connect(self._make_slice)

    def keep_on_top(self, part: QWidget) -> None:
        """Put something in above what is filled in; it stays when that changes."""
        whole = self._inside.layout()
        assert isinstance(whole, QVBoxLayout)
        whole.insertWidget(0, part)

    def fill_in_slices(self, makers: Iterable[Callable[[], QWidget]], place: int = 0) -> None:
        """Put other things in, a few at a time so that the window stays awake; then scroll to a place in pixels."""
        self.fill()
        self._makers = iter(tuple(makers))
        self._place = place
        self.setUpdatesEnabled(place == 0)
        self._make_slice()

    def _make_slice(self) -> None:
        clock = QElapsedTimer()
        clock.start()
        while clock.elapsed() < SLICE_MS:
            make = next(self._makers, None)
            if make is None:
                self._inside.adjustSize()
                self.verticalScrollBar().setValue(self._place)
                self.setUpdatesEnabled(True)
                return
            self.column.insertWidget(self.column.count() - 1, make())
        self._slices.start()

    def fill(self, *parts: QWidget | QLayout) -> None:
        """Put other things in; the old ones go."""
        self._slices.stop()
        self.setUpdatesEnabled(True)
        clear(self.column)
        for part in parts:
            if isinstance(part, QLayout):
                self.column.addLayout(part)
            else:
                self.column.addWidget(part)
        self.column.addStretch(1)


def clear(layout: QLayout) -> None:
    """Take everything out of a layout and let it go."""
    while (item := layout.takeAt(0)) is not None:
        inner, widget = item.layout(), item.widget()
        if widget is not None:
            widget.hide()
            widget.setParent(None)
            widget.deleteLater()
        elif inner is not None:
            clear(inner)
            inner.deleteLater()
