"""Following the bus while the user works: a time line, what happened in words, and 'it happened just now'."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPlainTextEdit, QSplitter, QVBoxLayout, QWidget

from wizard.bus.watching import MARK, RESUMED, SETTING, SLEPT, SPEED, SUSPENDED, Together, WatchEvent, WatchSummary
from wizard.desktop import theme
from wizard.desktop.flow import Flow
from wizard.desktop.live_page import LivePage
from wizard.desktop.page import Action
from wizard.desktop.session import Session
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.desktop.widgets.time_line import TimeLine, clock_words
from wizard.report.clean import one_line, shortened

MOST_LINES = 500
"""Lines of what happened that are kept on show: common practice (no source)."""


class WatchPage(LivePage):
    """`mark_wanted` says that the trouble has happened just now."""

    mark_wanted = Signal()

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("Follow the bus while you work"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self._texts = flow.engine.texts
        self.line = TimeLine()
        self.happened = QPlainTextEdit()
        self.happened.setReadOnly(True)
        self.happened.setMaximumBlockCount(MOST_LINES)
        self.happened.setTabChangesFocus(True)
        self.happened.setAccessibleName(self.tr("What happened, in words"))
        self.happened.setPlaceholderText(self.tr("What happens on the bus is told here."))
        self._names: dict[str, str] = {}
        self._nothing = False
        self._split = QSplitter(Qt.Orientation.Vertical)
        self._legend = quiet(
            self.tr(
                "Ring: it came. Cut: it left. Filled square: the system complained. Stroke: sleep or wake. Flag: you."
            )
        )
        drawn = QWidget()
        drawn_column = QVBoxLayout(drawn)
        drawn_column.setContentsMargins(0, 0, 0, 0)
        drawn_column.setSpacing(theme.px(theme.TIGHT_GAP))
        drawn_column.addWidget(self.line, 1)
        drawn_column.addWidget(self._legend)
        self._split.addWidget(drawn)
        self._split.addWidget(self.happened)
        self._split.setStretchFactor(0, 1)
        self._split.setStretchFactor(1, 1)
        self._split.setSizes([220, 220])
        self._split.setChildrenCollapsible(False)
        self.body.addWidget(self._split, 2)
        self.body.addWidget(self.column, 1)
        self.show_state()

    def show_state(self) -> None:
        """What the page says in each state."""
        self.column.setVisible(self.state in ("idle", "ended"))
        self._split.setVisible(self.state != "idle")
        self.words.say(
            {
                "idle": self.tr(
                    "Start it, then use your gear as you do when it fails. Whatever comes, goes or complains on the "
                    "bus is noted. You can go on with the other pages meanwhile."
                ),
                "running": self.tr("Use your gear now. Press the button the moment the trouble happens."),
                "ending": self.tr("Putting together what was seen…"),
                "ended": self.tr("This is what was seen."),
            }[self.state]
        )
        if self.state == "idle":
            self.column.fill(
                Text(self.tr("Nothing is changed on this computer: Portmend only listens.")),
                quiet(
                    self.tr(
                        "Where the system's own log may not be read, what comes and goes is still noted; the report "
                        "says what could not be seen."
                    )
                ),
            )

    def show_started(self) -> None:
        """Begin with an empty time line."""
        self.line.clear()
        self.happened.clear()
        self._names.clear()
        self._nothing = False
        self.show_trouble("", ())
        super().show_started()

    def show_events(self, events: Sequence[WatchEvent]) -> None:
        """What happened since the last call, in order."""
        self.line.add(events)
        self._names.update({e.where: f"{shortened(e.name, 80)} ({e.where})" for e in events if e.name})
        self.happened.appendPlainText("\n".join(self.event_words(e) for e in events))

    def show_time(self, now: float) -> None:
        """It has gone on for so many seconds."""
        if self.state == "running":
            self.line.move_to(now)

    def event_words(self, event: WatchEvent) -> str:
        """One event on one line."""
        name = f"{event.name} ({event.where})" if event.name else event.where
        times = self.tr(" (%1 times)").replace("%1", str(event.count)) if event.count > 1 else ""
        where = "" if event.where == "-" else f"  {shortened(name, 80)}{times}:"
        return one_line(f"{clock_words(event.t)}{where}  {self._kind_words(event.kind)}")

    def _kind_words(self, kind: str) -> str:
        known = {
            MARK: self.tr("you said: it happened just now"),
            SLEPT: self.tr("the computer was asleep"),
            SPEED: self.tr("came back at another speed"),
            SUSPENDED: self.tr("put to sleep to save power"),
            RESUMED: self.tr("woken up"),
            SETTING: self.tr("given another setting by its driver"),
            "connect": self.tr("came"),
            "disconnect": self.tr("left"),
        }
        return known.get(kind) or self._texts.get(f"sign.{kind}.words") or kind.replace("_", " ")

    def show_result(self, result: Any) -> None:
        """What it amounts to."""
        assert isinstance(result, WatchSummary)
        self.line.move_to(result.seconds)
        super().show_result(result)
        if not result.has_bus:
            self._nothing = True
            self._split.hide()
            self.words.say("")
            self.acted.emit()
            self.show_trouble(self.tr("There was nothing to follow"), result.notes)
            self.column.fill()
            return
        lines = [self._together_words(group) for group in result.together]
        for marked in result.marked:
            before = "; ".join(self.event_words(e).rstrip(".") for e in marked.before[:3])
            words = self.tr("Before your mark at %1: %2").replace("%1", clock_words(marked.t))
            lines.append(words.replace("%2", before or self.tr("nothing was seen on the bus")))
        known = [self._known_words(k, v) for k, v in result.observations.items()]
        total = sum(result.by_kind.values())
        told = self.tr("%1 events in %2.").replace("%1", str(total)).replace("%2", clock_words(result.seconds))
        quiet_bus = self.tr("Nothing came or went on the bus. If the trouble happened meanwhile, it is not there.")
        self.column.fill(
            heading(told),
            Text("\n".join(one_line(line) for line in lines) if lines or total else quiet_bus),
            Text("\n".join(known)),
            *(quiet(note) for note in result.notes),
        )

    def can_take(self) -> bool:
        """Whether there was a bus to follow, and it is this PC's case."""
        return super().can_take() and not self._nothing

    def _together_words(self, group: Together) -> str:
        names = ", ".join(self._names.get(device, device) for device in group.devices)
        if group.hub_left:
            words = self.tr("At %1 the hub %2 left and took along: %3.")
        else:
            words = self.tr("At %1 these left together, all on %2: %3.")
        where = self._names.get(group.where, group.where)
        return words.replace("%1", clock_words(group.t)).replace("%2", where).replace("%3", names)

    def _known_words(self, observation: str, value: object) -> str:
        name = self._texts.get(f"observation.{observation}.name") or observation.replace("_", " ")
        values = value if isinstance(value, tuple) else (value,)
        said = [self._texts.get(f"observation.{observation}.value.{v}") or str(v) for v in values]
        return self.tr("For the case: %1: %2").replace("%1", name).replace("%2", ", ".join(said))

    def running_action(self) -> Action:
        """The mark is what the user came for."""
        return Action(self.tr("It happened &just now"))

    def press_running(self) -> None:
        """It happened just now."""
        self.mark_wanted.emit()

    def start_words(self) -> str:
        """Begin."""
        return self.tr("&Start following")

    def secondary(self, session: Session, flow: Flow) -> Action | None:
        """End it, or once more."""
        if self.state == "running":
            return Action(self.tr("&Stop and tell me"))
        return super().secondary(session, flow)

    def press_secondary(self) -> None:
        """End it, or once more."""
        if self.state == "running":
            self.stop_wanted.emit()
        else:
            super().press_secondary()
