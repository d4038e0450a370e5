"""What stands beside the steps: builds those pages when first opened, and runs what they measure off to the side.

A watch goes on while other pages are used; a measurement of pace ends when its page is left.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QElapsedTimer, QObject, QTimer

from wizard.bus.errors import PortmendError
from wizard.bus.model import Snapshot
from wizard.desktop import taking
from wizard.desktop.flow import Flow
from wizard.desktop.jobs import Job
from wizard.desktop.live_page import LivePage
from wizard.desktop.mailbox import Mailbox
from wizard.desktop.page import Page
from wizard.desktop.places import Aside, Place
from wizard.desktop.session import Session

if TYPE_CHECKING:
    from wizard.budget.described import Described
    from wizard.bus.drive import DriveDocument
    from wizard.bus.pace import PaceDevice
    from wizard.bus.watching import WatchSummary
    from wizard.desktop.presenter import Presenter
    from wizard.observe.seen import Watcher

TICK_MS = 250
"""How often a running time line moves on."""


class Beside(QObject):
    """Pages beside the steps of one presenter, and their work."""

    def __init__(self, presenter: Presenter, flow: Flow) -> None:
        super().__init__(presenter)
        self._to, self._flow, self._engine = presenter, flow, flow.engine
        self._found: dict[str, Any] = {}
        self._stops: dict[str, Event] = {}
        self._marks = Event()
        self._clock = QElapsedTimer()
        self._tick = QTimer(self)
        self._tick.setInterval(TICK_MS)

    def makers(self) -> dict[Place, Callable[[], Page]]:
        """How to build each of these pages."""
        return {
            "watch": self._watch, "pace": self._pace, "drive": self._drive, "describe": self._describe,
            "fit": self._fit, "labels": self._labels, "exports": self._exports,
        }  # fmt: skip

    def forget(self) -> None:
        """Stop everything: the case it was for is put away."""
        for kind in ("watch", "pace", "drive"):
            self._stop(kind)
            self._to.runner.cancel(kind)
        self._tick.stop()
        self._found = {}
        for place in ("watch", "pace", "drive"):
            page = self._to.window.pages.get(place)
            if isinstance(page, LivePage):
                page.set_state("idle")

    def follow(self, session: Session) -> None:
        """What must not go on now that this session is on show: a measurement whose page was left."""
        if session.aside != "pace" and "pace" in self._stops:
            self._stop("pace")

    def _leave(self) -> None:
        self._to.move(Flow.leave_aside)

    def _stop(self, kind: str) -> None:
        stop = self._stops.pop(kind, None)
        if stop is not None:
            stop.set()

    def _start(
        self, kind: Aside, page: LivePage, work: Callable[[Callable[[], bool]], Any], ended: Callable[[], None]
    ) -> None:
        self._stop(kind)
        stop = self._stops[kind] = Event()

        def done(result: Any) -> None:
            self._end(kind, stop, ended)
            self._found[kind] = result
            page.show_result(result)

        def failed(error: Exception) -> None:
            self._end(kind, stop, ended)
            if isinstance(error, PortmendError):
                page.show_failed(str(error))
            else:
                self._to.boundary.report(error)
                page.show_failed(self.tr("This did not work because of a fault in Portmend itself."))

        def run(watcher: Watcher) -> Any:
            return work(lambda: stop.is_set() or watcher.cancelled())

        page.show_started()
        self._to.runner.start(Job(kind, run, done, failed))

    def _end(self, kind: str, stop: Event, ended: Callable[[], None]) -> None:
        if self._stops.get(kind) is stop:
            del self._stops[kind]
        ended()

    # ---- following the bus

    def _watch(self) -> Page:
        from wizard.desktop.pages.watch import WatchPage

        page = WatchPage(self._flow)
        mail = Mailbox(self)
        mail.arrived.connect(page.show_events)
        self._tick.timeout.connect(lambda: page.show_time(self._clock.elapsed() / 1000))

        def start(_device: str) -> None:
            case = self._to.session.case if taking.is_of_this_pc(self._to.session) else None
            self._marks.clear()
            mail.open()
            self._clock.start()
            self._tick.start()
            self._start("watch", page, lambda stop: self._engine.watch(stop, mail.put, self._mark, case), end)

        def end() -> None:
            self._tick.stop()
            mail.close()

        page.start_wanted.connect(start)
        page.mark_wanted.connect(self._marks.set)
        page.stop_wanted.connect(page.show_ending)
        page.stop_wanted.connect(lambda: self._stop("watch"))
        page.take_wanted.connect(self._take_watch)
        page.left.connect(self._leave)
        return page

    def _mark(self) -> bool:
        """In the worker's thread: whether the user has said so since this was asked last."""
        if not self._marks.is_set():
            return False
        self._marks.clear()
        return True

    def _take_watch(self) -> None:
        summary: WatchSummary | None = self._found.get("watch")

        def take(_flow: Flow, session: Session) -> Session:
            if summary is None or session.case is None:
                return session
            return taking.take_case(session, self._engine.with_watch(session.case, summary))

        self._to.move(take)
        self._leave()

    # ---- measuring

    def _pace(self) -> Page:
        from wizard.bus.pace import IN_WINDOW
        from wizard.desktop.pages.pace import PacePage
        from wizard.desktop.widgets.pace_field import Heard

        page = PacePage(self._flow)
        mail = Mailbox(self)
        mail.arrived.connect(page.show_beats)

        def end() -> None:
            page.field.end()
            mail.close()

        def start(device: str) -> None:
            mail.open()
            if device == IN_WINDOW:
                heard = Heard()
                self._start("pace", page, lambda stop: self._engine.window_pace(heard.next, stop, mail.put), end)
                page.field.begin(heard.put)
                return
            self._start("pace", page, lambda stop: self._engine.pace(device, stop, mail.put), mail.close)

        page.start_wanted.connect(start)
        page.stop_wanted.connect(page.show_ending)
        page.stop_wanted.connect(lambda: self._stop("pace"))
        page.take_wanted.connect(lambda: self._take("pace"))
        page.left.connect(self._leave)
        look = self._to.session.look
        snapshot = look.snapshot if look is not None else Snapshot()

        def offer(devices: tuple[PaceDevice, ...]) -> None:
            page.show_devices(devices)

        self._to.run("pace devices", lambda _watcher: self._engine.pace_devices(snapshot), offer)
        return page

    def _drive(self) -> Page:
        from wizard.desktop.pages.drive import DrivePage

        page = DrivePage(self._flow)

        def start(device: str) -> None:
            self._start("drive", page, lambda _stop: self._engine.drive(device), lambda: None)

        page.start_wanted.connect(start)
        page.take_wanted.connect(lambda: self._take("drive"))
        page.left.connect(self._leave)
        return page

    def _take(self, kind: str) -> None:
        found: DriveDocument | None = self._found.get(kind)
        if found is not None:
            self._to.move(lambda _flow, session: taking.take_observations(session, dict(found.observations)))
        self._leave()

    # ---- described by hand, and what would fit

    def _describe(self) -> Page:
        from wizard.desktop.pages.describe import DescribePage

        page = DescribePage(self._flow)
        page.described.connect(self._use)
        return page

    def _use(self, at: Described) -> None:
        def take(look: Any) -> None:
            self._to.move(lambda _flow, session: taking.take_described(session, self._engine, at.setup, look))

        self._to.run("describe", lambda _watcher: self._engine.look_described(at), take)

    def _fit(self) -> Page:
        from wizard.desktop.pages.fit import FitPage

        page = FitPage(self._flow)
        page.left.connect(self._leave)

        def ask(kind: str) -> None:
            case = self._to.session.case
            if case is None:
                return

            def failed(error: Exception) -> None:
                page.show_failed(str(error))

            page.show_busy()
            self._to.run("fit", lambda _watcher: self._engine.fit(case, kind), page.show_answer, failed)

        page.asked.connect(ask)
        return page

    def _labels(self) -> Page:
        from wizard.desktop.pages.labels import LabelsPage
        from wizard.desktop.printing import write_labels

        page = LabelsPage(self._flow)

        def ask() -> None:
            case, arranged = self._to.session.case, self._to.session.arranged
            if case is not None:
                self._to.run("labels", lambda _watcher: self._engine.labels(case, arranged), page.show_labels)

        def save(path: str) -> None:
            try:  # a sheet or two take a few milliseconds, and Qt's painting belongs to this thread
                page.show_saved(write_labels(page.labels, Path(path)))
            except PortmendError as error:
                page.show_failed(str(error))

        page.wanted.connect(ask)
        page.save_wanted.connect(save)
        return page

    def _exports(self) -> Page:
        from wizard.desktop.pages.exports import ExportsPage

        page = ExportsPage(self._flow)
        page.left.connect(self._leave)
        return page
