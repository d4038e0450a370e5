"""Describing a set-up by hand: typical devices put into sockets one after another, for another PC or without rights.

Whatever is chosen goes into the socket marked as next, and the mark moves on by itself.
"""

from functools import partial

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QPushButton, QToolButton, QVBoxLayout, QWidget

from wizard.budget.described import Described
from wizard.bus.errors import BadInputError
from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.icons import icon
from wizard.desktop.page import Action, Page
from wizard.desktop.session import Session
from wizard.desktop.set_up import HOSTS, Place, fresh_name, next_free, places
from wizard.desktop.widgets.card import Column
from wizard.desktop.widgets.choice import Choice
from wizard.desktop.widgets.text import Text, quiet
from wizard.report.clean import one_line


class DescribePage(Page):
    """`described` carries the finished set-up."""

    described = Signal(object)

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("Describe a set-up by hand"))
        self.setAccessibleName(self.title.text())
        self.words.say(
            self.tr(
                "Choose what is plugged in; it goes into the socket marked as next. The figures of typical devices are "
                "assumed, so what comes of it is a good guess and no more."
            )
        )
        self.words.show()
        self._engine = flow.engine
        self.at: Described = self._engine.describe((HOSTS["desktop"],))
        self.socket: str = next_free(self.at, "") or ""
        self._sockets = Column()
        self._kinds = Column()
        self.search = QLineEdit()
        self.search.setPlaceholderText(self.tr("Type to find a kind; Return takes the first"))
        self.search.setAccessibleName(self.tr("Find a kind of device"))
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._filter)
        self.search.returnPressed.connect(self._take_first)
        self._trouble = Text("", bold=True)
        self._trouble.hide()
        self._lay_out()
        self._offer_kinds()
        self._show()

    def _lay_out(self) -> None:
        hosts = QHBoxLayout()
        label = quiet(self.tr("The computer:"))
        label.setWordWrap(False)
        hosts.addWidget(label, 0, Qt.AlignmentFlag.AlignVCenter)
        names = {
            "desktop": (self.tr("Desktop"), self.tr("4 sockets USB 2 and 4 USB 3")),
            "laptop": (self.tr("Laptop"), self.tr("3 sockets USB 3")),
            "single_board": (self.tr("Single board"), self.tr("2 sockets USB 2 and 2 USB 3")),
        }
        self._hosts: dict[str, QPushButton] = {}
        for name, (title, words) in names.items():
            button = QPushButton(title)
            button.setToolTip(words)
            button.setAccessibleDescription(words)
            button.setCheckable(True)
            button.setChecked(name == "desktop")
            button.setAutoDefault(False)
            button.clicked.connect(lambda _on=False, name=name: self.begin(name))
            hosts.addWidget(button)
            self._hosts[name] = button
        hosts.addStretch(1)
        self.body.addLayout(hosts)
        self.body.addWidget(self._trouble)
        right = QVBoxLayout()
        right.addWidget(self.search)
        right.addWidget(self._kinds, 1)
        both = QHBoxLayout()
        both.setSpacing(theme.px(theme.WIDE_GAP))
        both.addWidget(self._sockets, 1)
        both.addLayout(right, 1)
        self.body.addLayout(both, 1)

    def begin(self, host: str) -> None:
        """Another computer, with nothing plugged in."""
        self.at = self._engine.describe((HOSTS[host],))
        self.socket = next_free(self.at, "") or ""
        for name, button in self._hosts.items():
            button.setChecked(name == host)
        self._show()

    def _offer_kinds(self) -> None:
        self._choices: dict[str, Choice] = {}
        self._titles = dict(self._engine.kinds())
        # Hubs come first: they make room for everything else.
        ordered = sorted(self._titles, key=lambda kind: not self._engine.is_hub(kind))
        for kind in ordered:
            choice = Choice(self._titles[kind])
            choice.clicked.connect(partial(self.plug, kind))
            self._choices[kind] = choice
        self._kinds.fill(*self._choices.values())

    def _filter(self, text: str) -> None:
        wanted = text.casefold().split()
        for kind, choice in self._choices.items():
            choice.setVisible(all(word in self._titles[kind].casefold() for word in wanted))

    def _take_first(self) -> None:
        first = next((kind for kind, choice in self._choices.items() if not choice.isHidden()), None)
        if first is not None and self.search.text().strip():
            self.search.clear()
            self.plug(first)

    def plug(self, kind: str, _on: bool = False) -> None:
        """One of a kind into the socket marked as next."""
        if not self.socket:
            return
        try:
            name = fresh_name(self.at, self._titles[kind])
            self.at = self._engine.plug_kind(self.at, self.socket, kind, name)
        except BadInputError as error:
            self._say(str(error))
            return
        self.socket = next_free(self.at, self.socket) or ""
        self._show()

    def take_out(self, device: str) -> None:
        """A device, and all that hangs on it."""
        self.at = self.at.without(device)
        self.socket = next_free(self.at, self.socket) or ""
        self._show()

    def choose(self, socket: str) -> None:
        """The socket to fill next."""
        self.socket = socket
        self._show()

    def _say(self, words: str) -> None:
        self._trouble.say(words)
        self._trouble.setVisible(bool(words))

    def _show(self) -> None:
        self._say("" if self.socket else self.tr("Every socket is taken. Put in a hub, or take something out."))
        place = self._sockets.verticalScrollBar().value()
        self._sockets.fill(*(self._row(p) for p in places(self.at)))
        self._sockets.verticalScrollBar().setValue(place)
        for choice in self._choices.values():
            choice.setEnabled(bool(self.socket))
        self.acted.emit()

    def _row(self, place: Place) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(theme.px(1.4 * place.depth), 0, 0, 0)
        row.setSpacing(theme.px(0.3))
        kind = self.tr("USB 3") if place.usb3 else self.tr("USB 2")
        name = self.tr("Socket %1 (%2)").replace("%1", str(place.number)).replace("%2", kind)
        if place.device is None:
            is_next = place.socket == self.socket
            words = self.tr("%1: next") if is_next else self.tr("%1: free")
            button = QPushButton(words.replace("%1", name))
            button.setCheckable(True)
            button.setChecked(is_next)
            button.setFlat(not is_next)
            button.setAutoDefault(False)
            if is_next:
                button.setIcon(icon("now", theme.colours().accent))
            button.clicked.connect(lambda: self.choose(place.socket))
            row.addWidget(button)
            row.addStretch(1)
            return holder
        row.addWidget(Text(f"{name}: {one_line(place.device.name or '')}", bold=place.is_hub), 1)
        out = QToolButton()
        out.setIcon(icon("fails"))
        out.setIconSize(QSize(theme.px(0.9), theme.px(0.9)))
        out.setAutoRaise(True)
        out.setToolTip(self.tr("Take it out"))
        out.setAccessibleName(self.tr("Take out %1").replace("%1", one_line(place.device.name or "")))
        device = place.device.id
        out.clicked.connect(lambda: self.take_out(device))
        row.addWidget(out)
        return holder

    def count(self) -> int:
        """How many devices are plugged in, hubs not counted."""
        return sum(p.device is not None and not p.is_hub for p in places(self.at))

    def show_session(self, session: Session, flow: Flow) -> None:
        """Go on with the set-up that the session holds, if it was described."""
        case = session.case
        if case is None or case.source != "described" or case.snapshot in (None, self.at.snapshot):
            return
        assert case.snapshot is not None
        self.at = Described(snapshot=case.snapshot, setup=case.setup)
        self.socket = next_free(self.at, self.socket) or ""
        self._show()

    def primary(self, session: Session, flow: Flow) -> Action:
        """Go on with it."""
        number = self.count()
        words = self.tr("&Use this set-up") if number else self.tr("Choose what is plugged in")
        return Action(words, number > 0 and bool(session.ticked))

    def press_primary(self) -> None:
        """Go on with it."""
        self.described.emit(self.at)

    def focus_first(self) -> None:
        """The field in which a kind is found."""
        self.search.setFocus()
