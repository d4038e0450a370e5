"""The engine of the window, wired to the rest of the program. Adds nothing of its own."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal, cast

from wizard import wiring
from wizard.budget.described import Described, Host
from wizard.bus.drive import DriveDocument
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.bus.pace import Beat, Hear, PaceDevice, PaceDocument
from wizard.bus.watching import WatchEvent, WatchSummary
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.diagnosis.advice import Question
from wizard.diagnosis.questions import make_question
from wizard.diagnosis.rulebook import Symptom
from wizard.diagnosis.texts import Texts
from wizard.observe.seen import Watcher
from wizard.plan.arrange.options import Arrangements
from wizard.plan.verdict import Verdict
from wizard.report.blocks import Section
from wizard.store.demos import Demo

EXPORTS = frozenset({".json", ".txt", ".log"})
"""Endings of what the built-in commands of other systems write; a capture is a folder or an archive."""


class WiredEngine:
    """Fulfils `Engine` with `wizard.wiring`. Loading it reads the rulebook: slow, raises RulebookError."""

    def __init__(self, services: wiring.Services | None = None) -> None:
        self._services = services or wiring.load_services()

    @property
    def texts(self) -> Texts:
        """The prose of the language shown."""
        return self._services.texts

    def symptoms(self) -> tuple[Symptom, ...]:
        """What a user may complain about."""
        return self._services.rulebook.symptoms

    def question(self, observation: str) -> Question | None:
        """The question about one observation; None if this rulebook does not ask it."""
        known = self._services.rulebook.observation_by_id.get(observation)
        return None if known is None or known.how == "measure" else make_question(known, self._services.texts)

    def concerns(self, observation: str, symptoms: Iterable[str]) -> bool:
        """Whether an observation is about one of these symptoms."""
        known = self._services.rulebook.observation_by_id.get(observation)
        return known is None or not known.symptoms or bool(set(known.symptoms) & set(symptoms))

    def new_case(
        self, symptom: str, also: tuple[str, ...], look: Look | None = None, source: str | None = None
    ) -> Case:
        """A fresh case."""
        known = cast(wiring.Source, source) if source in ("live", "captured", "described", "demo") else None
        return wiring.new_case(symptom, also, look, (), known)

    def look_live(self, watcher: Watcher, log: str | None) -> Look:
        """This PC."""
        return wiring.look_live(watcher, log)

    def look_captured(self, root: Path, watcher: Watcher, log: str | None) -> Look:
        """A captured tree, or a file of devices from another system."""
        if not (root.is_file() and root.suffix.lower() in EXPORTS):
            return wiring.look_captured(root, watcher, log)
        told = wiring.read_log(root)
        if not wiring.lists_devices(told):
            raise BadInputError(str(root), "this file lists no devices", "Add it as a log file under “This PC”.")
        return wiring.look_live(watcher, told)

    def lists_devices(self, log: str) -> bool:
        """Whether a log is a file that lists devices."""
        return wiring.lists_devices(log)

    def look_of(self, case: Case) -> Look:
        """The look that a case holds."""
        return wiring.look_of(case)

    def demos(self) -> tuple[Demo, ...]:
        """All demos."""
        return tuple(wiring.load_demo(name) for name in wiring.demo_names())

    def load_demo(self, name: str) -> Demo:
        """One demo."""
        return wiring.load_demo(name)

    def demo_case(self, demo: Demo) -> Case:
        """The case of a demo before anything was answered."""
        return wiring.demo_case(demo)

    def look_demo(self, demo: Demo, when: Literal["before", "after"]) -> Look:
        """One of a demo's two looks."""
        return wiring.look_demo(demo, when)

    def advise(self, case: Case) -> Advice:
        """Causes, next question, plan."""
        return wiring.advise(self._services, case)

    def arrange(self, case: Case, stop: Callable[[], bool]) -> Arrangements:
        """The best ways to plug what hangs on the bus of a case."""
        return wiring.arrangements(case, stop=stop)

    def compare(self, before: Look, after: Look) -> CompareDocument:
        """Two looks side by side."""
        return wiring.compare(before, after)

    def verdict(self, case: Case, before: Look, after: Look) -> Verdict:
        """What became of the trouble."""
        return wiring.verdict(case, before, after)

    def open_case(self, path: Path) -> Case:
        """A saved case."""
        return wiring.open_case(path)

    def now(self) -> str:
        """The local time to the second."""
        return datetime.now().isoformat(" ", "seconds")

    def last_case(self) -> Path | None:
        """The saved case that changed last."""
        return wiring.last_case()

    def save_case(self, case: Case, path: Path | None) -> Path:
        """Save a case."""
        return wiring.save_case(case, path)

    def write_report(self, case: Case, path: Path, keep: frozenset[str]) -> Path:
        """A report in the form that the ending names."""
        return wiring.write_report(self._services, case, path, keep)

    def report_text(self, case: Case, keep: frozenset[str]) -> str:
        """The report as plain text."""
        return wiring.report_text(self._services, case, keep)

    def read_log(self, path: Path) -> str:
        """The text of a log file."""
        return wiring.read_log(path)

    def watch(
        self,
        stop: Callable[[], bool],
        tell: Callable[[WatchEvent], None],
        mark: Callable[[], bool],
        case: Case | None,
    ) -> WatchSummary:
        """Follow this computer's bus until told to stop."""
        return wiring.watch(stop, tell, mark=mark, subject=case.subject if case is not None else ())

    def with_watch(self, case: Case, summary: WatchSummary) -> Case:
        """The case with what a watch settled."""
        return wiring.with_watch(case, summary)

    def pace_devices(self, snapshot: Snapshot) -> tuple[PaceDevice, ...]:
        """What reports input here."""
        return wiring.pace_devices(snapshot)

    def pace(self, device: str, stop: Callable[[], bool], tell: Callable[[Beat], None]) -> PaceDocument:
        """Measure until told to stop, or until it is enough."""
        return wiring.pace(device, stop=stop, tell=tell)

    def window_pace(self, hear: Hear, stop: Callable[[], bool], tell: Callable[[Beat], None]) -> PaceDocument:
        """Judge what our own window hears."""
        return wiring.window_pace(hear, wiring.PACE_SECONDS, stop, tell)

    def drive_devices(self, snapshot: Snapshot) -> tuple[str, ...]:
        """Ids of the drives on a bus."""
        return wiring.drive_devices(snapshot)

    def drive(self, device: str) -> DriveDocument:
        """The chain of one drive."""
        return wiring.drive(device)

    def kinds(self) -> tuple[tuple[str, str], ...]:
        """Typical devices."""
        return tuple((choice.id, choice.title) for choice in wiring.kind_choices(self._services))

    def is_hub(self, kind: str) -> bool:
        """Whether a typical device is a hub."""
        return wiring.known_kind(self._services, kind).ports is not None

    def describe(self, hosts: Sequence[Host]) -> Described:
        """A set-up to begin with."""
        return wiring.describe(hosts)

    def plug_kind(self, at: Described, socket: str, kind: str, name: str | None) -> Described:
        """A typical device in a socket."""
        return wiring.plug_kind(self._services, at, socket, kind, name)

    def look_described(self, at: Described) -> Look:
        """The look of a described set-up."""
        return wiring.look_described(at)

    def fit(self, case: Case, kind: str) -> Section:
        """Whether one more of a kind fits."""
        snapshot = case.snapshot or Snapshot()
        found = wiring.fit(self._services, snapshot, told_setup(case), kind)
        return wiring.fit_answer_section(self._services, found, snapshot)

    def labels(self, case: Case, arranged: Arrangements | None) -> Section | None:
        """What belongs into which socket, once the first arrangement is carried out."""
        option = arranged.options[0] if arranged is not None and arranged.options else None
        return wiring.label_section(self._services, case, option)
