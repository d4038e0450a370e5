"""What every page is: a view that shows a session, names its main action and says what the user did.

A page decides nothing. It knows the flow only to ask it what may be done.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.text import Text, title

if TYPE_CHECKING:  # so that the first page can stand before these are loaded
    from wizard.desktop.flow import Flow
    from wizard.desktop.session import Session

LOW = 32.0
"""Height of a page in lines of text below which what matters less gives way."""
LEAST_HEIGHT = 17.0
"""Height of a page in lines of text below which its parts would overlap."""


@dataclass(frozen=True)
class Action:
    """What a button at the foot of the window says, and whether it can be pressed."""

    text: str
    enabled: bool = True


class Page(QWidget):
    """A page of the wizard. `acted` says that the actions at the foot may read differently now."""

    go_on = Signal()
    aside_wanted = Signal(str)  # one of ASIDES: open it beside this page
    acted = Signal()

    def __init__(self, heading: str, words: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = title(heading)
        self.words = Text(words, quiet=True)
        self.words.setVisible(bool(words))
        self.setAccessibleName(heading)
        self.body = QVBoxLayout(self)
        side = theme.px(1.2)
        self.body.setContentsMargins(side, theme.px(0.9), side, theme.px(0.6))
        self.body.setSpacing(theme.px(0.55))
        self.body.addWidget(self.title)
        self.body.addWidget(self.words)
        self.low = False
        self.widest = 0.0

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Where there is little room, what matters less gives way."""
        super().resizeEvent(event)
        self.fit_width()
        low = self.height() < theme.px(LOW)
        if low != self.low:
            self.low = low
            self.show_low()

    def fit_width(self) -> None:
        """A page that says how wide it is good to read ends there, scroll bars and all."""
        side = theme.px(1.2)
        spare = self.width() - 2 * side - theme.px(self.widest) if self.widest else 0
        now = self.body.contentsMargins()
        self.body.setContentsMargins(now.left(), now.top(), side + max(spare, 0), now.bottom())

    def show_low(self) -> None:
        """`low` changed: show more, or less."""

    def minimumSizeHint(self) -> QSize:
        """The height that Qt would ask for is that of text wrapped at the least width, far more than is needed."""
        return QSize(super().minimumSizeHint().width(), theme.px(LEAST_HEIGHT))

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show this session."""
        raise NotImplementedError

    def show_looking(self, looking: bool, text: str = "", share: float | None = None) -> None:
        """Show that the work of this page is under way, how far it has got (0 to 1), or that it ended."""

    def primary(self, session: Session, flow: Flow) -> Action:
        """The main action of the page as it stands."""
        return Action(self.tr("&Go on"), flow.can_go_next(session))

    def press_primary(self) -> None:
        """The main action was pressed."""
        self.go_on.emit()

    def secondary(self, session: Session, flow: Flow) -> Action | None:
        """A lesser action beside the main one, if there is one."""
        return None

    def press_secondary(self) -> None:
        """The lesser action was pressed."""

    def focus_first(self) -> None:
        """Put the keyboard where the user will want it."""
        self.setFocus()
