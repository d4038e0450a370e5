"""The ledger: every budget at every place, what is used and what is left, and who uses it."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QSplitter, QWidget

from wizard.budget.entry import Entry, State
from wizard.bus.tree import BusTree
from wizard.case.documents import Look
from wizard.desktop import theme
from wizard.desktop.figures import FIGURES, by_user, places, same_now
from wizard.desktop.flow import Flow
from wizard.desktop.page import Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.card import Column
from wizard.desktop.widgets.table import Head, Row, Table
from wizard.desktop.widgets.terms import Terms, glossary
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.report.open_words import beside_words, bracket_words
from wizard.report.words import (
    amount,
    balance_words,
    basis_words,
    limit_words,
    place_words,
    text_or,
    user_words,
)

WORST_FIRST: tuple[State, ...] = ("over", "tight", "unknown", "room")


class LedgerPage(Page):
    """A table of budgets and the details of the one chosen."""

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("What the bus can carry"))
        self.setAccessibleName(self.title.text())
        self._texts = flow.engine.texts
        self._looks = -1
        self._entries: tuple[Entry, ...] = ()
        self._same: frozenset[str] = frozenset()
        self._tree = BusTree(Look().snapshot)
        self._look = Look()
        self.words.show()
        self._all = QCheckBox(self.tr("Show also what has &room, and plain figures"))
        self._all.setChecked(True)
        self._all.toggled.connect(self._fill)
        self.body.addWidget(self._all)
        self.table = Table(
            (
                Head(self.tr("State"), 6.0),
                Head(self.tr("Budget"), 6.0, shared=True),
                Head(self.tr("Where"), 6.4, shared=True),
                Head(self.tr("Used"), 4.4),
                Head(self.tr("Limit"), 4.4),
                Head(self.tr("Left over"), 4.8),
            ),
            self.tr("Budgets of the bus"),
        )
        self.table.row_chosen.connect(self._show_entry)
        self._details = Column(wide=True)
        self._details.setAccessibleName(self.tr("Details of the chosen budget"))
        split = QSplitter(Qt.Orientation.Vertical)
        split.addWidget(self.table)
        split.addWidget(self._details)
        split.setStretchFactor(0, 3)
        split.setStretchFactor(1, 2)
        split.setSizes([300, 200])
        split.setChildrenCollapsible(False)
        split.setHandleWidth(theme.px(0.6))
        self.body.addWidget(split, 1)
        self.terms = Terms(glossary(self._texts))
        self.body.addWidget(self.terms)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show the ledger of the look; one that was shown already keeps its place."""
        if session.looks == self._looks:
            return
        self._looks = session.looks
        self._look = session.look or Look()
        self._tree = BusTree(self._look.snapshot)
        self.words.say(self._summary())
        self._fill()

    def _summary(self) -> str:
        limited = places(self._look.ledger)
        counts = {state: sum(e.state == state for e in limited) for state in WORST_FIRST}
        with_room = self.tr("with room")
        told = ", ".join(
            f"{count} {with_room if state == 'room' else self._state_words(state)}"
            for state, count in counts.items()
            if count
        )
        return self.tr("Each place of the bus shares something out. Counted over all places: %1.").replace(
            "%1", told or self.tr("nothing")
        )

    def _state_words(self, state: State) -> str:
        return {
            "over": self.tr("overdrawn"),
            "tight": self.tr("tight"),
            "room": self.tr("room"),
            "unknown": self.tr("unknown"),
        }[state]

    def _fill(self) -> None:
        whole = self._all.isChecked()
        self._same = same_now(self._look.ledger)
        limited = [e for e in places(self._look.ledger) if whole or e.state != "room"]
        figures = [e for e in self._look.ledger if whole and e.budget in FIGURES]
        # What is in use now comes before the worst case.
        limited.sort(key=lambda e: (WORST_FIRST.index(e.state), e.budget == "periodic_time"))
        self._entries = (*limited, *figures)
        self._details.fill()
        self.table.show_rows([self._row(e) for e in self._entries])

    def _row(self, entry: Entry) -> Row:
        figure_only = entry.budget in FIGURES
        cells = (
            self.tr("a figure") if figure_only else self._state_words(entry.state),
            self._title(entry),
            place_words(entry.where, self._tree, entry.budget),
            amount(entry.used, entry.unit),
            self.tr("has none") if figure_only else limit_words(entry),
            "–" if figure_only else balance_words(entry),
        )
        return Row(cells, (None if figure_only else entry.state, *(None for _ in cells[1:])))

    def _known(self, entry: Entry) -> str:
        if entry.budget in FIGURES:
            return basis_words(entry.basis)
        return (
            self.tr("use %1, limit %2")
            .replace("%1", basis_words(entry.basis))
            .replace("%2", basis_words(entry.limit_basis))
        )

    def _show_entry(self, number: int) -> None:
        if number >= len(self._entries):
            return
        entry = self._entries[number]
        parts: list[QWidget] = [
            heading(f"{self._title(entry)}, {place_words(entry.where, self._tree, entry.budget)}"),
            Text(self._texts.get(f"budget.{entry.budget}.words") or "", quiet=True),
            Text(self._figures(entry)),
            *(Text(sentence) for sentence in beside_words(entry, self._texts)),
        ]
        users = by_user(entry)
        if users:
            lines = [f"{amount(used, entry.unit)}  {user_words(who, self._tree)}" for who, used in users]
            parts += [Text(self.tr("Used by"), bold=True), Text("\n".join(lines))]
        parts += [quiet(f"{self.tr('How it is known')}: {self._known(entry)}. {self.tr('Source')}: {entry.source}")]
        if entry.settles and bracket_words(entry, self._texts) is None:
            name = text_or(self._texts, f"observation.{entry.settles}.name", entry.settles)
            parts.append(quiet(self.tr("What would settle it: %1").replace("%1", name)))
        self._details.fill(*parts)
        self.terms.explain(part.text() for part in parts if isinstance(part, Text))
        self._details.verticalScrollBar().setValue(0)

    def _figures(self, entry: Entry) -> str:
        if entry.budget in FIGURES:
            return self.tr("At most %1. It has no limit; it is a figure to know.").replace(
                "%1", amount(entry.used, entry.unit)
            )
        told = (
            self.tr("%1 used of %2: %3.")
            .replace("%1", amount(entry.used, entry.unit))
            .replace("%2", limit_words(entry))
            .replace("%3", f"{self._state_words(entry.state)}, {self._left(entry)}")
        )
        if entry.if_full is not None:
            told += " " + self.tr("With every socket in use it would be %1.").replace(
                "%1", amount(entry.if_full, entry.unit)
            )
        if entry.greatest is not None:
            told += " " + self.tr("With the greatest settings it would be %1.").replace(
                "%1", amount(entry.greatest, entry.unit)
            )
        return told

    def _left(self, entry: Entry) -> str:
        return self.tr("what is left is unknown") if entry.left is None else balance_words(entry)

    def focus_first(self) -> None:
        """The table."""
        self.table.setFocus()

    def _title(self, entry: Entry) -> str:
        """The name of a budget; bus time that reads the same now and at most is told once."""
        title = text_or(self._texts, f"budget.{entry.budget}.title", entry.budget)
        both = entry.budget == "periodic_time_active" and entry.where in self._same
        return self.tr("%1 and at most").replace("%1", title) if both else title
