"""Does one more fit? A kind of device chosen, and the answer with the place that would suit best."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout

from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.blocks import widgets_of
from wizard.desktop.widgets.card import Column
from wizard.desktop.widgets.pick import Pick
from wizard.desktop.widgets.text import Text, heading
from wizard.report.blocks import Section


class FitPage(Page):
    """`asked` carries the kind; `left` says that the user goes back to where it was asked."""

    asked = Signal(str)
    left = Signal()

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("Does one more fit?"))
        self.setAccessibleName(self.title.text())
        self.words.say(self.tr("Choose what you would like to add. Portmend reckons with a typical one of its kind."))
        self.words.show()
        self.pick = Pick()
        self.pick.offer([(kind, title, "", True) for kind, title in flow.engine.kinds()])
        self.pick.changed.connect(self._changed)
        kinds = Column()
        kinds.fill(self.pick)
        self._answer = Column()
        self._busy = self._answered = False
        self._nothing = self.tr("The answer comes here.")
        self._answer.fill(Text(self._nothing, quiet=True))
        both = QHBoxLayout()
        both.setSpacing(theme.px(theme.WIDE_GAP))
        both.addWidget(kinds, 2)
        both.addWidget(self._answer, 3)
        self.body.addLayout(both, 1)

    def _changed(self) -> None:
        self._answered = False
        self._answer.fill(Text(self._nothing, quiet=True))
        self.acted.emit()

    def show_session(self, session: Session, flow: Flow) -> None:
        """Nothing depends on the session but whether there is a bus."""

    def show_busy(self) -> None:
        """It is being reckoned."""
        self._busy = True
        self._answer.fill(Text(self.tr("Reckoning…"), quiet=True))
        self.acted.emit()

    def show_answer(self, section: Section) -> None:
        """The answer, in the words of the report."""
        self._busy, self._answered = False, True
        parts = [widget for block in section.blocks for widget in widgets_of(block)]
        self._answer.fill(heading(section.title), *parts)
        self.acted.emit()

    def show_failed(self, words: str) -> None:
        """It could not be reckoned."""
        self._busy = False
        self._answer.fill(Text(words, bold=True))
        self.acted.emit()

    def primary(self, session: Session, flow: Flow) -> Action:
        """Reckon, then back to where it was asked."""
        if self._answered:
            return Action(self.tr("Back to the &plan"))
        return Action(self.tr("&Reckon it"), bool(self.pick.picked) and session.has_bus and not self._busy)

    def press_primary(self) -> None:
        """Reckon, or go back."""
        if self._answered:
            self.left.emit()
        else:
            self.asked.emit(self.pick.picked)
