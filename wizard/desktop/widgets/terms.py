"""Words of the trade that a page uses, each explained one tap away. Finds them in the page's own text."""

import re
from collections.abc import Iterable, Mapping

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.icons import Icon
from wizard.desktop.widgets.card import clear
from wizard.desktop.widgets.text import Text, quiet
from wizard.diagnosis.texts import Texts

MOST = 6
"""Words offered at once: more would be a dictionary (common practice, no source)."""


def terms_in(text: str, titles: Mapping[str, str]) -> tuple[str, ...]:
    """Ids of the terms whose title stands in a text as a word of its own, singular or plural, the first first."""
    found = []
    for term, title in titles.items():
        match = re.search(rf"\b{re.escape(title)}s?\b", text, re.IGNORECASE)
        if match:
            found.append((match.start(), term))
    return tuple(term for _place, term in sorted(found))


def glossary(texts: Texts) -> dict[str, tuple[str, str]]:
    """Title and words of every term that has both."""
    found = {}
    for key in sorted(texts.keys()):
        if key.startswith("term.") and key.endswith(".title"):
            term = key.split(".")[1]
            found[term] = (texts[key], texts.get(f"term.{term}.words") or "")
    return found


class Terms(QWidget):
    """A line of words; the one pressed is explained below them, pressed again the explanation goes."""

    def __init__(self, glossary: Mapping[str, tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._glossary = glossary
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self._row = QHBoxLayout()
        self._row.setSpacing(theme.px(0.1))
        column.addLayout(self._row)
        self.words = Text("")
        self.words.setContentsMargins(theme.px(1.5), 0, 0, theme.px(0.2))
        self.words.hide()
        column.addWidget(self.words)
        self._shown: tuple[str, ...] = ()
        self._buttons: dict[str, QToolButton] = {}
        self.hide()

    def explain(self, texts: Iterable[str]) -> None:
        """Offer the words that stand in these texts."""
        titles = {term: title for term, (title, _words) in self._glossary.items()}
        found = terms_in("\n".join(texts), titles)[:MOST]
        if found == self._shown:
            return
        self._shown = found
        clear(self._row)
        self.words.hide()
        self._row.addWidget(Icon("term", "quiet", 1.1))
        label = quiet(QCoreApplication.translate("Terms", "What it means:"))
        label.setWordWrap(False)
        self._row.addWidget(label, 0, Qt.AlignmentFlag.AlignVCenter)
        self._buttons = {term: self._button(term) for term in found}
        for button in self._buttons.values():
            self._row.addWidget(button)
        self._row.addStretch(1)
        self.setVisible(bool(found))

    def _button(self, term: str) -> QToolButton:
        title, words = self._glossary[term]
        button = QToolButton()
        button.setText(title)
        button.setAutoRaise(True)
        button.setCheckable(True)
        button.setCursor(Qt.CursorShape.WhatsThisCursor)
        button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        button.setAccessibleDescription(words)
        font = theme.sized(button.font(), theme.SMALL)
        font.setUnderline(True)
        button.setFont(font)
        button.clicked.connect(lambda on=False: self._show(term, on))
        return button

    def _show(self, term: str, on: bool) -> None:
        for other, button in self._buttons.items():
            button.setChecked(on and other == term)
        title, words = self._glossary[term]
        self.words.say(f"{title[0].upper()}{title[1:]}: {words}")
        self.words.setVisible(on)
