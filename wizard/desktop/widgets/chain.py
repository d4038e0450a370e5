"""The way from the bus to the files of a drive as the links of a chain: whole, broken, or not known.

Draws and lays out; judges nothing.
"""

from PySide6.QtCore import QCoreApplication, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from wizard.bus.drive import DriveDocument, DriveLink, LinkState
from wizard.desktop import theme
from wizard.desktop.widgets.text import Text, quiet


class Chain(QWidget):
    """All links of a drive below one another."""

    def __init__(self, found: DriveDocument) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        names = _names()
        states = _states()
        for place, link in enumerate(found.links):
            row = QHBoxLayout()
            row.setSpacing(theme.px(0.6))
            row.addWidget(_Link(link.state, place == 0, place == len(found.links) - 1))
            words = QVBoxLayout()
            words.setSpacing(0)
            words.setContentsMargins(0, theme.px(0.35), 0, theme.px(0.35))
            name = names.get(link.link, link.link.replace("_", " "))
            words.addWidget(Text(f"{name}: {states[link.state]}", bold=True))
            words.addWidget(Text(link.found))
            if link.follows and link.state != "ok":
                words.addWidget(Text(link.follows))
            if link.signs:
                words.addWidget(quiet(_in_the_log(link)))
            row.addLayout(words, 1)
            column.addLayout(row)


class _Link(QWidget):
    """One link: closed where it holds, torn where it fails, dashed where nobody knows."""

    def __init__(self, state: LinkState, first: bool, last: bool) -> None:
        super().__init__()
        self._state, self._first, self._last = state, first, last
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        """As wide as a link."""
        return QSize(theme.px(1.6), theme.px(2.6))

    def paintEvent(self, event: QPaintEvent) -> None:
        """The link, and the rods to its neighbours."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        colour = QColor({"ok": colours.room, "fails": colours.over}.get(self._state, colours.unknown))
        x, top = self.width() / 2, theme.px(0.45)
        ring = QRectF(x - theme.px(0.45), top, theme.px(0.9), theme.px(1.35))
        painter.setPen(QPen(QColor(colours.line), 3))
        if not self._first:
            painter.drawLine(QPointF(x, 0), QPointF(x, top))
        if not self._last:
            painter.drawLine(QPointF(x, ring.bottom()), QPointF(x, self.height()))
        pen = QPen(colour, 3, Qt.PenStyle.DotLine if self._state == "unknown" else Qt.PenStyle.SolidLine)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        radius = ring.width() / 2
        if self._state == "fails":
            painter.drawArc(ring, 60 * 16, 180 * 16)
            painter.drawArc(ring.translated(theme.px(0.3), theme.px(0.15)), -75 * 16, 110 * 16)
        else:
            painter.drawRoundedRect(ring, radius, radius)


def _names() -> dict[str, str]:
    return {
        "enumerated": _tr("The bus sees the device"),
        "driver": _tr("A driver takes it"),
        "block_device": _tr("It shows up as a disk"),
        "size": _tr("Its size makes sense"),
        "partition_table": _tr("It is divided into parts"),
        "file_system": _tr("A file system is known"),
        "mounted": _tr("Its files can be reached"),
        "read_only": _tr("It can be written to"),
        "io_errors": _tr("Reading works without errors"),
    }


def _states() -> dict[LinkState, str]:
    return {"ok": _tr("yes"), "fails": _tr("no, the chain breaks here"), "unknown": _tr("not known")}


def _in_the_log(link: DriveLink) -> str:
    return _tr("In the log: %1").replace("%1", ", ".join(sign.replace("_", " ") for sign in link.signs))


def _tr(text: str) -> str:
    return QCoreApplication.translate("Chain", text)
