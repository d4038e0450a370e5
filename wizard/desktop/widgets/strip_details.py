"""Below the strips: what the ledger says of the place that keyboard or pointer is at, with its source."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from wizard.budget.entry import Entry
from wizard.bus.tree import BusTree
from wizard.desktop import theme
from wizard.desktop.strip_bands import Bands
from wizard.desktop.strip_words import entry_lines, hole_title, strip_title
from wizard.desktop.strips import Picture
from wizard.desktop.widgets.strip_view import Spot
from wizard.desktop.widgets.text import Text
from wizard.diagnosis.texts import Texts

LINES = 5.4
"""Height in lines of text: a title and a line of the ledger with its source."""


class Inside(QWidget):
    """The inside of something that is scrolled: as high as its wrapped text needs at the width it has."""

    def minimumSizeHint(self) -> QSize:
        """Without the height, which Qt would take for the narrowest width."""
        return QSize(super().minimumSizeHint().width(), 1)


class StripDetails(QScrollArea):
    """Title and ledger of one place. Read-only; its text can be copied."""

    def __init__(self, texts: Texts) -> None:
        super().__init__()
        self._texts = texts
        self._shown: Spot | None = None
        self.head = Text("", bold=True)
        self.words = Text("")
        inside = Inside()
        column = QVBoxLayout(inside)
        column.setContentsMargins(theme.px(0.5), theme.px(0.3), theme.px(0.5), theme.px(0.3))
        column.setSpacing(theme.px(0.2))
        column.addWidget(self.head)
        column.addWidget(self.words)
        column.addStretch(1)
        self.setWidget(inside)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName(self.tr("What the ledger says of this place"))

    def sizeHint(self) -> QSize:
        """A few lines."""
        return QSize(theme.px(30), theme.px(LINES))

    def tell(self, spot: Spot | None, picture: Picture, bands: Bands, tree: BusTree, usual: str) -> str:
        """Tell of a place, or say what is usual where there is none. Returns the title."""
        title, lines = told_of(spot, picture, bands, tree, self._texts)
        self.head.say(title)
        self.head.setVisible(bool(title))
        self.words.say("\n".join(lines) if title else usual)
        self.words.setForegroundRole(QPalette.ColorRole.WindowText if title else QPalette.ColorRole.PlaceholderText)
        if spot != self._shown:
            self._shown = spot
            self.verticalScrollBar().setValue(0)
        return title


def told_of(spot: Spot | None, picture: Picture, bands: Bands, tree: BusTree, texts: Texts) -> tuple[str, list[str]]:
    """Title and lines of a place."""
    if spot is None:
        return "", []
    if spot.place.part == "strip":
        strip = picture.strips.get(spot.key)
        title = strip_title(strip) if strip is not None else ""
    else:
        hole = picture.holes.get(spot.key)
        title = hole_title(hole, picture.strips[picture.strip_of[spot.key]]) if hole is not None else ""
    if spot.entry is not None:
        return title, list(entry_lines(spot.entry, tree, texts, long=True))
    entries = _entries(spot, picture, bands)
    return title, [line for entry in entries for line in entry_lines(entry, tree, texts)]


def _entries(spot: Spot, picture: Picture, bands: Bands) -> tuple[Entry, ...]:
    """What the ledger says of a place; of a hub's plug, what it says of the hub."""
    if spot.place.part == "strip":
        return bands.at(spot.key, strip=True)
    hole = picture.holes.get(spot.key)
    if hole is not None and hole.plug is not None and hole.plug.key in picture.strips:
        return bands.at(hole.plug.key, strip=True)
    return bands.at(spot.key, strip=False)
