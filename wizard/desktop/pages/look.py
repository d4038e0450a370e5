"""The look: where to look, how far it has got, and what was found. The misbehaving devices are ticked here."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QStackedWidget, QVBoxLayout, QWidget

from wizard.case.documents import Look
from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.page import Action, Page
from wizard.desktop.places import Aside
from wizard.desktop.session import Session, SourceKind
from wizard.desktop.widgets.beside_row import BesideRow
from wizard.desktop.widgets.card import Card, Column
from wizard.desktop.widgets.map_drawer import MapFeed
from wizard.desktop.widgets.share import Progress
from wizard.desktop.widgets.sources import Sources
from wizard.desktop.widgets.strip_map import StripMap
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.report.bus_part import unreadable_items


class LookPage(Page):
    """Choosing, looking, seen: one of three at a time."""

    look_wanted = Signal(object, str)  # a Source, and the path of a log or ""
    stop_wanted = Signal()
    open_wanted = Signal(object)  # None: let the user choose a case
    go_without = Signal()
    subject_ticked = Signal(tuple)

    def __init__(self, flow: Flow, parent: QWidget | None = None) -> None:
        super().__init__("", "", parent)
        self.title.say(self.tr("A look at the bus"))
        self.setAccessibleName(self.title.text())
        self._texts = flow.engine.texts
        self.sources = Sources()
        self.sources.changed.connect(self.acted)
        self.sources.exports_wanted.connect(lambda: self.aside_wanted.emit("exports"))
        self._looks = -1
        self._looking = False
        self._choosing = True
        self._is_demo = False
        self._stack = QStackedWidget()
        self._choose = Column()
        self._no_bus = Card(warning=True)
        self._build_no_bus()
        self._choose.fill(self._no_bus, self.sources)
        self._busy = self._build_busy()
        self._seen = self._build_seen()
        for panel in (self._choose, self._busy, self._seen):
            self._stack.addWidget(panel)
        self.body.addWidget(self._stack, 1)

    def _build_no_bus(self) -> None:
        self._no_bus.column.addWidget(heading(self.tr("There is no USB bus to read here.")))
        self._no_bus.column.addWidget(
            Text(
                self.tr(
                    "That is normal inside a virtual machine or a container, and on a system that does not let "
                    "programs see its bus. Describe the set-up by hand, take a demo to see how Portmend works, or go "
                    "on without a look and answer questions."
                )
            )
        )
        self._no_bus_notes = quiet("")
        self._no_bus.column.addWidget(self._no_bus_notes)
        self._no_bus.hide()

    def _build_busy(self) -> QWidget:
        panel = QWidget()
        column = QVBoxLayout(panel)
        column.setContentsMargins(0, theme.px(1), 0, 0)
        self._progress_words = Text(self.tr("Looking…"))
        self._progress = Progress(self.tr("How far the look has got"))
        stop = QPushButton(self.tr("&Stop looking"))
        stop.clicked.connect(self.stop_wanted)
        row = QHBoxLayout()
        row.addWidget(self._progress, 1)
        row.addWidget(stop)
        column.addWidget(self._progress_words)
        column.addLayout(row)
        column.addWidget(quiet(self.tr("A device that does not answer can hold this up for a few seconds.")))
        column.addStretch(1)
        return panel

    def _build_seen(self) -> QWidget:
        panel = QWidget()
        column = QVBoxLayout(panel)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(0.5))
        self._summary = heading("")
        self._again = QPushButton(self.tr("&Look again or elsewhere…"))
        self._again.clicked.connect(self._choose_again)
        top = QHBoxLayout()
        top.addWidget(self._summary, 1)
        top.addWidget(self._again)
        column.addLayout(top)
        self._notes = quiet("")
        column.addWidget(self._notes)
        self._unread = Card(warning=True)
        self._unread_words = Text("")
        self._unread.column.addWidget(Text(self.tr("Could not be read"), bold=True))
        self._unread.column.addWidget(self._unread_words)
        column.addWidget(self._unread)
        column.addWidget(
            Text(
                self.tr(
                    "Tick what misbehaves, if you can tell. Portmend then looks for the cause where it is plugged in."
                )
            )
        )
        self.map = StripMap(self._texts, ticking=True)
        self.map.ticked.connect(self.subject_ticked)
        self._feed = MapFeed(self.map)
        column.addWidget(self.map, 1)
        self.checks = BesideRow(
            self.tr("Look closer:"),
            (
                ("watch", self.tr("Follow the bus")),
                ("pace", self.tr("Measure a control")),
                ("drive", self.tr("Look at a drive")),
                ("describe", self.tr("Change the set-up")),
            ),
        )
        self.checks.wanted.connect(self.aside_wanted)
        column.addWidget(self.checks)
        return panel

    def _choose_again(self) -> None:
        self._choosing = True
        self._stack.setCurrentWidget(self._choose)
        self.show_low()
        self.sources.focus_picked()
        self.acted.emit()

    def show_looking(self, looking: bool, text: str = "", share: float | None = None) -> None:
        """Show that a look is under way, how far it has got, or that it ended."""
        if looking != self._looking:
            self._looking = looking
            self._stack.setCurrentWidget(self._busy if looking else self._choose if self._choosing else self._seen)
            self.acted.emit()
        if looking:
            self._progress_words.say(text or self.tr("Looking…"))
            self._progress.show_share(share)

    def show_session(self, session: Session, flow: Flow) -> None:
        """Show what the look found; a look that was shown already keeps its place."""
        if session.looks != self._looks:
            self._looks = session.looks
            self._choosing = not session.has_bus
            self.show_low()
            look = session.look
            self._is_demo = session.demo is not None
            self._no_bus.setVisible(look is not None and not look.has_bus)
            self._no_bus_notes.say("\n".join(look.notes) if look is not None else "")
            if look is not None and look.has_bus:
                self._show_look(look)
            elif look is not None and self.sources.kind == "live":
                self.sources.pick("demo")
        if session.has_bus:
            self._feed.show(session)
        self.checks.offer(self._closer(session))
        if not self._looking:
            self._stack.setCurrentWidget(self._choose if self._choosing or not session.has_bus else self._seen)

    def _closer(self, session: Session) -> tuple[Aside, ...]:
        """What can be measured: only this computer, and only what is there."""
        if session.source is not None and session.source.kind == "described":
            return ("describe",)
        return ("watch", "pace", "drive") if session.source is not None and session.source.kind == "live" else ()

    def _show_look(self, look: Look) -> None:
        self._summary.say(self._counted(look))
        self._notes.say("\n".join(look.notes))
        self.show_low()
        unread = unreadable_items(look.snapshot)
        shown = [item.text for item in unread[:3]]
        if len(unread) > len(shown):
            shown.append(self.tr("and %1 more").replace("%1", str(len(unread) - len(shown))))
        self._unread_words.say("\n".join(shown))
        self._unread.setVisible(bool(unread))

    def show_low(self) -> None:
        """Where there is little room the map has it: that it is a demo stands at the foot of the window too."""
        self._notes.setVisible(bool(self._notes.text()) and not (self.low and self._is_demo))
        self.title.setVisible(not self.low or self._choosing)

    def _counted(self, look: Look) -> str:
        devices = [d for d in look.snapshot.devices if not d.root]
        hubs = sum(d.hub is not None for d in devices)
        parts = (
            _counted(len(look.snapshot.controllers), self.tr("controller"), self.tr("controllers")),
            _counted(hubs, self.tr("hub"), self.tr("hubs")),
            _counted(len(devices) - hubs, self.tr("device"), self.tr("devices")),
            _counted(len(look.signs), self.tr("sign in the log"), self.tr("signs in the log")) if look.signs else "",
        )
        return self.tr("Seen: %1").replace("%1", ", ".join(p for p in parts if p))

    def primary(self, session: Session, flow: Flow) -> Action:
        """Look, or go on."""
        if self._looking:
            return Action(self.tr("Looking…"), False)
        if not self._choosing:
            return super().primary(session, flow)
        words: dict[SourceKind, str] = {
            "live": self.tr("&Look at this PC"),
            "captured": self.tr("&Look at this capture"),
            "described": self.tr("&Describe it"),
            "demo": self.tr("&Take this demo"),
            "saved": self.tr("Choose a sa&ved case…"),
            "none": self.tr("&Go on without a look"),
        }
        return Action(words[self.sources.kind], self.sources.source() is not None and bool(session.ticked))

    def press_primary(self) -> None:
        """Do what the main action says."""
        source = self.sources.source()
        if not self._choosing:
            self.go_on.emit()
        elif source is None:
            return
        elif source.kind == "none":
            self.go_without.emit()
        elif source.kind == "described":
            self.aside_wanted.emit("describe")
        elif source.kind == "saved":
            self.open_wanted.emit(None)
        else:
            self.look_wanted.emit(source, self.sources.log_path if source.kind == "live" else "")

    def secondary(self, session: Session, flow: Flow) -> Action | None:
        """Back to what was seen, while choosing another look."""
        keep = self._choosing and session.has_bus and not self._looking
        return Action(self.tr("&Keep the look there is")) if keep else None

    def press_secondary(self) -> None:
        """Keep the look there is."""
        self._choosing = False
        self.show_low()
        self._stack.setCurrentWidget(self._seen)
        self.acted.emit()

    def focus_first(self) -> None:
        """The picked source, or the map."""
        if self._choosing:
            self.sources.focus_picked()
        else:
            self.map.setFocus()


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
