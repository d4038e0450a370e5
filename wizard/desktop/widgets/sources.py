"""Where to look: this PC, a capture, a demo, a saved case, or nowhere. Shows the choices and keeps the one picked."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.icons import icon
from wizard.desktop.session import Source, SourceKind
from wizard.desktop.widgets.card import clear
from wizard.desktop.widgets.choice import Choice
from wizard.desktop.widgets.text import quiet
from wizard.desktop.widgets.unfold import Unfold
from wizard.store.demos import Demo


class Sources(QWidget):
    """The choices of a look. `changed` says that another one was picked or filled in."""

    changed = Signal()
    exports_wanted = Signal()  # show how files are made on another computer

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.kind: SourceKind = "live"
        self.log_path = ""
        self._capture = ""
        self._demo = ""
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(0.5))
        self._choices: dict[SourceKind, Choice] = {}
        self._details: dict[SourceKind, QWidget] = {
            "live": self._log_row(),
            "captured": self._capture_row(),
            "demo": self._demo_rows(),
        }
        for kind, name, words in self._offers():
            choice = Choice(name, words, "pick")
            choice.clicked.connect(lambda _on=False, kind=kind: self.pick(kind))
            self._choices[kind] = choice
            column.addWidget(choice)
            if kind in self._details:
                column.addWidget(self._details[kind])
        why = self.tr(
            "What hangs where, and how much of each budget it takes, decides between many causes at once, and spares "
            "you questions. A look only reads."
        )
        column.addWidget(Unfold(self.tr("Why look at all?"), why))
        self.pick("live")

    def _offers(self) -> tuple[tuple[SourceKind, str, str], ...]:
        return (
            ("live", self.tr("This PC"), self.tr("Reads what is plugged in now. It only reads; it changes nothing.")),
            (
                "captured",
                self.tr("A capture of another PC"),
                self.tr(
                    "What Portmend captured on Linux, or the list of devices that a command saves on Windows or macOS."
                ),
            ),
            (
                "described",
                self.tr("A set-up described by hand"),
                self.tr("Put it together from typical devices: for another PC, or where the bus can’t be read."),
            ),
            (
                "demo",
                self.tr("A demo"),
                self.tr("An invented set-up with a trouble that can be solved, to try things out."),
            ),
            ("saved", self.tr("A saved case"), self.tr("Go on with a case that was saved here or sent to you.")),
            (
                "none",
                self.tr("No look at all"),
                self.tr("Answer questions only. Then nothing is known of the budgets of the bus."),
            ),
        )

    def _log_row(self) -> QWidget:
        holder, row = _row()
        self._log_words = quiet(self.tr("A system log (optional) tells what the system itself complained about."))
        self._log_button = QPushButton(self.tr("Add a log &file…"))
        self._log_button.clicked.connect(self._choose_log)
        row.addWidget(self._log_words, 1)
        row.addWidget(self._log_button)
        row.addWidget(self._exports_button())
        return holder

    def _capture_row(self) -> QWidget:
        holder, row = _row()
        self._capture_words = quiet(self.tr("Nothing chosen yet."))
        archive, folder = QPushButton(self.tr("Choose &a file…")), QPushButton(self.tr("Choose a &folder…"))
        archive.clicked.connect(self._choose_archive)
        folder.clicked.connect(self._choose_folder)
        row.addWidget(self._capture_words, 1)
        row.addWidget(archive)
        row.addWidget(folder)
        row.addWidget(self._exports_button())
        return holder

    def _exports_button(self) -> QPushButton:
        button = QPushButton(icon("exports"), self.tr("How to make files…"))
        button.setToolTip(self.tr("The commands that make such files on Windows, macOS and Linux"))
        button.setAutoDefault(False)
        button.clicked.connect(self.exports_wanted)
        return button

    def _demo_rows(self) -> QWidget:
        holder = QWidget()
        self._demo_column = QVBoxLayout(holder)
        self._demo_column.setContentsMargins(theme.px(1.6), 0, 0, 0)
        self._demo_column.addWidget(quiet(self.tr("Fetching the demos…")))
        return holder

    def offer_demos(self, demos: tuple[Demo, ...]) -> None:
        """The demos there are."""
        clear(self._demo_column)
        for demo in demos:
            choice = Choice(demo.title, demo.story.strip(), "pick")
            choice.setProperty("demo", demo.name)
            choice.clicked.connect(lambda _on=False, name=demo.name: self._pick_demo(name))
            self._demo_column.addWidget(choice)
        if demos and not self._demo:
            self._pick_demo(demos[0].name)

    def pick(self, kind: SourceKind) -> None:
        """Pick a kind of source."""
        self.kind = kind
        for other, choice in self._choices.items():
            choice.setChecked(other == kind)
        for other, detail in self._details.items():
            detail.setVisible(other == kind)
        self.changed.emit()

    def _pick_demo(self, name: str) -> None:
        self._demo = name
        for place in range(self._demo_column.count()):
            item = self._demo_column.itemAt(place)
            choice = item.widget() if item is not None else None
            if isinstance(choice, Choice):
                choice.setChecked(choice.property("demo") == name)
        self.changed.emit()

    def pick_capture(self, path: str) -> None:
        """Pick a capture by its path."""
        if path:
            self._capture = path
            self._capture_words.say(path)
            self.changed.emit()

    def add_log(self, path: str) -> None:
        """Take a log file along."""
        self.log_path = path
        if path:
            self._log_words.say(self.tr("With the log %1").replace("%1", path))

    def source(self) -> Source | None:
        """What is picked, or None while something is still missing."""
        name = {"captured": self._capture, "demo": self._demo}.get(self.kind, "")
        return None if self.kind in ("captured", "demo") and not name else Source(self.kind, name)

    def _choose_archive(self) -> None:
        dialog = QFileDialog(self, self.tr("Choose a capture or a file of devices"))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setNameFilters(
            [self.tr("Captures and files of devices (*.tar *.tar.gz *.tgz *.json *.txt)"), self.tr("All files (*)")]
        )
        dialog.fileSelected.connect(self.pick_capture)
        dialog.open()

    def _choose_folder(self) -> None:
        dialog = QFileDialog(self, self.tr("Choose the folder that holds “sys”"))
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.fileSelected.connect(self.pick_capture)
        dialog.open()

    def _choose_log(self) -> None:
        dialog = QFileDialog(self, self.tr("Choose a system log"))
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(self.add_log)
        dialog.open()

    def focus_picked(self) -> None:
        """Put the keyboard on the choice that is picked."""
        self._choices[self.kind].setFocus()


def _row() -> tuple[QWidget, QHBoxLayout]:
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(theme.px(1.6), 0, 0, 0)
    return holder, row
