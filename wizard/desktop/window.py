"""The window: steps at the left, the page, the actions at the foot. Shows and passes on; decides nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QAction, QCloseEvent, QIcon, QKeySequence
from PySide6.QtWidgets import (
    QHBoxLayout,
    QMainWindow,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wizard.desktop import theme
from wizard.desktop.page import Action, Page
from wizard.desktop.places import PAGES, Aside, Place
from wizard.desktop.places import Page as PageName
from wizard.desktop.widgets.card import Card, Rule
from wizard.desktop.widgets.rail import Rail, RailStep, StepState
from wizard.desktop.widgets.text import Line, Text
from wizard.store import resources

if TYPE_CHECKING:  # so that the first page can stand before these are loaded
    from wizard.desktop.flow import Flow
    from wizard.desktop.session import Session


class Pages(dict[Place, Page]):
    """Pages by place, each built when it is first asked for: the window stands before all of them do."""

    def __init__(self, built: Callable[[Page], None]) -> None:
        super().__init__()
        self.makers: dict[Place, Callable[[], Page]] = {}
        self._built = built

    def put(self, place: Place, page: Page) -> None:
        """A page that is there already."""
        self[place] = page
        self._built(page)

    def __missing__(self, place: Place) -> Page:
        """Build it. Raises KeyError for a place that nobody knows how to build."""
        page = self.makers[place]()
        self.put(place, page)
        return page


class Window(QMainWindow):
    """The main window. Emits what the user pressed; `show_session` makes it look like a session."""

    back = Signal()
    jump = Signal(str)
    new_wanted = Signal()
    open_wanted = Signal()
    last_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setWindowTitle("Portmend")
        self.setWindowIcon(QIcon(str(resources.icon("portmend"))))
        self.pages = Pages(self._take_in)
        self.before_close: Callable[[], None] = lambda: None
        self._page: Place | None = None
        self._session: Session | None = None
        self._flow: Flow | None = None
        self._rail = Rail()
        self._rail.pressed.connect(self.jump)
        self._stack = QStackedWidget()
        self._wait = Text(self.tr("Getting ready…"))
        self._wait.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._stack.addWidget(self._wait)
        self._problem, self._problem_words = self._build_problem()
        self._back = QPushButton(self.tr("&Back"))
        self._second = QPushButton()
        self._first = QPushButton()
        self._saved = Line()
        self._lay_out()
        self._dress_primary()
        self._build_menu()
        self.resize(self._first_size())
        self.setMinimumSize(theme.px(34), theme.px(24))

    def _first_size(self) -> QSize:
        """Room for a table beside the steps, but never larger than the screen."""
        wanted = QSize(theme.px(76), theme.px(48))
        return wanted.boundedTo(self.screen().availableSize())

    def _lay_out(self) -> None:
        foot = QHBoxLayout()
        foot.setContentsMargins(theme.px(1.2), theme.px(0.5), theme.px(1.2), theme.px(0.7))
        foot.setSpacing(theme.px(0.6))
        for button in (self._back, self._second, self._first):
            button.setMinimumHeight(theme.px(1.9))
            button.hide()
        self._first.setDefault(True)
        self._back.clicked.connect(self.back)
        self._second.clicked.connect(lambda: self._current().press_secondary())
        self._first.clicked.connect(lambda: self._current().press_primary())
        foot.addWidget(self._back)
        foot.addWidget(self._saved, 1)
        foot.addWidget(self._second)
        foot.addWidget(self._first)
        right = QVBoxLayout()
        right.setContentsMargins(0, 0, 0, 0)
        right.setSpacing(0)
        problem_row = QVBoxLayout()
        problem_row.setContentsMargins(theme.px(1.2), theme.px(0.6), theme.px(1.2), 0)
        problem_row.addWidget(self._problem)
        right.addLayout(problem_row)
        right.addWidget(self._stack, 1)
        right.addWidget(Rule())
        right.addLayout(foot)
        whole = QHBoxLayout()
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._rail)
        whole.addLayout(right, 1)
        middle = QWidget()
        middle.setLayout(whole)
        self.setCentralWidget(middle)

    def _build_problem(self) -> tuple[Card, Text]:
        card, words = Card(warning=True), Text("")
        card.column.addWidget(words)
        card.hide()
        return card, words

    def _build_menu(self) -> None:
        menu = self.menuBar().addMenu(self.tr("&Case"))
        for name, keys, signal in (
            (self.tr("&New case"), QKeySequence.StandardKey.New, self.new_wanted),
            (self.tr("&Open a case…"), QKeySequence.StandardKey.Open, self.open_wanted),
            (self.tr("Open the &last case"), None, self.last_wanted),
        ):
            action = QAction(name, self)
            if keys is not None:
                action.setShortcut(QKeySequence(keys))
            action.triggered.connect(lambda _on=False, signal=signal: signal.emit())
            menu.addAction(action)
        menu.addSeparator()
        leave = QAction(self.tr("&Close"), self)
        leave.setShortcut(QKeySequence(QKeySequence.StandardKey.Quit))
        leave.triggered.connect(self.close)
        menu.addAction(leave)

    def _take_in(self, page: Page) -> None:
        self._stack.addWidget(page)
        page.acted.connect(self._show_actions)

    def show_opening(self, action: Action) -> None:
        """Show the first page before there is a session; `action` is what can be done so far."""
        if self._page is None:
            self._page = "trouble"
            self._stack.setCurrentWidget(self.pages["trouble"])
            self._rail.show_steps(
                tuple(RailStep(p, self._name(p), "here" if p == "trouble" else "ahead", False) for p in PAGES)
            )
            self._back.setVisible(True)
            self._back.setEnabled(False)
            self.pages["trouble"].focus_first()
        _dress(self._first, action)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show a session: its page, the steps, what went wrong, the actions."""
        self._session, self._flow = session, flow
        page = self.pages[session.place]
        page.show_session(session, flow)
        if self._page != session.place:
            self._page = session.place
            self._stack.setCurrentWidget(page)
            page.focus_first()
        self._problem_words.say(session.problem or "")
        self._problem.setVisible(session.problem is not None)
        self._rail.show_steps(tuple(self._step(name, session, flow) for name in PAGES))
        self._show_actions()

    def show_waiting(self, words: str) -> None:
        """What to say while there are no pages yet, or if there never will be."""
        self._wait.say(words)
        self._stack.setCurrentWidget(self._wait)

    def show_saved(self, words: str) -> None:
        """Say where the case is saved, in small print at the foot."""
        self._saved.say(words)

    def press_primary(self) -> None:
        """Press the main action."""
        self._first.click()

    def press_secondary(self) -> None:
        """Press the lesser action."""
        self._second.click()

    def press_back(self) -> None:
        """Press Back."""
        self._back.click()

    def _step(self, name: PageName, session: Session, flow: Flow) -> RailStep:
        state: StepState = "ahead"
        if name == session.page:
            state = "here"
        elif not flow.has_content(session, name):
            state = "passed_over"
        elif PAGES.index(name) < PAGES.index(session.reached):
            state = "done"
        reachable = name != session.page and bool(session.ticked) and flow.can_jump(session, name)
        return RailStep(name, self._name(name), state, reachable, self._note(name, session, state))

    def _note(self, name: PageName, session: Session, state: StepState) -> str:
        """What the rail adds in small print: how far the questions have got, and what stands open beside the step."""
        if state == "here" and session.aside is not None:
            return self._aside_name(session.aside)
        if name == "questions" and session.asked and state in ("here", "done"):
            asked, known = len(session.asked), len(session.known_answers)
            return self.tr("%1 asked, %2 known").replace("%1", str(asked)).replace("%2", str(known))
        return ""

    def _aside_name(self, aside: Aside) -> str:
        return {
            "watch": self.tr("Follow the bus"),
            "pace": self.tr("Measure the pace"),
            "drive": self.tr("Look at a drive"),
            "describe": self.tr("Describe it"),
            "fit": self.tr("Room for more?"),
            "labels": self.tr("Labels"),
            "exports": self.tr("Files to send"),
        }[aside]

    def _name(self, page: PageName) -> str:
        return {
            "trouble": self.tr("Trouble"),
            "look": self.tr("Look"),
            "ledger": self.tr("Budgets"),
            "questions": self.tr("Questions"),
            "findings": self.tr("Findings"),
            "plan": self.tr("Plan"),
            "again": self.tr("Check again"),
            "report": self.tr("Report"),
        }[page]

    def _current(self) -> Page:
        assert self._page is not None
        return self.pages[self._page]

    def _show_actions(self) -> None:
        if self._session is None or self._flow is None or self._page is None:
            return
        page = self._current()
        self._back.setVisible(True)
        self._back.setEnabled(self._flow.can_go_back(self._session))
        _dress(self._first, page.primary(self._session, self._flow))
        _dress(self._second, page.secondary(self._session, self._flow))

    def _dress_primary(self) -> None:
        """The main action stands out in the accent colour."""
        self._first.setStyleSheet(theme.main_action_style())

    def changeEvent(self, event: QEvent) -> None:
        """Colours follow the system at once."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._dress_primary()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Let whoever runs the work put things in order first."""
        self.before_close()
        super().closeEvent(event)


def _dress(button: QPushButton, action: Action | None) -> None:
    button.setVisible(action is not None)
    if action is not None:
        button.setText(action.text)
        button.setEnabled(action.enabled)
