"""Brings flow, work and window together: every move goes through the flow, every slow thing through the jobs.

Holds the one session there is. Nothing is shown that is not in it.
"""

import gc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Concatenate, ParamSpec

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from wizard.bus.errors import PortmendError
from wizard.desktop import tasks
from wizard.desktop.beside import Beside
from wizard.desktop.crash import Boundary
from wizard.desktop.engine import Engine
from wizard.desktop.flow import Flow
from wizard.desktop.jobs import Job, Runner
from wizard.desktop.page import Page
from wizard.desktop.pages.again import AgainPage
from wizard.desktop.pages.look import LookPage
from wizard.desktop.pages.trouble import TroublePage
from wizard.desktop.places import Page as PageName
from wizard.desktop.saved_words import case_words, last_case
from wizard.desktop.saving import KIND, Saved, Saver
from wizard.desktop.session import Session, Source
from wizard.desktop.shelf import Shelf
from wizard.desktop.window import Window
from wizard.observe.seen import Watcher
from wizard.store.demos import Demo

COMPUTING = "computing"
"""The lane of all work but looking, which may have to wait for a device."""

SAVING = "saving"
"""The lane of saves: they take turns with each other but wait for nothing that is being worked out."""

WORKPLACES: dict[str, PageName] = {"look": "look", "check": "again", "arrange": "plan"}
"""Work that shows how far it has got, and the page that shows it."""

P = ParamSpec("P")

STAYING = ("look", "set up")
"""Work whose result stays for long and holds no rings: the collector need not walk through it over and over, which
stalls the window for 120 ms each time where a look holds a thousand devices (measured)."""

SAVE_PATIENCE_MS = 3000
"""How long closing waits for a save that is under way."""


class Presenter(QObject):
    """One window, one session. `ready` says that the pages are there. With `keeps` false no case is saved."""

    ready = Signal()

    def __init__(self, window: Window, runner: Runner, load: Callable[[], Engine], keeps: bool = True) -> None:
        super().__init__(window)
        self.window = window
        self.runner = runner
        self.session = Session()
        self.flow: Flow | None = None
        self.boundary = Boundary(window, lambda: self.session.path)
        self._load = load
        self._keeps = keeps
        self._saver = Saver(runner, SAVING, self._was_saved, self._failed)
        self._given_up: set[tuple[str, int]] = set()
        self._under_way: dict[str, int] = {}
        self.demos: tuple[Demo, ...] = ()
        self._beside: Beside | None = None
        window.before_close = self._before_close
        window.back.connect(lambda: self.move(Flow.back))
        window.jump.connect(lambda page: self.move(Flow.jump, page))
        window.new_wanted.connect(self._new)
        window.open_wanted.connect(lambda: self.open_case(None))
        window.last_wanted.connect(self.open_last)

    def start(self) -> None:
        """Load the rulebook off to the side, then show the first page."""
        self.run("load", lambda _watcher: self._load(), self.take)

    # ---- the pages

    def take(self, engine: Engine) -> None:
        """Take an engine and show the first page; what is ticked on one that stands already is kept."""
        self.flow = Flow(engine)
        shelf = Shelf(self, self.flow)
        self._beside = Beside(self, self.flow)
        self.window.pages.makers.update({**shelf.makers(), **self._beside.makers()})
        first = self.window.pages.get("trouble")
        if isinstance(first, TroublePage):
            shelf.connect_trouble(first)
            self.session = self.flow.choose_symptoms(self.session, first.ticked(), first.worst())
        self._show(self.session)
        self.run("demos", lambda _watcher: engine.demos(), self._offer_demos)
        self.run("last", lambda _watcher: last_case(engine), self._offer_last)
        self.ready.emit()

    # ---- moves

    def move(self, move: Callable[Concatenate[Flow, Session, P], Session], *args: P.args, **named: P.kwargs) -> None:
        """One move of the flow."""
        if self.flow is not None:
            self._show(move(self.flow, self.session, *args, **named))

    def go_on(self) -> None:
        """On to the next page, if the way is open."""
        self.move(Flow.next)

    def rest(self, seconds: float) -> bool:
        """Let the work there is come to its end, at most so long. True if it did."""
        return self.runner.wait_for("", round(seconds * 1000))

    def _show(self, session: Session) -> None:
        """The session is now this one: show it, save what changed, start what is needed, stop what is not."""
        if self.flow is None:
            return
        left = self.session.page if session.page != self.session.page else None
        self.session = session
        if left == "look":
            self.stop("look")
        if left == "again":
            self.stop("check")
        if self._under_way.get("arrange") not in (None, session.desk):
            self.stop("arrange")
        if self._beside is not None:
            self._beside.follow(session)
        self.window.show_session(session, self.flow)
        for task in tasks.needed(self.flow, session):
            if (task.kind, task.key) not in self._given_up and self._under_way.get(task.kind) != task.key:
                self._start(task, self._progress_of(task.kind))
        if session.demo is not None:
            self.window.show_saved(self.tr("This is a demo; it is not saved."))
        if self._keeps:
            self._saver.save(session, self.flow.engine)

    # ---- work

    def _page_of(self, kind: str) -> Page | None:
        """The page that shows this work, if it was ever built."""
        place = WORKPLACES.get(kind)
        return None if place is None else self.window.pages.get(place)

    def _progress_of(self, kind: str) -> Callable[[bool, str, float | None], None] | None:
        place = WORKPLACES.get(kind)
        return None if place is None else self.window.pages[place].show_looking

    def _start(self, task: tasks.Task, progress: Callable[[bool, str, float | None], None] | None = None) -> None:
        self._under_way[task.kind] = task.key

        def done(result: Any) -> None:
            self._under_way.pop(task.kind, None)
            if progress is not None:
                progress(False, "", None)
            self._show(task.take(self.session, result))
            if task.kind in STAYING:
                gc.freeze()

        def failed(error: Exception) -> None:
            self._under_way.pop(task.kind, None)
            self._given_up.add((task.kind, task.key))
            if progress is not None:
                progress(False, "", None)
            self._failed(error)

        def told(text: str, share: float | None) -> None:
            if progress is not None:
                progress(True, text, share)

        if progress is not None:
            progress(True, "", None)
        self.runner.start(Job(task.kind, task.run, done, failed, told, lane="" if progress is not None else COMPUTING))

    def run(
        self,
        kind: str,
        work: Callable[[Any], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> None:
        """Work that only computes, in turn with the rest of its kind."""
        self.runner.start(Job(kind, work, done, failed or self._failed, lane=COMPUTING))

    def _failed(self, error: Exception) -> None:
        if isinstance(error, PortmendError):
            self._tell(str(error))
        else:
            self.boundary.report(error)
            self._tell(self.tr("This did not work because of a fault in Portmend itself. Nothing of yours was lost."))

    def _tell(self, problem: str) -> None:
        if self.flow is None:
            self.window.show_waiting(problem)
        else:
            self._show(replace(self.session, problem=problem))

    def stop(self, kind: str) -> None:
        self.runner.cancel(kind)
        self._under_way.pop(kind, None)
        page = self._page_of(kind)
        if page is not None:
            page.show_looking(False)

    def call_off_arranging(self) -> None:
        self._given_up.add(("arrange", self.session.desk))
        self.stop("arrange")

    def arrange(self) -> None:
        self._given_up.discard(("arrange", self.session.desk))
        self._show(self.session)

    def look(self, source: Source, log: str) -> None:
        if self.flow is None:
            return
        self._clear_problem()
        self._start(tasks.look(self.flow, self.session, source, log), self._progress_of("look"))

    def check_at_once(self) -> None:
        """To the check, and the second look with it where nothing has to be chosen first."""
        due = self.session.after is None or self.session.to_check
        self.move(Flow.next)
        page = self.window.pages["again"]
        if self.session.page == "again" and due and isinstance(page, AgainPage) and page.can_look_at_once(self.session):
            page.start_look()

    def check_again(self, source: Source) -> None:
        if self.flow is not None:
            self._clear_problem()
            self._start(tasks.check_again(self.flow, self.session, source), self._progress_of("check"))

    def _clear_problem(self) -> None:
        self._show(replace(self.session, problem=None))

    # ---- cases

    def _new(self) -> None:
        if self.flow is not None:
            self._forget()
            now = self.session
            self.window.show_saved("")
            self._show(Session(revision=now.revision + 1, looks=now.looks + 1, line=now.line + 1, desk=now.desk + 1))

    def _forget(self) -> None:
        if self._beside is not None:
            self._beside.forget()
        for kind in WORKPLACES:
            self.stop(kind)
        for kind in ("advise", "judge"):
            self.runner.cancel(kind)
        self._under_way = {}

    def open_case(self, path: Path | None) -> None:
        """Open a saved case; None lets the user choose one."""
        if path is None:
            dialog = QFileDialog(self.window, self.tr("Open a saved case"))
            dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
            dialog.setNameFilters([self.tr("Cases (*.json)"), self.tr("All files (*)")])
            dialog.fileSelected.connect(lambda chosen: self.open_case(Path(chosen)) if chosen else None)
            dialog.open()
        elif self.flow is not None:
            self._clear_problem()
            words = self.tr("Opening %1…").replace("%1", path.name)
            self._start(
                tasks.open_case(self.flow, self.session, path),
                lambda opening, _text, _share: self.window.show_saved(words if opening else ""),
            )

    def open_last(self) -> None:
        """Open the case that changed last."""
        if self.flow is not None:
            engine = self.flow.engine
            self.run("last", lambda _watcher: engine.last_case(), self._open_if_any)

    def _open_if_any(self, path: Path | None) -> None:
        if path is None:
            self._tell(self.tr("There is no saved case yet."))
        else:
            self.open_case(path)

    def _offer_last(self, last: tuple[Path, str] | None) -> None:
        if last is not None and self.session.case is None:
            path, told = last
            words = self.tr("You have a saved case: %1").replace("%1", told)
            first = self.window.pages["trouble"]
            assert isinstance(first, TroublePage)
            first.offer(path, words)

    def _offer_demos(self, demos: tuple[Demo, ...]) -> None:
        self.demos = demos
        page = self.window.pages.get("look")
        if isinstance(page, LookPage):
            page.sources.offer_demos(demos)

    def _was_saved(self, saved: Saved) -> None:
        if saved.line == self.session.line:
            self.session = replace(self.session, path=saved.path)
            self.window.show_saved(self.tr("Saved as your case of %1").replace("%1", case_words(saved.path)))

    # ---- the report

    def preview(self, keep: frozenset[str], show: Callable[[str], None]) -> None:
        """Put the report together as text and show it."""
        case = self.session.case
        if case is not None and self.flow is not None:
            engine = self.flow.engine
            self.run("preview", lambda _watcher: engine.report_text(case, keep), show)

    def save_report(self, path: str, keep: frozenset[str], show: Callable[[Path], None]) -> None:
        """Write the report; its ending picks the form."""
        case = self.session.case
        if case is not None and self.flow is not None and path:
            engine = self.flow.engine

            def work(_watcher: Watcher) -> Path:
                return engine.write_report(case, Path(path), keep)

            self.run("report", work, show)

    def _before_close(self) -> None:
        """Let a save that is under way come to its end; wait for nothing else."""
        self.runner.keep_only(KIND)
        self.runner.wait_for(KIND, SAVE_PATIENCE_MS)
        self.runner.close()
