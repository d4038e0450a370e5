"""Something that is one tap away: a quiet button that unfolds words below it. Knows no content."""

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QToolButton, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.icons import icon
from wizard.desktop.widgets.text import Text


class Unfold(QWidget):
    """A button with an icon, if one is named; pressed, it shows its words, pressed again it hides them."""

    def __init__(self, label: str, words: str, icon_name: str = "why", open_: bool = False) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(theme.TIGHT_GAP))
        self.button = QToolButton()
        self.button.setText(label)
        if icon_name:
            self.button.setIcon(icon(icon_name, theme.colours().accent))
        self.button.setIconSize(QSize(theme.px(1.1), theme.px(1.1)))
        self.button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.button.setAutoRaise(True)
        self.button.setCheckable(True)
        self.button.setCursor(Qt.CursorShape.PointingHandCursor)
        self.button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.button.setAccessibleDescription(words)
        self.words = Text(words)
        self.words.setContentsMargins(theme.px(1.7), 0, 0, theme.px(0.2))
        row = QHBoxLayout()
        row.addWidget(self.button)
        row.addStretch(1)
        column.addLayout(row)
        column.addWidget(self.words)
        self.button.toggled.connect(self.words.setVisible)
        self.button.setChecked(open_)
        self.words.setVisible(open_)
