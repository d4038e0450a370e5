"""One cause on the findings page: how likely it is, the balance of the evidence, and the reasons in words.

Lays out; judges nothing.
"""

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.balance import Balance
from wizard.desktop.widgets.card import Card
from wizard.desktop.widgets.share import ShareBar
from wizard.desktop.widgets.text import Text, quiet
from wizard.desktop.widgets.unfold import Unfold
from wizard.diagnosis.advice import Evidence, Finding
from wizard.diagnosis.rulebook import DECIBANS
from wizard.report.advice_part import percent
from wizard.report.clean import one_line
from wizard.report.words import figure


def finding_card(
    number: int, name: str, words: str, finding: Finding, told: Callable[[Evidence], str], whole: bool
) -> Card:
    """The card of one cause; `told` says a reason in words. If not `whole`, its evidence is one tap away."""
    card = Card()
    card.setAccessibleName(name)
    row = QHBoxLayout()
    row.addWidget(Text(f"{number}. {name}", theme.HEADING, bold=True), 1)
    share = Text(f"{likely(finding.share)}, {percent(finding.share)}", bold=True)
    share.setWordWrap(False)
    row.addWidget(share, 0, Qt.AlignmentFlag.AlignTop)
    card.column.addLayout(row)
    card.column.addWidget(ShareBar(finding.share))
    if words:
        card.column.addWidget(Text(words))
    evidence = _Evidence(finding, told)
    if whole:
        card.column.addWidget(evidence)
    else:
        fold = Unfold(_tr("What speaks for and against it"), "", "balance")
        fold.words.hide()
        fold.button.toggled.disconnect(fold.words.setVisible)
        fold.button.toggled.connect(evidence.setVisible)
        evidence.hide()
        card.column.addWidget(fold)
        card.column.addWidget(evidence)
    return card


class _Evidence(QWidget):
    """Balance, and below its two sides the reasons they are made of."""

    def __init__(self, finding: Finding, told: Callable[[Evidence], str]) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(theme.TIGHT_GAP))
        if finding.for_ or finding.against:
            column.addWidget(
                Balance(
                    [(e.weight, one_line(told(e))) for e in finding.for_],
                    [(e.weight, one_line(told(e))) for e in finding.against],
                )
            )
        grid = QGridLayout()
        grid.setHorizontalSpacing(theme.px(theme.WIDE_GAP))
        grid.addLayout(_side(_tr("Speaks for it"), finding.for_, told), 0, 0)
        grid.addLayout(_side(_tr("Speaks against it"), finding.against, told), 0, 1)
        grid.setColumnStretch(0, 3 if finding.for_ else 2)
        grid.setColumnStretch(1, 3 if finding.against else 2)
        column.addLayout(grid)
        sources = "\n".join(
            f"{figure(e.weight)} {side} {one_line(told(e))} {_tr('Source')}: {e.source}"
            for side, reasons in ((_tr("for it:"), finding.for_), (_tr("against it:"), finding.against))
            for e in reasons
        )
        if sources:
            column.addWidget(Unfold(_tr("Weights and sources"), sources, "term"))


def _side(label: str, reasons: tuple[Evidence, ...], told: Callable[[Evidence], str]) -> QVBoxLayout:
    column = QVBoxLayout()
    column.setSpacing(theme.px(theme.TIGHT_GAP))
    column.addWidget(Text(label, bold=True))
    if not reasons:
        column.addWidget(quiet(_tr("Nothing seen or told so far.")))
    for reason in reasons:
        column.addWidget(Text(f"{strength(reason.weight)}: {told(reason)}"))
    column.addStretch(1)
    return column


def likely(share: float) -> str:
    """A share of belief in words."""
    if share >= 0.8:
        return _tr("very likely")
    if share >= 0.5:
        return _tr("likely")
    return _tr("possible") if share >= 0.15 else _tr("not likely")


def strength(weight: float) -> str:
    """A weight in decibans in the words of the rulebook's named strengths."""
    if weight >= DECIBANS["decisive"]:
        return _tr("Decisive")
    if weight >= DECIBANS["strong"]:
        return _tr("Strong")
    return _tr("Fair") if weight >= DECIBANS["fair"] else _tr("A hint")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Finding", text)
