"""What the pages beside the steps that measure have in common: not begun, under way, ending, done or failed.

Each is one state at a time, with one main action. Measures nothing; says what the user wants.
"""

from typing import Any, Literal

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.taking import is_of_this_pc
from wizard.desktop.widgets.card import Caution, Column

LiveState = Literal["idle", "running", "ending", "ended"]


class LivePage(Page):
    """`start_wanted` carries the device to measure, or nothing; `take_wanted` says that the result is to go into the
    case; `left` that the user has seen enough."""

    start_wanted = Signal(str)
    stop_wanted = Signal()
    take_wanted = Signal()
    left = Signal()

    def __init__(self, heading: str, words: str) -> None:
        super().__init__(heading, words)
        self.state: LiveState = "idle"
        self.of_this_pc = False
        self.column = Column(wide=True)
        self._trouble = QWidget()
        self._trouble.hide()

    def show_session(self, session: Session, flow: Flow) -> None:
        """Whether the result can go into the case; a page about another PC's case says so."""
        self.of_this_pc = is_of_this_pc(session)

    def set_state(self, state: LiveState) -> None:
        """Another state; the actions at the foot may read differently."""
        self.state = state
        self.show_state()
        self.acted.emit()

    def show_state(self) -> None:
        """Lay out what belongs to the state."""

    def show_started(self) -> None:
        """The measurement is under way."""
        self.set_state("running")

    def show_ending(self) -> None:
        """It was told to stop."""
        if self.state == "running":
            self.set_state("ending")

    def show_result(self, result: Any) -> None:
        """It is done."""
        self.set_state("ended")

    def show_failed(self, words: str) -> None:
        """It could not be done at all."""
        self.set_state("idle")
        self.show_trouble(self.tr("This did not work"), (words,))

    def show_trouble(self, heading: str, sentences: tuple[str, ...]) -> None:
        """A sheet that says what is wrong and how to mend it; none for no sentences."""
        told = [s for s in sentences if s]
        place = self.body.indexOf(self._trouble)
        new = Caution(heading, told) if told else QWidget()
        if place < 0:
            self.body.insertWidget(2, new)
        else:
            self.body.removeWidget(self._trouble)
            self._trouble.deleteLater()
            self.body.insertWidget(place, new)
        new.setVisible(bool(told))
        self._trouble = new

    def can_start(self) -> bool:
        """Whether there is something to start."""
        return True

    def wanted(self) -> str:
        """The device to start with."""
        return ""

    def start_words(self) -> str:
        """What the main action says before the start."""
        return self.tr("&Start")

    def running_action(self) -> Action:
        """The main action while it is under way."""
        return Action(self.tr("&Stop and tell me"))

    def primary(self, session: Session, flow: Flow) -> Action:
        """Start, stop, or take the result along."""
        if self.state == "idle":
            return Action(self.start_words(), self.can_start())
        if self.state == "running":
            return self.running_action()
        if self.state == "ending":
            return Action(self.tr("One moment…"), False)
        return Action(self.tr("&Take it into the case") if self.can_take() else self.tr("Back to &where I was"))

    def can_take(self) -> bool:
        """Whether the result says anything of the case."""
        return self.of_this_pc

    def press_primary(self) -> None:
        """Do what the main action says."""
        if self.state == "idle":
            self.start_wanted.emit(self.wanted())
        elif self.state == "running":
            self.press_running()
        elif self.state == "ended":
            (self.take_wanted if self.can_take() else self.left).emit()

    def press_running(self) -> None:
        """The main action while it is under way."""
        self.stop_wanted.emit()

    def secondary(self, session: Session, flow: Flow) -> Action | None:
        """Once more."""
        return Action(self.tr("&Once more")) if self.state == "ended" else None

    def press_secondary(self) -> None:
        """Once more."""
        self.set_state("idle")
