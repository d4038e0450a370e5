"""The first page: what is wrong. Several can be ticked; from two on, one of them is the worst."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QRadioButton, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.page import Page
from wizard.desktop.widgets.card import Card, Column, clear
from wizard.desktop.widgets.choice import Choice
from wizard.desktop.widgets.text import Text, quiet
from wizard.desktop.widgets.unfold import Unfold

if TYPE_CHECKING:  # so that this page can stand before these are loaded
    from wizard.desktop.flow import Flow
    from wizard.desktop.session import Session


@dataclass(frozen=True)
class Offer:
    """One symptom in words; `main` ones come first."""

    symptom: str
    title: str
    words: str
    main: bool


class TroublePage(Page):
    """Symptoms to tick."""

    chosen = Signal(tuple, object)  # symptoms ticked, the worst of them or None
    open_wanted = Signal(object)  # the path of a saved case, or None to choose one

    def __init__(self, offers: Sequence[Offer], parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("What is the trouble?"))
        self.setAccessibleName(self.title.text())
        self.words.say(self.tr("Tick everything that fits. The next pages look at the bus and ask what is still open."))
        self.words.show()
        self._last: Path | None = None
        self._worst_one: str | None = None
        self._choices: dict[str, Choice] = {}
        self._names: dict[str, str] = {}
        self._worst_row = QVBoxLayout()
        self._build(offers)

    def _build(self, offers: Sequence[Offer]) -> None:
        self._offer = Card()
        self._offer.hide()
        self._offer_words = Text("")
        button = QPushButton(self.tr("Go on with &it"))
        button.clicked.connect(lambda: self.open_wanted.emit(self._last))
        row = QHBoxLayout()
        row.addWidget(self._offer_words, 1)
        row.addWidget(button)
        self._offer.column.addLayout(row)

        grid = QGridLayout()
        grid.setSpacing(theme.px(0.5))
        grid.setContentsMargins(0, 0, 0, 0)
        for place, offer in enumerate(sorted(offers, key=lambda o: not o.main)):
            choice = Choice(offer.title, offer.words, "tick")
            choice.toggled.connect(self._say)
            self._choices[offer.symptom] = choice
            self._names[offer.symptom] = offer.title
            grid.addWidget(choice, place // 2, place % 2)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        holder = QWidget()
        holder.setLayout(grid)

        self._worst = Card()
        self._worst.hide()
        self._worst.column.addWidget(Text(self.tr("Which of them is the worst?"), bold=True))
        self._worst.column.addLayout(self._worst_row)

        why = self.tr(
            "What fails, and how, says most about the cause: late input points at shared time on the bus, drop-outs at "
            "power, cables and power saving, a drive without files at the drive itself. Tick what you see, not what "
            "you suspect. With several, the worst one is asked about first."
        )
        foot = QHBoxLayout()
        foot.addWidget(quiet(self.tr("Nothing is changed on this computer, and nothing leaves it.")), 1)
        saved = QPushButton(self.tr("Open a &saved case…"))
        saved.clicked.connect(lambda: self.open_wanted.emit(None))
        foot.addWidget(saved)
        column = Column()  # all of it scrolls together, so that large text leaves nothing out of sight for good
        column.fill(self._offer, holder, self._worst, Unfold(self.tr("Why do you ask?"), why), foot)
        self.body.addWidget(column, 1)

    def offer(self, path: Path | None, words: str) -> None:
        """Offer to go on with a case saved earlier; None takes the offer back."""
        self._last = path
        self._offer_words.say(words)
        self._offer.setVisible(path is not None)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Tick what the session has ticked."""
        if session.case is not None:
            self._offer.hide()
        self.show_ticks(session.ticked)

    def show_ticks(self, ticked: tuple[str, ...]) -> None:
        """Tick exactly these symptoms, the worst one first."""
        for symptom, choice in self._choices.items():
            choice.blockSignals(True)
            choice.setChecked(symptom in ticked)
            choice.blockSignals(False)
        self._worst_one = ticked[0] if ticked else None
        self._show_worst(ticked)

    def _show_worst(self, ticked: tuple[str, ...]) -> None:
        clear(self._worst_row)
        self._worst.setVisible(len(ticked) > 1)
        for symptom in (s for s in self._choices if s in ticked):
            button = QRadioButton(self._names[symptom].replace("&", "&&"))
            button.setChecked(symptom == ticked[0])
            button.clicked.connect(lambda _on=False, worst=symptom: self._say_worst(worst))
            self._worst_row.addWidget(button)

    def ticked(self) -> tuple[str, ...]:
        """The symptoms ticked."""
        return tuple(s for s, choice in self._choices.items() if choice.isChecked())

    def worst(self) -> str | None:
        """The worst of the symptoms ticked."""
        return self._worst_one

    def _say(self) -> None:
        self.chosen.emit(self.ticked(), None)

    def _say_worst(self, worst: str) -> None:
        self.chosen.emit(self.ticked(), worst)

    def focus_first(self) -> None:
        """The first symptom."""
        next(iter(self._choices.values())).setFocus()
