"""The findings: causes with their share, what speaks for and against each, and what stays unknown."""

from collections.abc import Collection
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wizard.bus.tree import BusTree
from wizard.case.documents import Advice, Look
from wizard.desktop.figures import without_figures
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.card import WIDEST, Card, Column, Rule
from wizard.desktop.widgets.doubts import doubt_card
from wizard.desktop.widgets.finding import finding_card
from wizard.desktop.widgets.map_drawer import MapDrawer
from wizard.desktop.widgets.terms import Terms, glossary
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.diagnosis.advice import Evidence, Finding
from wizard.report.advice_part import LEAST_SHARE, MOST_FINDINGS, cause_words, percent, reason_words, unknown_section
from wizard.report.blocks import Listing

MOST_UNKNOWNS = 12
"""Unknown things named on the page: common practice (no source). The report names all."""


class FindingsPage(Page):
    """Causes, likeliest first."""

    ask_more = Signal()
    doubted = Signal(str)  # the contradiction whose doubtful answer is to be looked at

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("What we found"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self._texts = flow.engine.texts
        self._shown: Advice | None = None
        self.drawer = MapDrawer(self.tr("Look at it on the strip &map"), self._texts)
        self.drawer.place_chosen.connect(self._narrow)
        self.body.addWidget(self.drawer, 0)
        self._only, self._only_row = Text(""), QWidget()
        self._build_only()
        self._places: frozenset[str] = frozenset()
        self._session: tuple[Session, Flow] | None = None
        self._column = Column()
        self.widest = WIDEST
        self.body.addWidget(self._column, 2)
        self.drawer.toggled.connect(lambda opened: self.body.setStretchFactor(self.drawer, 4 if opened else 0))
        self.terms = Terms(glossary(self._texts))
        self.body.addWidget(self.terms)
        self.drawer.giving_way = (self._column, self.terms)

    def _build_only(self) -> None:
        """What is said while only the evidence about one place is shown."""
        row = QHBoxLayout(self._only_row)
        row.setContentsMargins(0, 0, 0, 0)
        button = QPushButton(self.tr("Show all the evidence"))
        button.setAutoDefault(False)
        button.clicked.connect(self._widen)
        row.addWidget(self._only, 1)
        row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addWidget(self._only_row)
        self._only_row.hide()

    def _narrow(self, name: str, places: frozenset[str]) -> None:
        """Show only the evidence about a place; an empty set shows all."""
        self._places = places
        self._only.say(self.tr("Only the evidence about this place is shown: %1").replace("%1", name))
        self._only_row.setVisible(bool(places))
        if places:  # whoever asks for evidence wants to see it
            self._column.show()
        else:
            self.drawer.make_room()
        if self._session is not None:
            self._shown = None
            self.show_session(*self._session)

    def _widen(self) -> None:
        if self.drawer.map is not None:
            self.drawer.map.forget_choice()

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show the findings; those that were shown already keep their place."""
        self._session = session, flow
        self.drawer.show_session(session)
        advice = session.advice
        if advice is None:
            self._shown = None
            self.words.say(self.tr("One moment: the evidence is being added up…"))
            self._column.fill()
            return
        if advice is self._shown:
            return
        self._shown = advice
        self.words.say(self._summary(session, advice))
        if self._places:
            self._show_narrowed(session, advice)
            return
        told = [f for i, f in enumerate(advice.causes) if i == 0 or (i < MOST_FINDINGS and f.share >= LEAST_SHARE)]
        parts: list[QWidget] = [doubt_card(c, partial(self.doubted.emit, c.id)) for c in advice.contradictions]
        tree = BusTree((session.look or Look()).snapshot)
        parts += [self._card(number, finding, tree) for number, finding in enumerate(told, 1)]
        parts += [
            Text(
                self.tr("%1 and %2 may both be at work.")
                .replace("%1", cause_words(one, self._texts))
                .replace("%2", cause_words(other, self._texts))
            )
            for one, other in advice.together
        ]
        rest = advice.causes[len(told) :]
        if rest:
            parts += [heading(self.tr("Less likely")), Text(self._less_likely(rest), quiet=True)]
        parts += self._unknown(session, flow)
        parts += [quiet(note) for note in advice.notes]
        self._column.fill(*parts)
        self._column.verticalScrollBar().setValue(0)
        self.terms.explain(self._told(told, tree))

    def _show_narrowed(self, session: Session, advice: Advice) -> None:
        """Every cause that some evidence about the chosen place speaks for or against, with that evidence alone."""
        tree = BusTree((session.look or Look()).snapshot)
        numbered = [(n, about(f, self._places)) for n, f in enumerate(advice.causes, 1)]
        told = [(n, f) for n, f in numbered if f.for_ or f.against]
        parts: list[QWidget] = [self._card(n, f, tree, whole=True) for n, f in told[:MOST_FINDINGS]]
        self._column.fill(*parts or [Text(self.tr("No evidence names this place."))])
        self._column.verticalScrollBar().setValue(0)

    def _told(self, findings: list[Finding], tree: BusTree) -> list[str]:
        """The words of the findings, to find those that need explaining."""
        words = [self._texts.get(f"cause.{f.id}.words") or "" for f in findings]
        return words + [reason_words(r, tree) for f in findings for r in (*f.for_, *f.against)]

    def _summary(self, session: Session, advice: Advice) -> str:
        answered = len(session.known_answers)
        first = advice.causes[0] if advice.causes else None
        if answered == 0 and not session.has_bus:
            return self.tr("Nothing is known yet: this only tells how often each cause is behind such a trouble.")
        if answered == 0:
            said = self.tr("From the look alone.")
            if not session.asked and advice.next_question is None:
                said += " " + self.tr("No question was left that could change the first cause or the first step.")
            return said
        words = self.tr("From %1 and the look.") if session.has_bus else self.tr("From %1, without a look.")
        said = words.replace(
            "%1", self.tr("1 answer") if answered == 1 else self.tr("%1 answers").replace("%1", str(answered))
        )
        if first is not None and first.share < 0.5:
            said += " " + self.tr("No cause stands out yet; the plan begins with what is free and harmless.")
        return said

    def _card(self, number: int, finding: Finding, tree: BusTree, whole: bool = False) -> Card:
        return finding_card(
            number,
            cause_words(finding.id, self._texts),
            self._texts.get(f"cause.{finding.id}.words") or "",
            finding,
            lambda reason: reason_words(reason, tree),
            whole=whole or number == 1,
        )

    def _less_likely(self, rest: tuple[Finding, ...]) -> str:
        named = [f for f in rest if f.share >= 0.01]
        parts = [f"{cause_words(f.id, self._texts)} ({percent(f.share)})" for f in named]
        if len(named) < len(rest):
            words = self.tr("%1 others, each below 1 %") if named else self.tr("%1 causes, each below 1 %")
            parts.append(words.replace("%1", str(len(rest) - len(named)), 1))
        return "; ".join(parts)

    def _unknown(self, session: Session, flow: Flow) -> list[QWidget]:
        assert session.case is not None
        assert session.advice is not None
        parts: list[QWidget] = [heading(self.tr("What stays unknown"))]
        question = session.advice.next_question
        if question is not None:
            card = Card()
            row = QHBoxLayout()
            row.addWidget(Text(self.tr("This would help most: %1").replace("%1", question.text)), 1)
            button = QPushButton(self.tr("&Answer it"))
            button.clicked.connect(self.ask_more)
            row.addWidget(button)
            card.column.addLayout(row)
            parts.append(card)
        look = without_figures(session.look or Look())
        section = unknown_section(session.case, look, session.advice, self._texts)
        lines = [item.text for block in section.blocks if isinstance(block, Listing) for item in block.items]
        if len(lines) > MOST_UNKNOWNS:
            left_out = str(len(lines) - MOST_UNKNOWNS)
            lines = [*lines[:MOST_UNKNOWNS], self.tr("and %1 more, all of them in the report").replace("%1", left_out)]
        told = "\n".join(f"– {line}" for line in lines)
        parts.append(Text(told or self.tr("Nothing that would change the answer."), quiet=True))
        parts.append(Rule())
        parts.append(
            quiet(
                self.tr(
                    "The wider a block on the beam, the heavier its reason: ten decibans make a cause ten times as "
                    "likely as before, three about twice. The share is what all of them together leave each cause."
                )
            )
        )
        return parts

    def primary(self, session: Session, flow: Flow) -> Action:
        """On to the plan."""
        return Action(self.tr("&Go on to the plan"), flow.can_go_next(session))

    def focus_first(self) -> None:
        """The text."""
        self._column.setFocus()


def about(finding: Finding, places: Collection[str]) -> Finding:
    """A finding with only those reasons that stand at one of these places: `budget@place` or `sign@place`, the place a
    part of one as in `1-3/tt2` included."""

    def there(reason: Evidence) -> bool:
        _, at, where = reason.on.partition("@")
        return bool(at) and (where in places or where.partition("/")[0] in places)

    kept = {"for_": tuple(filter(there, finding.for_)), "against": tuple(filter(there, finding.against))}
    return finding.model_copy(update=kept)
