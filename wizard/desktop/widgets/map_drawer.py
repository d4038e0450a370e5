"""The strip map on a page: fed from the session, and as a drawer that is opened where it is wanted. Decides nothing."""

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.icons import icon
from wizard.desktop.session import Session
from wizard.desktop.trying import Stage, Trial
from wizard.desktop.widgets.strip_map import StripMap
from wizard.diagnosis.texts import Texts

LOW = 38.0
"""Height of a page in lines of text below which map and evidence, or map and steps, can't be read together."""


class MapFeed:
    """Shows the looks and trials of sessions on one map; what is shown already keeps its place."""

    def __init__(self, strip_map: StripMap) -> None:
        self.map = strip_map
        self._looks = -1
        self._trial: Trial | None = None

    def show(self, session: Session) -> None:
        """Show what this session has seen."""
        subject = session.case.subject if session.case is not None else ()
        if session.looks != self._looks and session.look is not None:
            self._looks, self._trial = session.looks, None
            self.map.show_look(session.look, subject)
        if session.trial is not None and session.trial is not self._trial:
            self._trial = session.trial
            self.map.allow_trying(session.trial)
        self.map.show_ticks(subject)


class MapDrawer(QWidget):
    """A button that opens the map, and the map, which is built when it is first opened. Where the page is low, what
    is in `giving_way` makes room while the map is open; what is in `replaced` always does."""

    place_chosen = Signal(str, frozenset)
    toggled = Signal(bool)

    def __init__(self, label: str, texts: Texts, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._texts = texts
        self.giving_way: tuple[QWidget, ...] = ()
        self.replaced: tuple[QWidget, ...] = ()
        self._session: Session | None = None
        self._feed: MapFeed | None = None
        self._stages: tuple[tuple[Stage, ...], ...] | None = None
        self.button = QToolButton()
        self.button.setText(label)
        self.button.setIcon(icon("plug", theme.colours().accent))
        self.button.setIconSize(QSize(theme.px(1.1), theme.px(1.1)))
        self.button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.button.setCheckable(True)
        self.button.setCursor(Qt.CursorShape.PointingHandCursor)
        self.button.toggled.connect(self._toggle)
        self.options = QComboBox()
        self.options.setAccessibleName(self.tr("Which arrangement to show"))
        self.options.currentIndexChanged.connect(self._show_stages)
        self.options.hide()
        row = QHBoxLayout()
        row.addWidget(self.button)
        row.addWidget(self.options)
        row.addStretch(1)
        self._row = row
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(theme.px(theme.TIGHT_GAP))
        self._column.addLayout(row)

    def add_beside(self, other: QWidget) -> None:
        """Put something else at the end of the button's row."""
        self._row.addWidget(other)

    @property
    def map(self) -> StripMap | None:
        """The map, once it was opened."""
        return self._feed.map if self._feed is not None else None

    @property
    def is_open(self) -> bool:
        """Whether the map is to be seen."""
        return self.button.isChecked()

    def show_session(self, session: Session) -> None:
        """Show what a session has seen, as soon as the drawer is open; without a bus there is none."""
        self._session = session
        self.setVisible(session.has_bus)
        if self.is_open:
            self._fill()

    def _toggle(self, opened: bool) -> None:
        if opened and self._feed is None:
            strip_map = StripMap(self._texts, small=True)
            strip_map.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
            strip_map.place_chosen.connect(self.place_chosen)
            self._feed = MapFeed(strip_map)
            self._column.addWidget(strip_map, 1)
        if self._feed is not None:
            self._feed.map.setVisible(opened)
            if not opened:
                self._feed.map.forget_choice()
        self.make_room()
        self.toggled.emit(opened)
        self._fill()

    def make_room(self) -> None:
        """Let give way what must, or come back."""
        page = self.parentWidget()
        low = page is not None and page.height() < theme.px(LOW)
        for widget in self.giving_way:
            widget.setVisible(not (low and self.is_open))
        for widget in self.replaced:
            widget.setVisible(not self.is_open)

    def _fill(self) -> None:
        if self._feed is None or self._session is None:
            return
        self._feed.show(self._session)
        if self._session.stages is not self._stages:
            self._stages = self._session.stages
            self._offer_stages(self._session)

    def _offer_stages(self, session: Session) -> None:
        kinds = [option.kind for option in session.arranged.options] if session.arranged is not None else []
        self.options.blockSignals(True)
        self.options.clear()
        self.options.addItems([self._texts[f"arrange.kind.{kind}"] for kind in kinds if self._stages])
        self.options.blockSignals(False)
        self.options.setVisible(self.options.count() > 1)
        self._show_stages(0)

    def _show_stages(self, number: int) -> None:
        if self._feed is not None:
            self._feed.map.show_stages(self._stages[number] if self._stages and number >= 0 else ())
