"""The row above the strips: search, zoom, fold, and the picture as text."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.text import quiet


def plain_button(words: str, name: str = "") -> QPushButton:
    button = QPushButton(words)
    button.setAutoDefault(False)
    if name:
        button.setAccessibleName(name)
        button.setToolTip(name)
    return button


class ToolRow(QWidget):
    """Search, zoom, fold, and the picture as text."""

    searched = Signal(str)
    next_wanted = Signal()
    zoom_wanted = Signal(int)  # 1 nearer, -1 further, 0 everything
    folds_wanted = Signal(bool)
    text_wanted = Signal(bool)
    overdrawn_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.search = QLineEdit()
        self.search.setPlaceholderText(self.tr("Find by name or number"))
        self.search.setAccessibleName(self.tr("Find a plug by its name, its place or its USB number"))
        self.search.setClearButtonEnabled(True)
        self.search.setMaximumWidth(theme.px(15))
        self.search.setMinimumWidth(theme.px(7))
        self.search.textChanged.connect(self.searched)
        self.search.returnPressed.connect(self.next_wanted)
        self.found = quiet("")
        self.found.setWordWrap(False)
        self.found.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.over = plain_button("")
        self.over.setToolTip(self.tr("Go to the next place where something is overdrawn"))
        self.over.clicked.connect(self.overdrawn_wanted)
        self.over.hide()
        self._further = plain_button("−", self.tr("Smaller"))
        self._nearer = plain_button("+", self.tr("Larger"))
        self._fit = plain_button(self.tr("Show all"), self.tr("See everything at once"))
        self._folds = plain_button(self.tr("Fold hubs"))
        self._folds.setCheckable(True)
        self.text = plain_button(self.tr("As text"))
        self.text.setCheckable(True)
        for button, step in ((self._further, -1), (self._nearer, 1), (self._fit, 0)):
            button.clicked.connect(lambda _on=False, step=step: self.zoom_wanted.emit(step))
            if step:
                button.setFixedWidth(theme.px(2.2))
        self._folds.clicked.connect(self.folds_wanted)
        self.text.toggled.connect(self.text_wanted)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.px(0.35))
        row.addWidget(self.search, 3)
        row.addWidget(self.found, 1)
        for button in (self.over, self._further, self._nearer, self._fit, self._folds, self.text):
            row.addWidget(button)

    def show_folds(self, folded: bool, any_hub: bool) -> None:
        """Whether hubs are folded now, and whether there is one to fold."""
        self._folds.setChecked(folded)
        self._folds.setText(self.tr("Unfold all") if folded else self.tr("Fold hubs"))
        self._folds.setEnabled(any_hub)

    def show_overdrawn(self, count: int) -> None:
        """At how many places something is overdrawn."""
        self.over.setText(self.tr("Overdrawn: %1").replace("%1", str(count)))
        self.over.setVisible(count > 0)

    def show_found(self, count: int | None) -> None:
        """How many plugs a search found; None while there is no search."""
        words = "" if count is None else self.tr("%1 found").replace("%1", str(count))
        self.found.say(words)

    def picture_shown(self, shown: bool) -> None:
        """Zooming and folding need the picture."""
        for button in (self.over, self._further, self._nearer, self._fit, self._folds):
            button.setEnabled(shown)
