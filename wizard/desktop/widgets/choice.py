"""A large button for a choice: a title, words below it, wrapped; with or without a tick box.

A real button to keyboards and screen readers; it only draws itself.
"""

from typing import Literal

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QStyle, QStyleOptionButton

from wizard.desktop import theme
from wizard.desktop.widgets.text import breakable, harmless

Mark = Literal["none", "tick", "pick"]
_WRAPPED = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignLeft)


class Choice(QAbstractButton):
    """One choice. `mark` gives it a tick box (any number) or a pick mark (one of several); `key` is a key that
    chooses it, shown at its side. `guarded` takes no second click of a double
    one: another page may stand there by then."""

    def __init__(self, text: str, words: str = "", mark: Mark = "none", key: str = "") -> None:
        super().__init__()
        self._title, self._words, self._mark, self._key = (
            breakable(harmless(text)),
            breakable(harmless(words)),
            mark,
            key,
        )
        self.guarded = mark == "none"
        self.setText(text)
        self.setAccessibleName(harmless(text))
        self.setAccessibleDescription(harmless(words))
        self.setCheckable(mark != "none")
        self.setAutoExclusive(False)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def setText(self, text: str) -> None:
        """The name of the choice; ampersands in it are just ampersands."""
        super().setText(text.replace("&", "&&"))

    def hasHeightForWidth(self) -> bool:
        """Wrapped text is higher where it is narrower."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Height in pixels for a width in pixels."""
        title, words = self._places(QRect(0, 0, width, 0))
        return (words.bottom() if self._words else title.bottom()) + 1 + self._pad()

    def sizeHint(self) -> QSize:
        """As wide as the text on one line, within reason."""
        needed = QFontMetrics(self._title_font()).horizontalAdvance(self._title) + self._indent() + 2 * self._pad()
        width = min(needed + self._key_room(), theme.px(24))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """Never so narrow that words break badly."""
        width = min(self.sizeHint().width(), theme.px(9))
        return QSize(width, theme.px(1) + 2 * self._pad())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Return chooses as the space bar does."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """The second half of a double click must not answer the question that came after the first half."""
        if self.guarded:
            event.accept()
        else:
            super().mouseDoubleClickEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Sheet, mark, text, focus."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_sheet(painter)
        title, words = self._places(self.rect())
        group = QPalette.ColorGroup.Normal if self.isEnabled() else QPalette.ColorGroup.Disabled
        painter.setPen(self.palette().color(group, QPalette.ColorRole.ButtonText))
        painter.setFont(self._title_font())
        painter.drawText(title, _WRAPPED, self._title)
        painter.setPen(self.palette().color(group, QPalette.ColorRole.PlaceholderText))
        painter.setFont(self.font())
        if self._words:
            painter.drawText(words, _WRAPPED, self._words)
        if self._key:
            side = QRect(self.width() - self._pad() - self._key_room(), title.top(), self._key_room(), title.height())
            painter.setFont(theme.sized(self.font(), theme.SMALL))
            painter.drawText(side, int(Qt.AlignmentFlag.AlignRight), self._key)
        if self._mark != "none":
            self._paint_mark(painter, title)

    def _paint_sheet(self, painter: QPainter) -> None:
        colours = theme.colours()
        ground = QColor(self.palette().color(QPalette.ColorRole.Base))
        accent = QColor(colours.accent)
        chosen = self.isChecked()
        if (self.underMouse() or self.isDown() or chosen) and self.isEnabled():
            tint = 0.16 if self.isDown() else 0.10 if chosen else 0.05
            ground = theme.mixed(ground, accent, tint)
        edge = accent if chosen and self.isEnabled() else QColor(colours.line)
        painter.setBrush(ground)
        painter.setPen(QPen(edge, 2 if chosen else 1))
        painter.drawRoundedRect(self.rect().adjusted(1, 1, -2, -2), 4, 4)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(colours.quiet), 1, Qt.PenStyle.DotLine))
            painter.drawRoundedRect(self.rect().adjusted(4, 4, -5, -5), 2, 2)

    def _paint_mark(self, painter: QPainter, title: QRect) -> None:
        option = QStyleOptionButton()
        option.initFrom(self)
        side = self._mark_side()
        line = QFontMetrics(self._title_font()).height()
        option.rect = QRect(self._pad(), title.top() + (line - side) // 2, side, side)
        option.state |= QStyle.StateFlag.State_On if self.isChecked() else QStyle.StateFlag.State_Off
        kind = (
            QStyle.PrimitiveElement.PE_IndicatorCheckBox
            if self._mark == "tick"
            else QStyle.PrimitiveElement.PE_IndicatorRadioButton
        )
        self.style().drawPrimitive(kind, option, painter, self)

    def _places(self, area: QRect) -> tuple[QRect, QRect]:
        pad = self._pad()
        left = area.left() + pad + self._indent()
        width = max(area.width() - left - pad - self._key_room(), theme.px(2))
        title = _wrapped(self._title_font(), self._title, left, area.top() + pad, width)
        words = _wrapped(self.font(), self._words, left, title.bottom() + theme.px(0.2), width)
        return title, words

    def _title_font(self) -> QFont:
        return theme.sized(self.font(), 1.0, bold=bool(self._words))

    def _pad(self) -> int:
        return theme.px(0.55)

    def _mark_side(self) -> int:
        return self.style().pixelMetric(QStyle.PixelMetric.PM_IndicatorWidth, None, self)

    def _indent(self) -> int:
        return 0 if self._mark == "none" else self._mark_side() + theme.px(0.5)

    def _key_room(self) -> int:
        return theme.px(1.4) if self._key else 0


def _wrapped(font: QFont, text: str, left: int, top: int, width: int) -> QRect:
    height = QFontMetrics(font).boundingRect(QRect(0, 0, width, 100_000), _WRAPPED, text).height()
    return QRect(left, top, width, height)
