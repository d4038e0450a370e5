"""Answers that can't all be true: why, and a way to change the doubtful one. Lays out; decides nothing."""

from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton

from wizard.desktop import theme
from wizard.desktop.widgets.card import Card
from wizard.desktop.widgets.text import Text, quiet
from wizard.diagnosis.advice import Contradiction


def doubt_card(doubt: Contradiction, change: Callable[[], None]) -> Card:
    """One contradiction. `change` is called when the user wants to look at the doubtful answer again."""
    card = Card(warning=not doubt.settled)
    row = QHBoxLayout()
    row.addWidget(Text(_tr("These answers do not agree"), theme.HEADING, bold=True), 1)
    button = QPushButton(_tr("Change that answer…"))
    button.setAutoDefault(False)
    button.setAccessibleDescription(doubt.question.text)
    button.clicked.connect(change)
    row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
    card.column.addLayout(row)
    card.column.addWidget(Text(doubt.why))
    card.column.addWidget(Text(_tr("The doubtful one: %1").replace("%1", doubt.question.text)))
    card.column.addWidget(
        quiet(
            _tr("You looked at it again. While they do not agree, these answers count less.")
            if doubt.settled
            else _tr("While they do not agree, these answers count less.")
        )
    )
    return card


def _tr(text: str) -> str:
    return QCoreApplication.translate("Doubts", text)
