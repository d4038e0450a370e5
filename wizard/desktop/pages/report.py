"""The report: what will be in it, what is left out, and where to save it."""

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import QCheckBox, QFileDialog, QHBoxLayout, QPlainTextEdit, QPushButton, QWidget

from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.widgets.text import Text, quiet


class ReportPage(Page):
    """A preview and the buttons that save it."""

    preview_wanted = Signal(frozenset)
    save_wanted = Signal(str, frozenset)

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("A report for support, or for your own file"))
        self.setAccessibleName(self.title.text())
        self.words.say(
            self.tr("Serial numbers and the names of users and computers are left out unless you tick them in.")
        )
        self.words.show()
        self._revision = -1
        self.serials = QCheckBox(self.tr("With serial &numbers"))
        self.names = QCheckBox(self.tr("With names of &users and computers"))
        ticks = QHBoxLayout()
        for tick in (self.serials, self.names):
            tick.toggled.connect(self._renew)
            ticks.addWidget(tick)
        ticks.addStretch(1)
        self.body.addLayout(ticks)
        self.preview = QPlainTextEdit()
        self.preview.setReadOnly(True)
        self.preview.setAccessibleName(self.tr("Preview of the report"))
        self.preview.setFont(theme.sized(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont), 1.0))
        self.preview.setTabChangesFocus(True)
        self.body.addWidget(self.preview, 1)
        row = QHBoxLayout()
        label = Text(self.tr("Or save it as"))
        label.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(label)
        for ending, name in (
            ("pdf", self.tr("PDF to p&rint…")),
            ("txt", self.tr("plain &text…")),
            ("json", self.tr("case for another &PC…")),
        ):
            button = QPushButton(name)
            button.clicked.connect(lambda _on=False, ending=ending: self._choose(ending))
            row.addWidget(button)
        row.addStretch(1)
        self.body.addLayout(row)
        self._saved = quiet("")
        self.body.addWidget(self._saved)

    def keep(self) -> frozenset[str]:
        """What the user ticked in."""
        ticked = (("serials", self.serials), ("names", self.names))
        return frozenset(name for name, tick in ticked if tick.isChecked())

    def show_session(self, session: Session, flow: Flow) -> None:
        """Ask for a preview if the case has changed since the last one."""
        if session.problem is not None:
            self._saved.say("")
        if session.revision != self._revision:
            self._revision = session.revision
            self._saved.say("")
            self._renew()

    def _renew(self) -> None:
        self.preview.setPlainText(self.tr("One moment: the report is being put together…"))
        self.preview_wanted.emit(self.keep())

    def show_preview(self, text: str) -> None:
        """Show the text of the report."""
        self.preview.setPlainText(text)

    def show_saved(self, path: Path) -> None:
        """Say where it was saved."""
        self._saved.say(self.tr("Saved as %1").replace("%1", str(path)))

    def _choose(self, ending: str) -> None:
        dialog = QFileDialog(self, self.tr("Save the report"))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(ending)
        dialog.setNameFilter(f"{ending.upper()} (*.{ending})")
        dialog.selectFile(f"portmend-report.{ending}")
        dialog.fileSelected.connect(self.save_to)
        dialog.open()

    def save_to(self, path: str) -> None:
        """Save the report there; the ending picks the form."""
        if path:
            self._saved.say(self.tr("Saving… This can take a few seconds."))
        self.save_wanted.emit(path, self.keep())

    def primary(self, session: Session, flow: Flow) -> Action:
        """Saving is what this page is for."""
        return Action(self.tr("&Save as a web page…"))

    def press_primary(self) -> None:
        """Save the form that most people want."""
        self._choose("html")

    def focus_first(self) -> None:
        """The preview."""
        self.preview.setFocus()
