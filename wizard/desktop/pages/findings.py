"""The findings: causes with their share, what speaks for and against each, and what stays unknown."""

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wizard.bus.tree import BusTree
from wizard.case.documents import Advice, Look
from wizard.desktop.figures import without_figures
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.card import Card, Column, Rule
from wizard.desktop.widgets.doubts import doubt_card
from wizard.desktop.widgets.finding import finding_card
from wizard.desktop.widgets.terms import Terms, glossary
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.diagnosis.advice import Finding
from wizard.diagnosis.rulebook import UNKNOWN
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
        self._column = Column()
        self.body.addWidget(self._column, 1)
        self.terms = Terms(glossary(self._texts))
        self.body.addWidget(self.terms)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show the findings; those that were shown already keep their place."""
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

    def _told(self, findings: list[Finding], tree: BusTree) -> list[str]:
        """The words of the findings, to find those that need explaining."""
        words = [self._texts.get(f"cause.{f.id}.words") or "" for f in findings]
        return words + [reason_words(r, tree) for f in findings for r in (*f.for_, *f.against)]

    def _summary(self, session: Session, advice: Advice) -> str:
        answered = len(_known_answers(session))
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

    def _card(self, number: int, finding: Finding, tree: BusTree) -> Card:
        return finding_card(
            number,
            cause_words(finding.id, self._texts),
            self._texts.get(f"cause.{finding.id}.words") or "",
            finding,
            lambda reason: reason_words(reason, tree),
            whole=number == 1,
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


def _known_answers(session: Session) -> list[str]:
    """What was answered otherwise than with `don't know`."""
    given = {} if session.case is None else session.case.observations
    return [o for o in session.asked if given.get(o) not in (None, UNKNOWN)]
