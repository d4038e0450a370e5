"""One step of the plan as something to tick off: cautions first, then what to do, how to tell, and the way back.

Where data or people could come to harm, what to do is shown only once the cautions were read. Lays out; plans nothing.
"""

from collections.abc import Mapping

from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from wizard.case.model import StepMark
from wizard.desktop import theme
from wizard.desktop.icons import Icon, icon
from wizard.desktop.widgets.card import Card, Caution
from wizard.desktop.widgets.text import Text, quiet
from wizard.desktop.widgets.unfold import Unfold
from wizard.plan.steps import Step
from wizard.report.words import figure

HARM = frozenset({"data", "injury"})
"""Risks for which the cautions have to be read before the step is shown."""


class StepCard(Card):
    """`marked` carries what became of the step, or None where that is taken back; `read` says that its cautions
    were read. `briefs` are the cautions that an earlier step tells in full, in short: here they can be opened."""

    marked = Signal(object)
    read = Signal()
    check_wanted = Signal()

    def __init__(
        self,
        number: int,
        step: Step,
        mark: StepMark | None,
        against: str,
        is_next: bool,
        was_read: bool,
        to_check: bool,
        briefs: Mapping[str, str],
    ) -> None:
        super().__init__()
        self._step, self._mark, self._briefs = step, mark, briefs
        name = self.tr("Step %1").replace("%1", str(number))
        self.setAccessibleName(name)
        self.column.addLayout(self._head(name, number, is_next))
        self._rest = QWidget()
        rest = QVBoxLayout(self._rest)
        rest.setContentsMargins(theme.px(2.4), 0, 0, 0)
        rest.setSpacing(theme.px(0.4))
        self.column.addWidget(self._rest)
        self._fill(rest, against, was_read or mark is not None)
        if mark == "helped" and to_check:
            rest.addLayout(self._check_row())
        if mark is not None and not (mark == "helped" and to_check):
            self._rest.hide()
            again = QPushButton(self.tr("Show it again"))
            again.setFlat(True)
            again.setAutoDefault(False)
            again.clicked.connect(self._rest.show)
            again.clicked.connect(again.hide)
            self._head_row.addWidget(again)

    def _head(self, name: str, number: int, is_next: bool) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(theme.px(0.7))
        row.addWidget(_Knot(number, self._mark, is_next))
        said = self.tr("%1: this one next").replace("%1", name) if is_next else name
        if self._mark is not None:
            said = f"{name}: {self._mark_words(self._mark)}"
        title = Text(said, theme.HEADING, bold=True)
        row.addWidget(title, 1, Qt.AlignmentFlag.AlignVCenter)
        for icon_name, words in self._costs():
            row.addWidget(_chip(icon_name, words), 0, Qt.AlignmentFlag.AlignVCenter)
        self._head_row = row
        return row

    def _costs(self) -> list[tuple[str, str]]:
        step = self._step
        spend = {
            "none": self.tr("costs nothing"),
            "low": self.tr("costs little"),
            "medium": self.tr("costs something"),
            "high": self.tr("costs a good deal"),
        }[step.spend]
        found = [
            ("time", self.tr("about %1 min").replace("%1", figure(step.effort_min, 0))),
            ("spend", spend),
        ]
        if step.opens_case:
            found.append(("screw", self.tr("open the case")))
        return found

    def _fill(self, rest: QVBoxLayout, against: str, was_read: bool) -> None:
        step = self._step
        if step.cautions:
            full = [c.text for c in step.cautions if c.id not in self._briefs]
            briefs = [(self._briefs[c.id], c.text) for c in step.cautions if c.id in self._briefs]
            rest.addWidget(Caution(self._caution_title(), full, briefs))
        self._action = QWidget()
        action = QVBoxLayout(self._action)
        action.setContentsMargins(0, 0, 0, 0)
        action.setSpacing(theme.px(0.4))
        action.addWidget(Text(step.do, theme.HEADING))
        action.addLayout(_fact("helped", self.tr("It worked if"), step.check))
        action.addLayout(_fact("undo", self.tr("To undo it"), step.undo))
        touches = ", ".join(self._touch_words(t) for t in step.touches) or self.tr("nothing")
        why = self.tr("%1\nIt is against: %2.\nIt touches: %3.")
        why = why.replace("%1", step.why).replace("%2", against).replace("%3", touches)
        action.addWidget(Unfold(self.tr("Why this step?"), why))
        action.addLayout(self._marks())
        rest.addWidget(self._action)
        if step.risk in HARM and step.cautions and not was_read:
            self._action.hide()
            show = QPushButton(self.tr("I have read this: show what to do"))
            show.setAutoDefault(False)
            show.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
            show.clicked.connect(show.hide)
            show.clicked.connect(self._action.show)
            show.clicked.connect(self.read)
            rest.addWidget(show)

    def _caution_title(self) -> str:
        return {
            "injury": self.tr("Somebody could be hurt. Read this before you begin"),
            "data": self.tr("Files could be lost. Read this before you begin"),
        }.get(self._step.risk, self.tr("Careful, before you begin"))

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

    def _marks(self) -> QHBoxLayout:
        names: dict[StepMark, tuple[str, str]] = {
            "done": ("done", self.tr("Done")),
            "helped": ("helped", self.tr("It helped")),
            "did_not_help": ("no_help", self.tr("It did not help")),
            "skipped": ("skipped", self.tr("Leave it out")),
        }
        row = QHBoxLayout()
        row.addWidget(quiet(self.tr("What became of it?")), 1, Qt.AlignmentFlag.AlignVCenter)
        group = QButtonGroup(self)
        group.setExclusive(False)
        for value, (icon_name, name) in names.items():
            button = QPushButton(icon(icon_name), name)
            button.setIconSize(QSize(theme.px(1.1), theme.px(1.1)))
            button.setCheckable(True)
            button.setChecked(value == self._mark)
            button.setAutoDefault(False)
            button.clicked.connect(lambda on=False, value=value: self.marked.emit(value if on else None))
            group.addButton(button)
            row.addWidget(button)
        return row

    def _check_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addWidget(Text(self.tr("Now check again: only then is it known that the trouble is gone.")), 1)
        button = QPushButton(icon("again"), self.tr("Check again"))
        button.setAutoDefault(False)
        button.clicked.connect(self.check_wanted)
        row.addWidget(button)
        return row


class _Knot(QWidget):
    """The number of a step, or what became of it, in the circle that the rail uses too."""

    def __init__(self, number: int, mark: StepMark | None, is_next: bool) -> None:
        super().__init__()
        self._number, self._mark, self._next = number, mark, is_next
        self.setFixedSize(theme.px(1.7), theme.px(1.7))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Circle, and number or tick."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        accent, middle, radius = QColor(colours.accent), QPointF(self.rect().center()), self.width() / 2 - 2
        done = self._mark in ("done", "helped", "did_not_help")
        pen = QPen(accent if done or self._next else QColor(colours.quiet), 2 if self._next else 1.5)
        if self._mark == "skipped":
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(accent if done else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(middle, radius, radius)
        if done:
            painter.setPen(QPen(QColor(colours.on_accent), 2, c=Qt.PenCapStyle.RoundCap))
            corners: tuple[tuple[float, float], ...] = ((-0.45, 0.05), (-0.1, 0.4), (0.5, -0.38))
            if self._mark == "did_not_help":
                corners = ((-0.45, 0.0), (0.45, 0.0))
            painter.drawPolyline([middle + QPointF(x * radius, y * radius) for x, y in corners])
        else:
            painter.setPen(QColor(colours.text if self._next else colours.quiet))
            painter.setFont(theme.sized(self.font(), 1.0, bold=True))
            painter.drawText(self.rect(), int(Qt.AlignmentFlag.AlignCenter), str(self._number))


def _chip(icon_name: str, words: str) -> QWidget:
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    row.setSpacing(theme.px(0.25))
    row.addWidget(Icon(icon_name, "quiet", 1.1))
    label = quiet(words)
    label.setWordWrap(False)
    row.addWidget(label, 0, Qt.AlignmentFlag.AlignVCenter)
    holder.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
    return holder


def _fact(icon_name: str, label: str, words: str) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(theme.px(0.5))
    row.addWidget(Icon(icon_name, "quiet", 1.2), 0, Qt.AlignmentFlag.AlignTop)
    name = quiet(label)
    name.setWordWrap(False)
    name.setMinimumWidth(theme.px(5.5))
    row.addWidget(name, 0, Qt.AlignmentFlag.AlignTop)
    row.addWidget(Text(words), 1)
    return row
