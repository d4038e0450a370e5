"""Check again: a second look, before and after side by side, and whether the trouble is gone."""

from collections.abc import Callable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QFileDialog,
    QHBoxLayout,
    QPushButton,
    QRadioButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wizard.bus.tree import BusTree
from wizard.case.documents import CompareDocument, Look
from wizard.case.model import Outcome
from wizard.desktop import theme
from wizard.desktop.changes import each_once, figures, place, still_tight, urgency
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session, Source
from wizard.desktop.widgets.before_after import Bar, BeforeAfter
from wizard.desktop.widgets.card import Card, Column, clear
from wizard.desktop.widgets.share import Progress
from wizard.desktop.widgets.table import Head, Row, Table
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.desktop.widgets.unfold import Unfold
from wizard.plan.compare import BudgetChange, DeviceRef
from wizard.plan.verdict import sentences
from wizard.report.words import text_or

MOST_REASONS = 8
"""Reasons of a verdict told on the page: common practice (no source). The report tells all."""

TROUBLE = ("over", "tight")
MOST_PICTURES = 5
"""Budgets drawn before and now, the most urgent ones; the table has all (common practice, no source)."""

OUTCOMES: tuple[Outcome, ...] = ("gone", "better", "same", "worse")


class AgainPage(Page):
    """The second look and the verdict."""

    look_wanted = Signal(object)  # a Source
    stop_wanted = Signal()
    outcome_said = Signal(str)
    plan_wanted = Signal()
    report_wanted = Signal()

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("Check again"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self._texts = flow.engine.texts
        self._looking = False
        self._compared: CompareDocument | None = None
        self._source = Source("live")
        self._press: Callable[[], None] = self.start_look
        self._column = Column(wide=True)
        self._look_row = QHBoxLayout()
        self._busy = self._build_busy()
        self._elsewhere = Card(warning=True)
        self._elsewhere.column.addWidget(Text(self.tr("This is another machine"), theme.HEADING, bold=True))
        self._elsewhere.column.addWidget(
            Text(
                self.tr(
                    "Its board or its controllers are not those of the first look. What it shows says nothing of this "
                    "trouble, so nothing is judged by it. Take the second look at the machine of the first one."
                )
            )
        )
        self._outcome = self._build_outcome()
        self._verdict = Card()
        self._changes = Text("")
        self.table = Table(
            (
                Head(self.tr("Budget"), 6, shared=True),
                Head(self.tr("Where"), 6, shared=True),
                Head(self.tr("Before"), 8),
                Head(self.tr("Now"), 8),
            ),
            self.tr("Budgets before and now"),
        )
        self.table.setMinimumHeight(theme.px(9))
        self._pictures = QVBoxLayout()
        self._pictures.setSpacing(theme.px(0.5))
        pictures = Card()
        pictures.column.addLayout(self._pictures)
        self._picture_card = pictures
        self._all = QCheckBox(self.tr("Show a&ll budgets, before and now"))
        self._all.toggled.connect(self.table.setVisible)
        self._differences = heading(self.tr("Before and now"))
        holder = QWidget()
        holder.setLayout(self._look_row)
        self._look_row.setContentsMargins(0, 0, 0, 0)
        self._column.fill(
            holder,
            self._busy,
            self._elsewhere,
            self._outcome,
            self._verdict,
            self._differences,
            self._changes,
            pictures,
            self._all,
            self.table,
        )
        self.body.addWidget(self._column, 1)

    def _build_busy(self) -> QWidget:
        panel = QWidget()
        row = QHBoxLayout(panel)
        row.setContentsMargins(0, 0, 0, 0)
        self._progress = Progress(self.tr("A second look is being taken"))
        stop = QPushButton(self.tr("&Stop looking"))
        stop.clicked.connect(self.stop_wanted)
        row.addWidget(self._progress, 1)
        row.addWidget(stop)
        panel.hide()
        return panel

    def _build_outcome(self) -> Card:
        card = Card()
        card.column.addWidget(Text(self.tr("How is the trouble now?"), theme.HEADING, bold=True))
        names: dict[Outcome, str] = {
            "gone": self.tr("It is g&one"),
            "better": self.tr("It is bet&ter, but not gone"),
            "same": self.tr("It is the sa&me"),
            "worse": self.tr("It is &worse"),
        }
        self._outcomes: dict[Outcome, QRadioButton] = {}
        self._group = QButtonGroup(self)
        for outcome in OUTCOMES:
            button = QRadioButton(names[outcome])
            button.clicked.connect(lambda _on=False, outcome=outcome: self.outcome_said.emit(outcome))
            self._group.addButton(button)
            self._outcomes[outcome] = button
            card.column.addWidget(button)
        why = self.tr(
            "A budget that eased is no cure while the trouble goes on, and a trouble that stays away may come back "
            "where a budget is still overdrawn. So your word and the second look count together."
        )
        card.column.addWidget(Unfold(self.tr("Why do you ask?"), why))
        self._hint = quiet("")
        card.column.addWidget(self._hint)
        return card

    def show_looking(self, looking: bool, text: str = "", share: float | None = None) -> None:
        """Show that a second look is under way, or that it ended."""
        if looking != self._looking:
            self._looking = looking
            self._busy.setVisible(looking)
            self.acted.emit()
        if looking:
            self._progress.show_share(share)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show what the second look found and what became of the trouble."""
        self._show_ways(session)
        self._elsewhere.setVisible(session.other_machine)
        self._show_outcome(session)
        self._show_verdict(session)
        if session.comparison is not self._compared or session.comparison is None:
            self._compared = session.comparison
            self._show_comparison(session, session.comparison)

    def _show_ways(self, session: Session) -> None:
        clear(self._look_row)
        no_look = not _can_look(session)
        words = self.tr(
            "Take a second look after a step of the plan, then say how the trouble is. Both together give the verdict."
        )
        if no_look and session.has_bus:
            words = self.tr("The set-up was described by hand, so there is nothing to look at; your own word decides.")
        elif no_look:
            words = self.tr("There was no first look to compare with, so your own word decides.")
        self.words.say(words)
        if session.demo is not None:
            self._source = Source("demo", session.demo.name)
            said = self._outcomes[session.demo.outcome].text().replace("&", "")
            self._hint.say(self.tr("In this demo its user would say: %1").replace("%1", said))
        else:
            captured = session.case is not None and session.case.source == "captured"
            self._source = Source("captured" if captured else "live")
            self._hint.say("")
        self._hint.setVisible(session.demo is not None)
        if session.demo is not None:
            fix = self.tr("What was done meanwhile in this demo: %1").replace("%1", session.demo.fix)
            self._look_row.addWidget(Text(fix), 1)
        elif not no_look:
            if session.after is not None:
                once_more = QPushButton(self.tr("Loo&k once more"))
                once_more.clicked.connect(self.start_look)
                self._look_row.addWidget(once_more)
            captured = self._source.kind == "captured"
            words = (
                self.tr("The second look needs a second capture of the same machine.")
                if captured
                else self.tr("The second look reads this PC once more.")
            )
            other = QPushButton(self.tr("&Use this PC instead") if captured else self.tr("&Use a capture instead…"))
            other.clicked.connect(self._look_elsewhere)
            self._look_row.addWidget(quiet(words), 1)
            self._look_row.addWidget(other)

    def _look_elsewhere(self) -> None:
        if self._source.kind == "captured":
            self.look_wanted.emit(Source("live"))
        else:
            self._choose_capture()

    def _choose_capture(self) -> None:
        dialog = QFileDialog(self, self.tr("Choose the capture taken after the step"))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilters([self.tr("Archives (*.tar *.tar.gz *.tgz)"), self.tr("All files (*)")])
        dialog.fileSelected.connect(self.take_capture)
        dialog.open()

    def take_capture(self, path: str) -> None:
        """Look at a second capture."""
        if path:
            self.look_wanted.emit(Source("captured", path))

    def _show_outcome(self, session: Session) -> None:
        self._outcome.setVisible(session.after is not None or not _can_look(session))
        self._group.setExclusive(False)
        for outcome, button in self._outcomes.items():
            button.setChecked(outcome == session.outcome)
        self._group.setExclusive(True)

    def _show_verdict(self, session: Session) -> None:
        clear(self._verdict.column)
        judged = session.verdict
        self._verdict.setVisible(judged is not None)
        if judged is None:
            return
        titles = {
            "solved": self.tr("Gone so far"),
            "better": self.tr("Better, but not solved"),
            "same": self.tr("No better"),
            "worse": self.tr("Worse"),
            "open": self.tr("Still open"),
        }
        self._verdict.column.addWidget(Text(titles[judged.verdict], theme.TITLE, bold=True))
        told = list(sentences(judged, self._texts))
        if len(told) > MOST_REASONS:
            left_out = self.tr("and %1 more, all of them in the report").replace("%1", str(len(told) - MOST_REASONS))
            told = [*told[:MOST_REASONS], left_out]
        self._verdict.column.addWidget(Text("\n".join(told)))
        if judged.verdict == "solved":
            self._show_so_far(session)
        elif judged.verdict in ("worse", "same"):
            self._verdict.column.addWidget(
                Text(self.tr("Undo the step if it made anything worse, note it in the plan, and try the next one."))
            )
        elif judged.verdict == "better":
            self._verdict.column.addWidget(Text(self.tr("Keep what helped, and go on with the next step of the plan.")))

    def _show_so_far(self, session: Session) -> None:
        """It is solved only once it has stayed away; where little is left, it may come back."""
        words = self.tr("Use it as long as it usually took to fail: only then is it solved.")
        self._verdict.column.addWidget(Text(words, bold=True))
        tree = BusTree((session.after or Look()).snapshot)
        budgets = session.comparison.budgets if session.comparison is not None else ()
        tight = [c for c in each_once(budgets) if c.state_was == "over" and c.state_now == "tight"]
        lines = [still_tight(c, tree, self._texts) for c in tight]
        if lines:
            self._verdict.column.addWidget(Text("\n".join(lines)))
        if session.source is not None and session.source.kind == "live":
            follow = QPushButton(self.tr("&Follow the bus"))
            follow.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            follow.clicked.connect(lambda: self.aside_wanted.emit("watch"))
            self._verdict.column.addWidget(
                Text(self.tr("While you use it, Portmend can follow the bus and note whatever goes wrong on it."))
            )
            self._verdict.column.addWidget(follow)

    def _show_comparison(self, session: Session, comparison: CompareDocument | None) -> None:
        for part in (self._differences, self._changes, self._picture_card, self._all, self.table):
            part.setVisible(comparison is not None)
        clear(self._pictures)
        if comparison is None:
            self.table.show_rows([])
            return
        tree = BusTree((session.after or Look()).snapshot)
        told = [*comparison.notes, *self._device_lines(comparison)]
        self._changes.say("\n".join(told) or self.tr("The same devices are in the same places."))
        changes = sorted(each_once(comparison.budgets), key=urgency)
        pictured = [c for c in changes if c.state_was in TROUBLE or c.state_now in TROUBLE][:MOST_PICTURES]
        for change in pictured:
            self._pictures.addWidget(self._picture(change, tree))
        self._picture_card.setVisible(bool(pictured))
        self._all.setVisible(bool(comparison.budgets))
        self.table.setVisible(bool(comparison.budgets) and self._all.isChecked())
        self.table.show_rows([self._row(change, tree) for change in changes])

    def _device_lines(self, comparison: CompareDocument) -> list[str]:
        def line(words: str, device: DeviceRef) -> str:
            return (
                words.replace("%2", device.was or self.tr("unknown"))
                .replace("%3", device.now or self.tr("unknown"))
                .replace("%1", device.name)
            )

        lines = [line(self.tr("No longer there: %1 (was %2)"), d) for d in comparison.gone]
        lines += [line(self.tr("New: %1 (%3)"), d) for d in comparison.new]
        lines += [line(self.tr("Moved: %1, from %2 to %3"), d) for d in comparison.moved]
        lines += [line(self.tr("Faster: %1 (%3)"), d) for d in comparison.faster]
        lines += [line(self.tr("Slower: %1 (%3)"), d) for d in comparison.slower]
        lines += [
            self.tr("New in the log: %1").replace("%1", text_or(self._texts, f"sign.{s.kind}.words", s.kind))
            for s in comparison.new_signs
        ]
        return lines

    def _picture(self, change: BudgetChange, tree: BusTree) -> BeforeAfter:
        title = text_or(self._texts, f"budget.{change.budget}.title", change.budget)
        was = figures(change.used_was, change.limit_was, change.unit, change.state_was)
        now = figures(change.used_now, change.limit_now, change.unit, change.state_now)
        return BeforeAfter(
            f"{title}, {place(change, tree)}",
            Bar(change.used_was, change.limit_was, change.state_was, was),
            Bar(change.used_now, change.limit_now, change.state_now, now),
        )

    def _row(self, change: BudgetChange, tree: BusTree) -> Row:
        cells = (
            text_or(self._texts, f"budget.{change.budget}.title", change.budget),
            place(change, tree),
            figures(change.used_was, change.limit_was, change.unit, change.state_was),
            figures(change.used_now, change.limit_now, change.unit, change.state_now),
        )
        return Row(cells, (None, None, change.state_was, change.state_now))

    def primary(self, session: Session, flow: Flow) -> Action:
        """Look, then on to the report or back to the plan."""
        if self._looking:
            return Action(self.tr("Looking…"), False)
        if _can_look(session) and session.after is None:
            self._press = self.start_look
            words = {"demo": self.tr("&Look after the fix"), "captured": self.tr("Choose the s&econd capture…")}
            return Action(words.get(self._source.kind, self.tr("&Look again")))
        if session.verdict is None:
            return Action(self.tr("Say how it is now"), False)
        if session.verdict.verdict == "solved" or flow.next_step(session) is None:
            self._press = self.report_wanted.emit
            return Action(self.tr("&Go on to the report"))
        self._press = self.plan_wanted.emit
        return Action(self.tr("&Next step of the plan"))

    def press_primary(self) -> None:
        """Do what the main action said last."""
        self._press()

    def can_look_at_once(self, session: Session) -> bool:
        """Whether the second look needs nothing to be chosen first."""
        return _can_look(session) and self._source.kind in ("live", "demo") and not self._looking

    def start_look(self) -> None:
        """Take the second look in the way that fits the first."""
        if self._source.kind == "captured" and not self._source.name:
            self._choose_capture()
        else:
            self.look_wanted.emit(self._source)

    def secondary(self, session: Session, flow: Flow) -> Action | None:
        """The report can be had at any time."""
        solved = session.verdict is not None and session.verdict.verdict == "solved"
        return None if solved else Action(self.tr("Go on to the &report"), session.advice is not None)

    def press_secondary(self) -> None:
        """The report."""
        self.report_wanted.emit()

    def focus_first(self) -> None:
        """The page."""
        self._column.setFocus()


def _can_look(session: Session) -> bool:
    """Whether there is a second look to take: what was described by hand can't be looked at."""
    return session.has_bus and not (session.case is not None and session.case.source == "described")
