"""One question at a time: why it is asked, how to do it safely, what each outcome would tell, and the answers."""

from functools import partial
from typing import Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QDoubleSpinBox, QGridLayout, QHBoxLayout, QPushButton, QWidget

from wizard.case.model import Value
from wizard.desktop import theme
from wizard.desktop.flow import Flow, same_answer
from wizard.desktop.page import Action, Page
from wizard.desktop.places import Aside
from wizard.desktop.session import MOST_QUESTIONS, Session, ShownQuestion
from wizard.desktop.widgets.beside_row import BesideRow
from wizard.desktop.widgets.card import Caution, Column
from wizard.desktop.widgets.choice import Choice
from wizard.desktop.widgets.doubts import doubt_card
from wizard.desktop.widgets.drawing import Drawing
from wizard.desktop.widgets.terms import Terms, glossary
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.desktop.widgets.unfold import Unfold
from wizard.diagnosis.advice import Contradiction, Question
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.diagnosis.texts import Texts
from wizard.report.words import answer_words, figure

PATIENCE_MS = 250
"""How long the answered question stays before a word about waiting takes its place."""

MOST_DRAWING = 40.0
"""Width of a drawing with its words beside it, in lines of text: common practice (no source)."""
MOST_IN_A_COLUMN = 8

MEASURED: dict[str, Aside] = {
    "delay_pattern": "pace", "delay_ms": "pace", "report_rate": "pace", "report_gap_ms": "pace", "volume": "drive",
    "medium": "drive", "seen_by_system": "watch", "device_listed_twice": "watch", "affected": "watch",
}  # fmt: skip
"""Questions that a measurement on this computer answers, or helps to answer, and which."""


class QuestionsPage(Page):
    """The question that the flow says is next, or one answered before."""

    answered = Signal(str, object)  # the observation, and its value
    skip_wanted = Signal()
    doubted = Signal(str)  # the contradiction whose doubtful answer is to be looked at

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self._texts = flow.engine.texts
        self._shown: ShownQuestion | None = None
        self._doubts: tuple[Contradiction, ...] = ()
        self._ticks: dict[str, Choice] = {}
        self._spin: QDoubleSpinBox | None = None
        self._first: QWidget = self
        self.words.show()
        self._column = Column()
        self.body.addWidget(self._column, 1)
        self.measure = BesideRow(
            self.tr("Portmend can find that out:"),
            (
                ("pace", self.tr("Measure the control")),
                ("drive", self.tr("Look at the drive")),
                ("watch", self.tr("Follow the bus")),
            ),
        )
        self.measure.wanted.connect(self.aside_wanted)
        self.body.addWidget(self.measure)
        self.terms = Terms(glossary(self._texts))
        self.body.addWidget(self.terms)
        self._waiting = QTimer(self)
        self._waiting.setSingleShot(True)
        self._waiting.setInterval(PATIENCE_MS)
        self._waiting.timeout.connect(self._show_waiting)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show the question of this session; while it is being worked out, take no answers."""
        shown = flow.question(session)
        if shown is None:
            self._shown = None
            self._column.setEnabled(False)
            self.measure.offer(())
            self._waiting.start()
            return
        self._waiting.stop()
        self._column.setEnabled(True)
        live = session.source is not None and session.source.kind == "live"
        aside = MEASURED.get(shown.question.observation) if live else None
        self.measure.offer((aside,) if aside is not None else ())
        doubts = _open_doubts(session)
        if (shown, doubts) != (self._shown, self._doubts):
            self._shown, self._doubts = shown, doubts
            self._show_question(shown)

    def _show_waiting(self) -> None:
        self.title.say(self.tr("One moment…"))
        self.words.say(self.tr("Working out which question helps most."))
        self._column.fill()

    def _show_question(self, shown: ShownQuestion) -> None:
        question = shown.question
        self.title.say(question.text)
        self.setAccessibleName(question.text)
        self.words.say(self._counted(shown))
        self._ticks, self._spin = {}, None
        parts: list[QWidget] = [doubt_card(c, partial(self.doubted.emit, c.id)) for c in self._doubts]
        parts.append(Unfold(self.tr("Why do you ask?"), question.why))
        if question.drawing is not None:
            parts.append(_beside_nothing(Drawing(question.drawing, question.drawing_words or "")))
        if question.help:
            parts.append(quiet(question.help))
        if question.how:
            parts.append(self._how(question))
        parts += self._answers(shown)
        self.terms.explain([question.text, question.why, question.help or "", *question.labels.values()])
        self._column.fill(*parts)
        self._column.verticalScrollBar().setValue(0)
        self.focus_first()

    def _counted(self, shown: ShownQuestion) -> str:
        told = (
            self.tr("Question %1 of at most %2.")
            .replace("%1", str(shown.number))
            .replace("%2", str(max(MOST_QUESTIONS, shown.number)))
        )
        if shown.question.kind == "test":
            told += " " + self.tr("Something to try, about %1 minutes.").replace(
                "%1", figure(shown.question.effort_min, 0)
            )
        if shown.given:
            told += " " + self.tr("You answered this one; keep the answer or change it.")
        elif shown.answer is not None:
            told += " " + self.tr("Your earlier answer is marked; it counts once you keep it.")
        elif not shown.question.many:
            told += " " + self.tr("Choose an answer, or press its number.")
        return told

    def _how(self, question: Question) -> Caution:
        return Caution(self.tr("How to do it safely"), [question.how or ""])

    def _answers(self, shown: ShownQuestion) -> list[QWidget]:
        question = shown.question
        parts: list[QWidget] = []
        if question.kind == "test":
            parts.append(heading(self.tr("What happened? Each answer says what it will mean")))
        if question.many:
            parts.append(quiet(self.tr("Tick all that fit, then press “That’s it”.")))
        parts.append(self._choices(shown))
        if question.unit is not None:
            parts.append(self._number_row(shown))
        parts.append(self._dont_know(shown))
        if shown.suggested is not None:
            words = answer_words(question.observation, shown.suggested, self._texts)
            parts.append(quiet(self.tr("In this demo its user would say: %1").replace("%1", words)))
        return parts

    def _choices(self, shown: ShownQuestion) -> QWidget:
        """The answers below one another, or in two columns where they are many and short."""
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(theme.px(0.35))
        values = [v for v in shown.question.values if v != UNKNOWN]
        rows = (len(values) + 1) // 2 if len(values) > MOST_IN_A_COLUMN and not shown.question.means else len(values)
        for place, value in enumerate(values):
            choice = self._answer(shown, value, str(place + 1) if place < 9 else "")
            grid.addWidget(choice, place % rows, place // rows)
            if place == 0:
                self._first = choice
        return holder

    def _answer(self, shown: ShownQuestion, value: str | float, key: str) -> Choice:
        question = shown.question
        label = question.labels.get(str(value)) or _spoken(question, value, self._texts)
        choice = Choice(label, question.means.get(str(value), ""), "tick" if question.many else "pick", key)
        choice.guarded = not question.many
        if key:
            choice.setShortcut(key)
        given = shown.answer
        if question.many:
            choice.setChecked(isinstance(given, list | tuple) and value in given)
            choice.toggled.connect(lambda _on: self.acted.emit())
            self._ticks[str(value)] = choice
        else:
            choice.setCheckable(True)
            choice.setChecked(given is not None and same_answer(given, value))
            choice.clicked.connect(lambda _on=False: self.answered.emit(question.observation, value))
        return choice

    def _number_row(self, shown: ShownQuestion) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        spin = QDoubleSpinBox()
        spin.setRange(0, 1_000_000)
        spin.setDecimals(2 if shown.question.unit == "m" else 0)
        spin.setSuffix(f" {shown.question.unit}")
        spin.setAccessibleName(self.tr("Another figure, in %1").replace("%1", shown.question.unit or ""))
        spin.setMinimumWidth(theme.px(9))
        if isinstance(shown.answer, int | float):
            spin.setValue(float(shown.answer))
        label = Text(self.tr("Another figure:"))
        label.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        label.setWordWrap(False)
        use = QPushButton(self.tr("&Use this figure"))
        use.clicked.connect(lambda: self.answered.emit(shown.question.observation, spin.value()))
        row.addWidget(label)
        row.addWidget(spin)
        row.addWidget(use)
        row.addStretch(1)
        self._spin = spin
        return holder

    def _dont_know(self, shown: ShownQuestion) -> Choice:
        choice = Choice(self.tr("I don’t know, or can’t try it"), "", "pick", "0")
        choice.guarded = True
        choice.setShortcut("0")
        choice.setCheckable(True)
        choice.setChecked(shown.answer == UNKNOWN)
        choice.clicked.connect(lambda _on=False: self.answered.emit(shown.question.observation, UNKNOWN))
        return choice

    def _ticked(self) -> tuple[str, ...]:
        return tuple(value for value, choice in self._ticks.items() if choice.isChecked())

    def primary(self, session: Session, flow: Flow) -> Action:
        """Keep the answer there is, or give the ticked ones."""
        if self._shown is None:
            return Action(self.tr("One moment…"), False)
        if self._shown.question.many and (self._ticked() or self._shown.answer != UNKNOWN):
            return Action(self.tr("&That’s it"), bool(self._ticked()))
        if self._shown.answer is None:
            return Action(self.tr("Choose an answer"), False)
        return Action(self.tr("&Keep this answer"))

    def press_primary(self) -> None:
        """Give the ticked answers, or keep the one there is."""
        shown = self._shown
        if shown is None:
            return
        answer: Value | Any = self._ticked() if shown.question.many and self._ticked() else shown.answer
        if answer is not None and answer != ():
            self.answered.emit(shown.question.observation, answer)

    def secondary(self, session: Session, flow: Flow) -> Action | None:
        """Enough asked."""
        return Action(self.tr("&Skip to the findings"), session.advice is not None)

    def press_secondary(self) -> None:
        """Enough asked."""
        self.skip_wanted.emit()

    def focus_first(self) -> None:
        """The first answer."""
        self._first.setFocus()


def _beside_nothing(drawing: Drawing) -> QWidget:
    """The drawing no wider than it needs to be."""
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    drawing.setMaximumWidth(theme.px(MOST_DRAWING))
    row.addWidget(drawing, 1)
    row.addStretch(0)
    return holder


def _open_doubts(session: Session) -> tuple[Contradiction, ...]:
    """Contradictions not asked about yet; none while one of them is being asked about."""
    if session.advice is None or session.doubt is not None:
        return ()
    return tuple(c for c in session.advice.contradictions if not c.settled)


def _spoken(question: Question, value: str | float, texts: Texts) -> str:
    if isinstance(value, int | float):
        return f"{figure(float(value), 2)} {question.unit or ''}".strip()
    return answer_words(question.observation, value, texts)
