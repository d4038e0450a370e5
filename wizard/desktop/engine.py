"""What the window needs of the rest of the program.

The port that `flow`, `tasks` and the pages are written against; `wired` fulfils it with `wizard.wiring`.
Most calls read files or compute: the window makes them through `jobs` only.
"""

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Literal, Protocol

from wizard.budget.described import Described, Host
from wizard.bus.drive import DriveDocument
from wizard.bus.model import Snapshot
from wizard.bus.pace import Beat, Hear, PaceDevice, PaceDocument
from wizard.bus.watching import WatchEvent, WatchSummary
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case
from wizard.diagnosis.advice import Question
from wizard.diagnosis.rulebook import Symptom
from wizard.diagnosis.texts import Texts
from wizard.observe.seen import Watcher
from wizard.plan.arrange.options import Arrangements
from wizard.plan.verdict import Verdict
from wizard.report.blocks import Section
from wizard.store.demos import Demo

KindWords = tuple[str, str]
"""A typical device: its id and its name."""


class Engine(Protocol):
    """The services a flow rests on."""

    @property
    def texts(self) -> Texts:
        """The prose of the language shown."""

    def symptoms(self) -> tuple[Symptom, ...]:
        """What a user may complain about, in the order to offer it."""

    def question(self, observation: str) -> Question | None:
        """The question about one observation; None if this rulebook does not ask it. Quick."""

    def concerns(self, observation: str, symptoms: Iterable[str]) -> bool:
        """Whether an observation is about one of these symptoms. Quick."""

    def new_case(
        self, symptom: str, also: tuple[str, ...], look: Look | None = None, source: str | None = None
    ) -> Case:
        """A fresh case. Quick."""

    def look_live(self, watcher: Watcher, log: str | None) -> Look:
        """This PC. Slow."""

    def look_captured(self, root: Path, watcher: Watcher, log: str | None) -> Look:
        """A captured tree, or a file of devices from another system. Slow; raises BadInputError."""

    def lists_devices(self, log: str) -> bool:
        """Whether a log is a file that lists devices, and so takes the place of a bus. Slow; raises BadInputError."""

    def look_of(self, case: Case) -> Look:
        """The look that a case holds. Slow."""

    def demos(self) -> tuple[Demo, ...]:
        """All demos. Slow."""

    def load_demo(self, name: str) -> Demo:
        """One demo. Slow."""

    def demo_case(self, demo: Demo) -> Case:
        """The case of a demo before anything was answered. Slow."""

    def look_demo(self, demo: Demo, when: Literal["before", "after"]) -> Look:
        """One of a demo's two looks. Slow."""

    def advise(self, case: Case) -> Advice:
        """Causes, next question, plan. Slow."""

    def arrange(self, case: Case, stop: Callable[[], bool]) -> Arrangements:
        """The best ways to plug what hangs on the bus of a case; ends soon once `stop` says so. Slow."""

    def compare(self, before: Look, after: Look) -> CompareDocument:
        """Two looks side by side. Slow."""

    def verdict(self, case: Case, before: Look, after: Look) -> Verdict:
        """What became of the trouble."""

    def open_case(self, path: Path) -> Case:
        """A saved case. Slow; raises BadInputError."""

    def now(self) -> str:
        """The time now, for the record of a check."""

    def last_case(self) -> Path | None:
        """The saved case that changed last. Slow."""

    def save_case(self, case: Case, path: Path | None) -> Path:
        """Save a case where it was or under a new name. Slow; raises BadInputError."""

    def write_report(self, case: Case, path: Path, keep: frozenset[str]) -> Path:
        """A report in the form that the ending of the path names. Slow; raises BadInputError."""

    def report_text(self, case: Case, keep: frozenset[str]) -> str:
        """The report as plain text, to look at before it is saved. Slow."""

    def read_log(self, path: Path) -> str:
        """The text of a log file. Slow; raises BadInputError."""

    # ---- beside the steps

    def watch(
        self,
        stop: Callable[[], bool],
        tell: Callable[[WatchEvent], None],
        mark: Callable[[], bool],
        case: Case | None,
    ) -> WatchSummary:
        """Follow this computer's bus until told to stop. Slow."""

    def with_watch(self, case: Case, summary: WatchSummary) -> Case:
        """The case with what a watch settled. Quick."""

    def pace_devices(self, snapshot: Snapshot) -> tuple[PaceDevice, ...]:
        """What reports input here, and whether it may be measured. Slow."""

    def pace(self, device: str, stop: Callable[[], bool], tell: Callable[[Beat], None]) -> PaceDocument:
        """Measure until told to stop, or until it is enough. Slow; raises BadInputError."""

    def window_pace(self, hear: Hear, stop: Callable[[], bool], tell: Callable[[Beat], None]) -> PaceDocument:
        """Judge the events our own window gets until told to stop, or until it is enough. Slow."""

    def drive_devices(self, snapshot: Snapshot) -> tuple[str, ...]:
        """Ids of the drives on a bus. Quick."""

    def drive(self, device: str) -> DriveDocument:
        """The chain from the bus to the files of one drive. Slow; raises BadInputError."""

    def kinds(self) -> tuple[KindWords, ...]:
        """Typical devices, in the order to offer them. Quick."""

    def is_hub(self, kind: str) -> bool:
        """Whether a typical device is a hub. Quick."""

    def describe(self, hosts: Sequence[Host]) -> Described:
        """A set-up to begin with. Quick; raises BadInputError."""

    def plug_kind(self, at: Described, socket: str, kind: str, name: str | None) -> Described:
        """A typical device in a socket. Quick; raises BadInputError."""

    def look_described(self, at: Described) -> Look:
        """The look of a described set-up. Slow."""

    def fit(self, case: Case, kind: str) -> Section:
        """Whether one more of a kind fits on the bus of a case, in words. Slow."""

    def labels(self, case: Case, arranged: Arrangements | None) -> Section | None:
        """What belongs into which socket, once the best arrangement that was found is carried out. Slow."""
