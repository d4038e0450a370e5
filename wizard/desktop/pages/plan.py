"""The plan: steps in order, cautions before the action, and what became of each."""

from collections.abc import Mapping, Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from wizard.case.documents import Look
from wizard.case.model import StepMark
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.arrangement import ArrangementCard
from wizard.desktop.widgets.beside_row import BesideRow
from wizard.desktop.widgets.card import WIDEST, Column
from wizard.desktop.widgets.map_drawer import MapDrawer
from wizard.desktop.widgets.step import StepCard
from wizard.desktop.widgets.terms import Terms, glossary
from wizard.plan.arrange.options import Arrangements
from wizard.plan.steps import Step
from wizard.report.advice_part import cause_words
from wizard.report.blocks import Para
from wizard.report.sequence import FREE, sequence


class PlanPage(Page):
    """Steps as a list to tick off."""

    check_wanted = Signal()  # to the check, and look at once
    marked = Signal(str, object)  # step, and its mark or None
    stop_wanted = Signal()
    arranging_wanted = Signal()

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("What to do, in this order"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self._texts = flow.engine.texts
        self._shown: tuple[object, ...] = ()
        self._column = Column()
        self.arrangement = ArrangementCard()
        self.arrangement.stop_wanted.connect(self._call_off)
        self.arrangement.start_wanted.connect(self.arranging_wanted)
        self._arranged: Arrangements | None = None
        self._desk = -1
        self._to_check = False
        self._column.keep_on_top(self.arrangement)
        self.drawer = MapDrawer(self.tr("Go through the moves on the strip &map"), self._texts)
        self.body.addWidget(self.drawer, 0)
        self.body.addWidget(self._column, 2)
        self.drawer.toggled.connect(self._make_room)
        self.widest = WIDEST
        self._read: set[str] = set()
        self.beside = BesideRow("", (("fit", self.tr("Does one more fit?")), ("labels", self.tr("Labels"))))
        self.beside.wanted.connect(self.aside_wanted)
        self.drawer.add_beside(self.beside)
        self.terms = Terms(glossary(self._texts))
        self.body.addWidget(self.terms)
        self.drawer.giving_way = (self.terms,)
        self.drawer.replaced = (self._column,)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show the best arrangement, the plan and its marks."""
        self._show_arranged(session)
        self.drawer.show_session(session)
        moves = session.arranged is not None and bool(session.arranged.options)
        self.drawer.button.setText(
            self.tr("Go through the moves on the strip &map") if moves else self.tr("Try plugs on the strip &map")
        )
        advice = session.advice
        if advice is None or session.case is None:
            self._shown = ()
            self.words.say(self.tr("One moment: the plan is being made…"))
            self._column.fill()
            return
        shown = (advice, session.case.marks, session.to_check, session.arranged)
        if shown == self._shown:
            return
        place = self._column.verticalScrollBar().value() if self._shown else 0
        self._shown = shown
        marks = session.case.marks
        steps = sequence(advice.plan, session.arranged, session.look or Look(), self._texts, marks)
        self.words.say(self._summary(steps, session.to_check))
        self._to_check = session.to_check
        next_step = None if session.to_check else next((s for s in steps if s.id not in marks), None)
        briefs = self._briefs(steps, marks)
        self.beside.offer(("fit", "labels") if session.has_bus else ())
        self.terms.explain([words for s in steps for words in (s.do, s.why, s.check)])
        self._column.fill_in_slices(
            [
                partial(self._card, number, step, marks.get(step.id), step is next_step, known)
                for number, (step, known) in enumerate(zip(steps, briefs, strict=True), 1)
            ],
            place,
        )

    def _briefs(self, steps: Sequence[Step], marks: Mapping[str, StepMark]) -> list[dict[str, str]]:
        """For each step, the cautions in short that an open step above it tells in full; where somebody
        could be hurt, none."""
        told: dict[str, str] = {}
        found = []
        for step in steps:
            known = [c for c in step.cautions if told.get(c.id) == c.text and step.risk != "injury"]
            found.append({c.id: short for c in known if (short := self._texts.get(f"caution.{c.id}.short"))})
            if step.id not in marks:
                told |= {c.id: c.text for c in step.cautions}
        return found

    def _summary(self, steps: Sequence[Step], to_check: bool) -> str:
        if not steps:
            return self.tr("There is no step to try. The findings tell what is still open.")
        if to_check:
            return self.tr("A step helped. Check again now, before you change anything else: is the trouble gone?")
        return self.tr("One step at a time; check after each whether the trouble is gone. Read the cautions first.")

    def show_looking(self, looking: bool, text: str = "", share: float | None = None) -> None:
        """Show that the best arrangement is being looked for, or that the search ended."""
        self.arrangement.show_looking(looking)

    def _make_room(self, opened: bool) -> None:
        """The map has all the room there is; steps are no wider than is good to read."""
        self.body.setStretchFactor(self.drawer, 4 if opened else 0)
        self.widest = 0.0 if opened else WIDEST
        self.fit_width()

    def _call_off(self) -> None:
        self.stop_wanted.emit()
        self.arrangement.show_stopped()

    def _show_arranged(self, session: Session) -> None:
        """What was found is dropped as soon as it is about another desk."""
        if (session.desk, session.arranged) == (self._desk, self._arranged):
            return
        self._desk, self._arranged = session.desk, session.arranged
        self.arrangement.show_nothing()
        found = session.arranged
        if found is None:
            return
        if found.unfinished and not found.options:
            self.arrangement.show_blocks((Para(self._texts["arrange.unfinished"]),))

    def _card(
        self, number: int, step: Step, mark: StepMark | None, is_next: bool, briefs: Mapping[str, str]
    ) -> StepCard:
        against = "; ".join(cause_words(c, self._texts) for c in step.cures) or (
            self.tr("budgets that do not hold") if step.id.startswith(FREE) else self.tr("no cause in particular")
        )
        card = StepCard(number, step, mark, against, is_next, step.id in self._read, self._to_check, briefs)
        card.marked.connect(lambda value: self.marked.emit(step.id, value))
        card.read.connect(lambda: self._read.add(step.id))
        card.check_wanted.connect(self.check_wanted)
        return card

    def primary(self, session: Session, flow: Flow) -> Action:
        """Whether it helped."""
        words = self.tr("Check &again now") if session.to_check else self.tr("Check &again")
        return Action(words, flow.can_go_next(session))

    def press_primary(self) -> None:
        """Check again, in one press."""
        self.check_wanted.emit()

    def focus_first(self) -> None:
        """The steps."""
        self._column.setFocus()
