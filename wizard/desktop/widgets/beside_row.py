"""A row of buttons that open what stands beside a page, each with its icon. Decides nothing."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wizard.desktop import theme
from wizard.desktop.icons import icon
from wizard.desktop.places import Aside
from wizard.desktop.widgets.text import quiet


class BesideRow(QWidget):
    """`wanted` carries what to open."""

    wanted = Signal(str)

    def __init__(self, words: str, offers: Sequence[tuple[Aside, str]]) -> None:
        super().__init__()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.px(0.4))
        if words:
            label = quiet(words)
            label.setWordWrap(False)
            row.addWidget(label, 0, Qt.AlignmentFlag.AlignVCenter)
        self.buttons: dict[Aside, QPushButton] = {}
        for aside, name in offers:
            button = QPushButton(icon(aside), name)
            button.setIconSize(QSize(theme.px(1.1), theme.px(1.1)))
            button.setAutoDefault(False)
            button.clicked.connect(lambda _on=False, aside=aside: self.wanted.emit(aside))
            row.addWidget(button)
            self.buttons[aside] = button
        row.addStretch(1)

    def offer(self, asides: Sequence[Aside]) -> None:
        """Show only these; the row hides if there are none."""
        for aside, button in self.buttons.items():
            button.setVisible(aside in asides)
        self.setVisible(bool(asides))
