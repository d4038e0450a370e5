"""The plan: steps in order, cautions before the action, and what became of each."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFormLayout, QHBoxLayout, QPushButton, QWidget

from wizard.case.documents import Look
from wizard.case.model import StepMark
from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.arrangement import ArrangementCard
from wizard.desktop.widgets.card import Card, Column
from wizard.desktop.widgets.text import Text, quiet
from wizard.plan.arrange.options import Arrangements
from wizard.plan.steps import Plan, Step
from wizard.report.advice_part import cause_words
from wizard.report.arrange_part import options_section
from wizard.report.blocks import Para
from wizard.report.words import figure


class PlanPage(Page):
    """Steps as a list to tick off."""

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
        self.body.addWidget(self._column, 1)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show the best arrangement, the plan and its marks."""
        self._show_arranged(session)
        advice = session.advice
        if advice is None or session.case is None:
            self._shown = ()
            self.words.say(self.tr("One moment: the plan is being made…"))
            self._column.fill()
            return
        shown = (advice, session.case.marks, session.to_check)
        if shown == self._shown:
            return
        place = self._column.verticalScrollBar().value() if self._shown else 0
        self._shown = shown
        steps = advice.plan.steps
        self.words.say(self._summary(session))
        self._to_check = session.to_check
        next_step = None if session.to_check else flow.next_step(session)
        marks = session.case.marks
        self._column.fill_in_slices(
            [
                partial(self._card, number, step, marks.get(step.id), step is next_step)
                for number, step in enumerate(steps, 1)
            ],
            place,
        )

    def _summary(self, session: Session) -> str:
        if session.advice is None or not session.advice.plan.steps:
            return self.tr("There is no step to try. The findings tell what is still open.")
        if session.to_check:
            return self.tr("A step helped. Check again now, before you change anything else: is the trouble gone?")
        return self.tr("One step at a time; check after each whether the trouble is gone. Read the cautions first.")

    def show_looking(self, looking: bool, text: str = "", share: float | None = None) -> None:
        """Show that the best arrangement is being looked for, or that the search ended."""
        self.arrangement.show_looking(looking)

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
        plan = Plan(options=found.options, clash=found.clash)
        section = options_section(plan, session.look or Look(), self._texts)
        if section is not None:
            self.arrangement.show_blocks(section.blocks)
        elif found.unfinished:
            self.arrangement.show_blocks((Para(self._texts["arrange.unfinished"]),))

    def _card(self, number: int, step: Step, mark: StepMark | None, is_next: bool) -> Card:
        card = Card()
        card.setAccessibleName(self.tr("Step %1").replace("%1", str(number)))
        against = "; ".join(cause_words(c, self._texts) for c in step.cures)
        head = self.tr("Step %1").replace("%1", str(number))
        if is_next:
            head += self.tr(": this one next")
        elif mark is not None:
            head += f": {self._mark_words(mark)}"
        card.column.addWidget(Text(head, theme.HEADING, bold=True))
        card.column.addWidget(quiet(self.tr("Against: %1").replace("%1", against)))
        if step.cautions:
            warning = Card(warning=True)
            warning.column.addWidget(Text(self.tr("Careful, before you begin"), bold=True))
            for caution in step.cautions:
                warning.column.addWidget(Text(caution.text))
            card.column.addWidget(warning)
        card.column.addWidget(Text(step.do, theme.HEADING))
        card.column.addLayout(self._facts(step))
        card.column.addLayout(self._marks(step, mark))
        if mark == "helped" and self._to_check:
            card.column.addLayout(self._check_row())
        return card

    def _facts(self, step: Step) -> QFormLayout:
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        form.setHorizontalSpacing(theme.px(0.8))
        form.setVerticalSpacing(theme.px(0.2))
        rows = (
            (self.tr("Why"), step.why),
            (self.tr("It worked if"), step.check),
            (self.tr("To undo it"), step.undo),
            (self.tr("Takes"), self._cost(step)),
            (self.tr("Touches"), ", ".join(self._touch_words(t) for t in step.touches) or self.tr("nothing")),
        )
        for label, words in rows:
            name = quiet(label)
            name.setWordWrap(False)
            form.addRow(name, Text(words))
        return form

    def _cost(self, step: Step) -> str:
        spend = {
            "none": self.tr("costs nothing"),
            "low": self.tr("costs little"),
            "medium": self.tr("costs something"),
            "high": self.tr("costs a good deal"),
        }[step.spend]
        risk = {
            "none": self.tr("no risk"),
            "low": self.tr("little risk"),
            "data": self.tr("data may be lost: heed the cautions"),
            "injury": self.tr("someone may be hurt: heed the cautions"),
        }[step.risk]
        parts = [self.tr("about %1 minutes").replace("%1", figure(step.effort_min, 0)), spend, risk]
        if step.opens_case:
            parts.append(self.tr("the computer’s case must be opened"))
        return ", ".join(parts)

    def _touch_words(self, touch: str) -> str:
        known = {
            "cable": self.tr("a cable"),
            "restart": self.tr("everything that runs (a restart)"),
            "case": self.tr("the inside of the case"),
            "mains": self.tr("the mains supply"),
            "drive": self.tr("a drive"),
            "motor": self.tr("a motor or heater"),
            "firmware": self.tr("firmware"),
            "board_setup": self.tr("the board’s set-up"),
            "settings": self.tr("settings"),
            "driver": self.tr("a driver"),
        }
        return known.get(touch, touch.replace("_", " "))

    def _mark_words(self, mark: StepMark) -> str:
        return {
            "done": self.tr("done"),
            "helped": self.tr("done, and it helped"),
            "did_not_help": self.tr("done, and it did not help"),
            "skipped": self.tr("left out"),
        }[mark]

    def _marks(self, step: Step, mark: StepMark | None) -> QHBoxLayout:
        names: dict[StepMark, str] = {
            "done": self.tr("Done"),
            "helped": self.tr("It helped"),
            "did_not_help": self.tr("It did not help"),
            "skipped": self.tr("Leave it out"),
        }
        row = QHBoxLayout()
        row.addStretch(1)
        for value, name in names.items():
            button = QPushButton(name)
            button.setCheckable(True)
            button.setChecked(value == mark)
            button.setAutoDefault(False)
            button.clicked.connect(lambda on=False, value=value: self.marked.emit(step.id, value if on else None))
            row.addWidget(button)
        return row

    def _check_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addWidget(Text(self.tr("Now check again: only then is it known that the trouble is gone.")), 1)
        button = QPushButton(self.tr("Check again"))
        button.setAutoDefault(False)
        button.clicked.connect(self.go_on)
        row.addWidget(button)
        return row

    def primary(self, session: Session, flow: Flow) -> Action:
        """Whether it helped."""
        words = self.tr("Check &again now") if session.to_check else self.tr("Check &again")
        return Action(words, flow.can_go_next(session))

    def focus_first(self) -> None:
        """The steps."""
        self._column.setFocus()
