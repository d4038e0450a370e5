"""Brings flow, work and window together: every move goes through the flow, every slow thing through the jobs.

Holds the one session there is. Nothing is shown that is not in it.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, cast

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from wizard.bus.errors import PortmendError
from wizard.case.model import Outcome, StepMark, Value
from wizard.desktop import tasks
from wizard.desktop.crash import Boundary
from wizard.desktop.engine import Engine
from wizard.desktop.flow import Flow
from wizard.desktop.jobs import Job, Runner
from wizard.desktop.page import Page
from wizard.desktop.pages.again import AgainPage
from wizard.desktop.pages.findings import FindingsPage
from wizard.desktop.pages.ledger import LedgerPage
from wizard.desktop.pages.look import LookPage
from wizard.desktop.pages.plan import PlanPage
from wizard.desktop.pages.questions import QuestionsPage
from wizard.desktop.pages.report import ReportPage
from wizard.desktop.pages.trouble import TroublePage
from wizard.desktop.saving import KIND, Saved, Saver
from wizard.desktop.session import Page as PageName
from wizard.desktop.session import Session, Source
from wizard.desktop.window import Window
from wizard.observe.seen import Watcher
from wizard.store.demos import Demo

COMPUTING = "computing"
"""The lane of all work but looking, which may have to wait for a device."""

SAVING = "saving"
"""The lane of saves: they take turns with each other but wait for nothing that is being worked out."""

P = ParamSpec("P")

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
        window.before_close = self._before_close
        window.back.connect(lambda: self._move(Flow.back))
        window.jump.connect(lambda page: self._move(Flow.jump, page))
        window.new_wanted.connect(self._new)
        window.open_wanted.connect(lambda: self.open_case(None))
        window.last_wanted.connect(self._open_last)

    def start(self) -> None:
        """Load the rulebook off to the side, then build the pages."""
        self._run("load", lambda _watcher: self._load(), self._loaded)

    # ---- the pages

    def _loaded(self, engine: Engine) -> None:
        self.flow = Flow(engine)
        self._build(self.flow)
        self._show(self.session)
        self._run("demos", lambda _watcher: engine.demos(), self._offer_demos)
        self._run("last", lambda _watcher: engine.last_case(), self._offer_last)
        self.ready.emit()

    def _build(self, flow: Flow) -> None:
        trouble, look, questions = TroublePage(flow), LookPage(flow), QuestionsPage(flow)
        findings, plan, again, report = FindingsPage(flow), PlanPage(flow), AgainPage(flow), ReportPage(flow)
        trouble.chosen.connect(lambda ticked, worst: self._move(Flow.choose_symptoms, ticked, worst))
        trouble.open_wanted.connect(self.open_case)
        look.look_wanted.connect(self._look)
        look.stop_wanted.connect(lambda: self._stop("look"))
        look.open_wanted.connect(self.open_case)
        look.go_without.connect(lambda: self._move(Flow.go_on_without_look))
        look.subject_ticked.connect(lambda devices: self._move(Flow.choose_subject, devices))
        questions.answered.connect(self._answer)
        questions.skip_wanted.connect(lambda: self._move(Flow.skip_questions))
        questions.doubted.connect(lambda doubt: self._move(Flow.reconsider, doubt))
        findings.doubted.connect(lambda doubt: self._move(Flow.reconsider, doubt))
        findings.ask_more.connect(lambda: self._move(Flow.jump, "questions"))
        plan.marked.connect(self._mark)
        plan.stop_wanted.connect(self._call_off_arranging)
        plan.arranging_wanted.connect(self._arrange)
        again.look_wanted.connect(self._check_again)
        again.stop_wanted.connect(lambda: self._stop("check"))
        again.outcome_said.connect(self._say_outcome)
        again.plan_wanted.connect(lambda: self._move(Flow.jump, "plan"))
        again.report_wanted.connect(lambda: self._move(Flow.next))
        report.preview_wanted.connect(self._preview)
        report.save_wanted.connect(self._save_report)
        self._trouble, self._look_page, self._report = trouble, look, report
        self._working: dict[str, Page] = {"look": look, "check": again, "arrange": plan}
        pages = {
            "trouble": trouble, "look": look, "ledger": LedgerPage(flow), "questions": questions,
            "findings": findings, "plan": plan, "again": again, "report": report,
        }  # fmt: skip
        for name, page in pages.items():
            page.go_on.connect(lambda: self._move(Flow.next))
            self.window.add_page(cast(PageName, name), page)

    # ---- moves

    def _move(self, move: Callable[Concatenate[Flow, Session, P], Session], *args: P.args, **named: P.kwargs) -> None:
        """One move of the flow."""
        if self.flow is not None:
            self._show(move(self.flow, self.session, *args, **named))

    def rest(self, seconds: float) -> bool:
        """Let the work there is come to its end, at most so long. True if it did."""
        return self.runner.wait_for("", round(seconds * 1000))

    def _answer(self, observation: str, value: Value) -> None:
        self._move(Flow.answer, observation, value)

    def _mark(self, step: str, mark: StepMark | None) -> None:
        self._move(Flow.mark, step, mark)

    def _say_outcome(self, outcome: Outcome) -> None:
        self._move(Flow.say_outcome, outcome)

    def _show(self, session: Session) -> None:
        """The session is now this one: show it, save what changed, start what is needed, stop what is not."""
        if self.flow is None:
            return
        left = self.session.page if session.page != self.session.page else None
        self.session = session
        if left == "look":
            self._stop("look")
        if left == "again":
            self._stop("check")
        if self._under_way.get("arrange") not in (None, session.desk):
            self._stop("arrange")
        self.window.show_session(session, self.flow)
        for task in tasks.needed(self.flow, session):
            if (task.kind, task.key) not in self._given_up and self._under_way.get(task.kind) != task.key:
                self._start(task, self._working[task.kind].show_looking if task.kind in self._working else None)
        if session.demo is not None:
            self.window.show_saved(self.tr("This is a demo; it is not saved."))
        if self._keeps:
            self._saver.save(session, self.flow.engine)

    # ---- work

    def _start(self, task: tasks.Task, progress: Callable[[bool, str, float | None], None] | None = None) -> None:
        self._under_way[task.kind] = task.key

        def done(result: Any) -> None:
            self._under_way.pop(task.kind, None)
            if progress is not None:
                progress(False, "", None)
            self._show(task.take(self.session, result))

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

    def _run(self, kind: str, work: Callable[[Any], Any], done: Callable[[Any], None], lane: str = COMPUTING) -> None:
        self.runner.start(Job(kind, work, done, self._failed, lane=lane))

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

    def _stop(self, kind: str) -> None:
        self.runner.cancel(kind)
        self._under_way.pop(kind, None)
        self._working[kind].show_looking(False)

    def _call_off_arranging(self) -> None:
        self._given_up.add(("arrange", self.session.desk))
        self._stop("arrange")

    def _arrange(self) -> None:
        self._given_up.discard(("arrange", self.session.desk))
        self._show(self.session)

    def _look(self, source: Source, log: str) -> None:
        if self.flow is None:
            return
        self._clear_problem()
        self._start(tasks.look(self.flow, self.session, source, log), self._look_page.show_looking)

    def _check_again(self, source: Source) -> None:
        if self.flow is not None:
            self._clear_problem()
            self._start(tasks.check_again(self.flow, self.session, source), self._working["check"].show_looking)

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
        for kind in self._working:
            self._stop(kind)
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
            self._start(tasks.open_case(self.flow, self.session, path))

    def _open_last(self) -> None:
        if self.flow is not None:
            engine = self.flow.engine
            self._run("last", lambda _watcher: engine.last_case(), self._open_if_any)

    def _open_if_any(self, path: Path | None) -> None:
        if path is None:
            self._tell(self.tr("There is no saved case yet."))
        else:
            self.open_case(path)

    def _offer_last(self, path: Path | None) -> None:
        if path is not None and self.session.case is None:
            words = self.tr("You have a saved case: %1").replace("%1", path.stem)
            self._trouble.offer(path, words)

    def _offer_demos(self, demos: tuple[Demo, ...]) -> None:
        self._look_page.sources.offer_demos(demos)

    def _was_saved(self, saved: Saved) -> None:
        if saved.line == self.session.line:
            self.session = replace(self.session, path=saved.path)
            self.window.show_saved(self.tr("Saved: %1").replace("%1", saved.path.name))

    # ---- the report

    def _preview(self, keep: frozenset[str]) -> None:
        case = self.session.case
        if case is not None and self.flow is not None:
            engine = self.flow.engine
            self._run("preview", lambda _watcher: engine.report_text(case, keep), self._report.show_preview)

    def _save_report(self, path: str, keep: frozenset[str]) -> None:
        case = self.session.case
        if case is not None and self.flow is not None and path:
            engine = self.flow.engine

            def work(_watcher: Watcher) -> Path:
                return engine.write_report(case, Path(path), keep)

            self._run("report", work, self._report.show_saved)

    def _before_close(self) -> None:
        """Let a save that is under way come to its end; wait for nothing else."""
        self.runner.keep_only(KIND)
        self.runner.wait_for(KIND, SAVE_PATIENCE_MS)
        self.runner.close()
