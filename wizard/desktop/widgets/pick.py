"""A list of choices of which one is picked, such as the device to measure. Knows no content."""

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.card import clear
from wizard.desktop.widgets.choice import Choice


class Pick(QWidget):
    """`changed` says that another one was picked."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(theme.px(theme.TIGHT_GAP))
        self._choices: dict[str, Choice] = {}
        self.picked = ""

    def offer(self, choices: Sequence[tuple[str, str, str, bool]], picked: str = "") -> None:
        """Choices as (id, title, words, whether it can be picked); `picked` is picked, else the first that can be."""
        clear(self._column)
        self._choices = {}
        for name, title, words, can in choices:
            choice = Choice(title, words, "pick")
            choice.setEnabled(can)
            choice.clicked.connect(lambda _on=False, name=name: self.pick(name))
            self._choices[name] = choice
            self._column.addWidget(choice)
        able = [name for name, _title, _words, can in choices if can]
        self.pick(picked if picked in able else able[0] if able else "")

    def pick(self, name: str) -> None:
        """Pick this one."""
        self.picked = name
        for other, choice in self._choices.items():
            choice.setChecked(other == name)
        self.changed.emit()
