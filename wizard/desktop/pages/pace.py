"""The pace of an input device while it is being moved: a live plot, and the verdict in a plain sentence."""

from collections.abc import Sequence
from typing import Any

from PySide6.QtWidgets import QWidget

from wizard.bus.pace import IN_WINDOW, Beat, PaceDevice, PaceDocument
from wizard.desktop.flow import Flow
from wizard.desktop.live_page import LivePage
from wizard.desktop.session import Session
from wizard.desktop.widgets.pace_field import PaceField
from wizard.desktop.widgets.pace_plot import PacePlot
from wizard.desktop.widgets.pick import Pick
from wizard.desktop.widgets.text import Text, heading, quiet
from wizard.report.words import figure


class PacePage(LivePage):
    """Choose a device, move it, read the verdict."""

    def __init__(self, flow: Flow) -> None:
        super().__init__("", "")
        self.title.say(self.tr("Measure the pace of a control"))
        self.setAccessibleName(self.title.text())
        self.words.show()
        self._subject: tuple[str, ...] = ()
        self._devices: tuple[PaceDevice, ...] | None = None
        self.pick = Pick()
        self.pick.changed.connect(self.acted)
        self.plot = PacePlot()
        self.field = PaceField()
        self._in_window = False
        self.body.addWidget(self.field, 2)
        self.body.addWidget(self.plot, 2)
        self.body.addWidget(self.column, 1)
        self.show_state()

    def show_session(self, session: Session, flow: Flow) -> None:
        """Remember what the case is about: it is offered first."""
        super().show_session(session, flow)
        self._subject = session.case.subject if session.case is not None else ()

    def show_devices(self, devices: Sequence[PaceDevice]) -> None:
        """What reports input here."""
        self._devices = tuple(devices)
        if self.state == "idle":
            self.show_state()

    def show_state(self) -> None:
        """What the page says in each state."""
        self.plot.setVisible(self.state != "idle")
        self.field.setVisible(self._in_window and self.state == "running")
        self.words.say(
            {
                "idle": self.tr(
                    "Every press and every move reaches the computer as a report. How evenly they come tells whether "
                    "the delay is made on the bus. Choose the control, then move it all the time for twenty seconds."
                ),
                "running": self.tr("Move it now, all the time, without letting go.")
                if not self._in_window
                else self.tr("Move it now inside the frame, all the time, for twenty seconds."),
                "ending": self.tr("Adding it up…"),
                "ended": self.tr("This is how its reports came."),
            }[self.state]
        )
        if self.state == "idle":
            self._offer()
        elif self.state == "running":
            self.column.fill(
                quiet(self.tr("Each stroke is the time between two reports: the taller, the longer. Low is good."))
            )

    def _offer(self) -> None:
        if self._devices is None:
            self.column.fill(Text(self.tr("Looking for controls…")))
            return
        above: list[QWidget] = []
        if not self._devices:
            above = [
                heading(self.tr("No control was found here")),
                Text(
                    self.tr(
                        "Portmend found nothing it may read here: no keyboard, mouse, pedal or controller. What moves "
                        "the pointer or presses keys can still be measured inside this window; for anything else, "
                        "answer the questions about the delay instead."
                    )
                ),
            ]
        # The page is built anew, and the old column takes its parts along.
        self.pick = Pick()
        self.pick.changed.connect(self.acted)
        ordered = sorted(self._devices, key=lambda d: (d.device not in self._subject, not d.readable))
        choices = [self._choice(d) for d in ordered]
        if not all(device.readable for device in ordered) or not ordered:
            choices.append(self._window_choice())
        self.pick.offer(choices)
        self.column.fill(*above, self.pick)

    def _window_choice(self) -> tuple[str, str, str, bool]:
        words = self.tr(
            "Measured inside this window: coarser. For what the system lets nobody read. Only long stalls show, and a "
            "game pad sends nothing to a window."
        )
        return IN_WINDOW, self.tr("Any mouse, touch pad or keyboard, over a field in this window"), words, True

    def _choice(self, device: PaceDevice) -> tuple[str, str, str, bool]:
        name = device.name or device.device or device.path
        where = self.tr("at %1, read through %2").replace("%1", device.device or self.tr("an unknown place"))
        words = where.replace("%2", device.path)
        if not device.readable:
            refused = " ".join(s for s in (device.why, device.mend) if s)
            words = refused or self.tr("This system does not let it be read.")
        return device.path, name, words, device.readable

    def show_started(self) -> None:
        """An empty plot, and the field to move in where that is what is measured."""
        self._in_window = self.wanted() == IN_WINDOW
        self.plot.clear(20.0)
        self.show_trouble("", ())
        super().show_started()

    def show_beats(self, beats: Sequence[Beat]) -> None:
        """How it stands."""
        for beat in beats:
            self.plot.add(beat.at_s, beat.intervals)

    def show_result(self, result: Any) -> None:
        """The verdict."""
        assert isinstance(result, PaceDocument)
        super().show_result(result)
        if not result.opened:
            self.plot.hide()
            self.show_trouble(self.tr("It could not be measured"), result.notes)
            self.column.fill(Text(result.words))
            return
        self.plot.judge(result.promised_ms, [(gap.at_s, gap.ms) for gap in result.gaps])
        # How coarse a measurement in the window is belongs to the verdict, not to the small print.
        note = Text if result.device == IN_WINDOW else quiet
        self.column.fill(heading(result.words), Text(self._figures(result)), *(note(n) for n in result.notes))

    def _figures(self, found: PaceDocument) -> str:
        if not found.reports:
            return self.tr("No report came in. Was it the right control, and was it moved?")
        promised = (
            self.tr("promised: every %1 ms").replace("%1", figure(found.promised_ms, 3))
            if found.promised_ms
            else self.tr("promised: not known")
        )
        return "\n".join(
            (
                self.tr("%1 reports in %2 s; %3.")
                .replace("%1", figure(found.reports))
                .replace("%2", figure(found.seconds))
                .replace("%3", promised),
                self.tr("Half of them came within %1 ms, 99 of 100 within %2 ms; the longest took %3 ms.")
                .replace("%1", figure(found.median_ms, 2))
                .replace("%2", figure(found.p99_ms, 2))
                .replace("%3", figure(found.longest_ms, 1)),
            )
        )

    def can_start(self) -> bool:
        """Whether a control is picked."""
        return bool(self.pick.picked)

    def wanted(self) -> str:
        """The control picked."""
        return self.pick.picked

    def can_take(self) -> bool:
        """Whether anything was measured on this PC."""
        return super().can_take() and self.plot.isVisible()

    def start_words(self) -> str:
        """Begin."""
        return self.tr("&Start measuring")
