"""Renders every page of the window, in its states, to PNG files in a folder: `python tests/screens.py FOLDER [WORD]`.

For looking at, and for the picture in README. Uses the demo and the real rulebook; saves nothing. With a word only
the pictures whose name contains it are kept. Needs no display.
"""

import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from time import sleep
from typing import Literal

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtGui import QFont
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from wizard.bus.drive import DriveDocument, DriveLink
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot, Unreadable
from wizard.bus.pace import Beat, Gap, PaceDevice, PaceDocument
from wizard.bus.watching import Marked, Together, WatchEvent, WatchSummary
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.desktop import theme
from wizard.desktop.app import application
from wizard.desktop.jobs import Runner
from wizard.desktop.pages.plan import PlanPage
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import Source
from wizard.desktop.widgets.arrangement import PATIENCE_MS
from wizard.desktop.window import Window
from wizard.desktop.wired import WiredEngine
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.observe.seen import Watcher
from wizard.store.demos import Demo

HOSTILE = "<b>Bold</b> & <img src=x onerror=alert(1)> " + "M" * 90


MINUTE = (
    WatchEvent(t=4.2, kind="connect", where="1-3.1", name="Cue sound interface"),
    WatchEvent(t=23.1, kind="disconnect", where="1-3.2", name="Fader bank 1"),
    WatchEvent(t=23.3, kind="disconnect", where="1-3.3", name="Fader bank 2"),
    WatchEvent(t=25.0, kind="connect", where="1-3.2", name="Fader bank 1"),
    WatchEvent(t=25.6, kind="connect", where="1-3.3", name="Fader bank 2"),
    WatchEvent(t=38.0, kind="reset", where="1-3.1", name="Cue sound interface", count=2, by="log"),
    WatchEvent(t=52.4, kind="over_current", where="1-3", name="Seven-socket desk hub", by="log"),
    WatchEvent(t=58.7, kind="disconnect", where="1-3.1", name="Cue sound interface"),
)
"""An invented minute."""


@dataclass(frozen=True)
class Mode:
    """One way to look at the window: size in pixels, text size as a factor, dark or light."""

    name: str
    width: int
    height: int
    text: float
    dark: bool


MODES = (
    Mode("light", 1024, 700, 1.0, False),
    Mode("dark", 1024, 700, 1.0, True),
    Mode("large", 1600, 1000, 1.0, False),
    Mode("big-text", 1024, 700, 1.5, False),
    Mode("big-text-dark", 1600, 1000, 1.5, True),
)


class Staged(WiredEngine):
    """The real engine on a stage: no bus of its own, a hostile demo on request, and nothing is saved."""

    hostile = False
    seen: Snapshot | None = None

    def look_live(self, watcher: Watcher, log: str | None) -> Look:
        """No bus, or the one put on the stage."""
        if self.seen is not None:
            return self.look_of(Case(symptom="dropout", snapshot=self.seen))
        return Look(notes=("There is no /sys/bus/usb on this system.",))

    def look_captured(self, root: Path, watcher: Watcher, log: str | None) -> Look:
        """A capture that can't be read."""
        raise BadInputError(str(root), "there is no folder 'sys' in it", "Choose the folder that holds it.")

    def look_demo(self, demo: Demo, when: Literal["before", "after"]) -> Look:
        """The demo's look, its devices under awkward names if wanted."""
        look = super().look_demo(demo, when)
        if not self.hostile:
            return look
        devices = tuple(d if d.root else d.model_copy(update={"name": HOSTILE}) for d in look.snapshot.devices)
        return look.model_copy(update={"snapshot": look.snapshot.model_copy(update={"devices": devices})})

    def watch(
        self,
        stop: Callable[[], bool],
        tell: Callable[[WatchEvent], None],
        mark: Callable[[], bool],
        case: Case | None,
    ) -> WatchSummary:
        """An invented bad minute on the bus."""
        marks: list[Marked] = []
        for event in MINUTE:
            tell(event)
        while not stop():
            if mark():
                tell(WatchEvent(t=61, kind="mark", by="user"))
                marks.append(Marked(t=61, before=MINUTE[-2:]))
            sleep(0.02)
        together = (Together(t=23.1, where="1-3", what="hub", devices=("1-3.2", "1-3.3")),)
        kinds = {"disconnect": 3, "connect": 3, "reset": 2, "over_current": 1}
        return WatchSummary(
            seconds=64, events=MINUTE, by_kind=kinds, together=together, marked=tuple(marks), stands_out=True,
            observations={"seen_by_system": "comes_and_goes"},
            notes=("The system's own log may not be read here; join the group “adm” to let Portmend see it.",),
        )  # fmt: skip

    def pace_devices(self, snapshot: Snapshot) -> tuple[PaceDevice, ...]:
        """One that may be read, and one that may not."""
        return (
            PaceDevice(path="/dev/input/event4", kind="event", device="1-3.2", name="Fader bank 1", readable=True),
            PaceDevice(
                path="/dev/input/event7", kind="event", device="1-3.7", name="Foot switch 1", readable=False,
                why="Only the group “input” may read it.", mend="Ask whoever runs this computer to add you to it.",
            ),
        )  # fmt: skip

    def pace(self, device: str, stop: Callable[[], bool], tell: Callable[[Beat], None]) -> PaceDocument:
        """Reports every 8 ms with two gaps, as in the trouble of the demo."""
        at, intervals, gaps = 0.0, [], []
        for number in range(1500):
            ms = 1900.0 if number in (500, 1100) else 8.0 + (number * 7 % 5) * 0.05
            at += ms / 1000
            intervals.append((at, ms))
            if ms > 100:
                gaps.append(Gap(at_s=at, ms=ms))
        tell(Beat(at_s=at, reports=1500, intervals=tuple(intervals)))
        return PaceDocument(
            device="1-3.2", seconds=at, reports=1500, promised_ms=8.0, median_ms=8.1, p99_ms=8.2, longest_ms=1900.0,
            gaps=tuple(gaps), verdict="gaps", observations={"report_gap_ms": 1900.0},
            words="Reports come every 8 ms as promised; two gaps of 1.9 s: that is your lag.",
        )  # fmt: skip

    def drive(self, device: str) -> DriveDocument:
        """A chain that breaks at the file system."""
        return DriveDocument(
            device=device, words="The drive is there; the chain breaks at its file system.",
            observations={"volume": "foreign_filesystem"},
            links=(
                DriveLink(link="enumerated", state="ok", found="The bus sees it, at 5 Gbit/s."),
                DriveLink(link="driver", state="ok", found="The driver uas takes it."),
                DriveLink(link="block_device", state="ok", found="It is the disk sdb."),
                DriveLink(link="partition_table", state="ok", found="It has one part."),
                DriveLink(
                    link="file_system", state="fails", found="No file system that this computer knows.",
                    follows="Do not format it if its files matter: make a copy first.",
                ),
                DriveLink(link="mounted", state="unknown", found="Nothing to tell before that."),
            ),
        )  # fmt: skip

    def last_case(self) -> Path | None:
        """One to offer."""
        return Path("2024-03-09-181500-dropout.json")

    def save_case(self, case: Case, path: Path | None) -> Path:
        """Only pretended."""
        return path or Path("2024-03-09-183000-lag.json")


class Stage:
    """A window in one mode, moved from state to state."""

    def __init__(self, app: QApplication, mode: Mode, base: QFont) -> None:
        font = QFont(base)
        font.setPointSizeF(base.pointSizeF() * mode.text)
        app.setFont(font)
        theme.apply(app, mode.dark)
        self.engine = Staged()
        self.window = Window()
        self.window.resize(mode.width, mode.height)
        self.presenter = Presenter(self.window, Runner(), lambda: self.engine)
        self.window.show()
        self.presenter.start()
        self.rest()

    def rest(self) -> None:
        """Let everything come to rest and be laid out."""
        self.presenter.rest(20)
        for _ in range(3):
            QApplication.processEvents()

    def go(self) -> None:
        """Press the main action."""
        self.window.press_primary()
        self.rest()

    def signal(self, page: str, name: str, *args: object) -> None:
        """Do what a user does on a page."""
        getattr(self.window.pages[page], name).emit(*args)  # type: ignore[index]  # page names are literals
        self.rest()

    @property
    def demo(self) -> Demo:
        """The demo shown."""
        return self.engine.demos()[0]

    def states(self) -> Iterator[str]:
        """Go through the states worth a picture, naming each."""
        yield "trouble"
        self.signal("trouble", "chosen", ("lag", "dropout"), "dropout")
        yield "trouble-two"
        self.go()
        yield "look-choose"
        self.presenter.window.pages["look"].show_looking(True, "Reading what hangs on bus 3", 0.4)
        yield "look-busy"
        self.presenter.window.pages["look"].show_looking(False)
        self.go()
        yield "look-no-bus"
        self.signal("look", "look_wanted", Source("captured", "/home/user/captures/of-another-pc"), "")
        yield "look-bad-capture"
        self.engine.hostile = True
        self.signal("look", "look_wanted", Source("demo", self.demo.name), "")
        yield "look-hostile"
        self.go()
        yield "ledger-hostile"
        self.window.press_back()
        self.engine.hostile = False
        self.signal("look", "look_wanted", Source("demo", self.demo.name), "")
        yield "look-seen"
        self.go()
        yield "ledger"
        self.go()
        yield from self._questions()
        yield "findings"
        self.go()
        yield "plan"
        yield from self._searching()
        first = self.presenter.session.advice.plan.steps[0].id  # type: ignore[union-attr]  # the plan is on show
        self.signal("plan", "marked", first, "helped")
        yield "plan-marked"
        self.go()
        yield "again"
        self.go()
        yield "again-looked"
        self.signal("again", "outcome_said", self.demo.outcome)
        yield "again-verdict"
        self.signal("again", "report_wanted")
        yield "report"

    def _searching(self) -> Iterator[str]:
        """The search for the best arrangement while it goes on, called off, and back at its end."""
        plan = self.window.pages["plan"]
        assert isinstance(plan, PlanPage)
        plan.arrangement.show_looking(True)
        QTest.qWait(2 * PATIENCE_MS)
        yield "plan-searching"
        plan.arrangement.show_stopped()
        yield "plan-cancelled"
        self.window.press_back()
        self.signal("findings", "go_on")

    def _questions(self) -> Iterator[str]:
        for number in range(1, 13):
            shown = self.presenter.flow.question(self.presenter.session) if self.presenter.flow else None
            if self.presenter.session.page != "questions" or shown is None:
                return
            yield f"question-{number:02d}-{shown.question.observation}"
            answer = UNKNOWN if shown.suggested is None else shown.suggested
            self.signal("questions", "answered", shown.question.observation, answer)
            if number == 2:
                self.window.press_back()
                self.rest()
                yield "question-02-again"
                self.go()

    def beside(self) -> Iterator[str]:
        """What stands beside the steps, each in its states; events and measurements are invented."""
        self.signal("trouble", "chosen", ("dropout",), None)
        self.go()
        blocked = (
            Unreadable(where="1-3.2/descriptors", reason="blocked"),
            Unreadable(where="1-5", reason="permission"),
        )
        self.engine.seen = self.demo.before.model_copy(update={"unreadable": blocked})
        self.signal("look", "look_wanted", Source("live"), "")
        yield "look-partial"
        self.engine.seen = self.demo.before
        self.signal("look", "look_wanted", Source("live"), "")
        yield "look-live"
        for aside in ("watch", "pace", "drive"):
            yield from self._live(aside)
        self.signal("look", "aside_wanted", "exports")
        yield "exports"
        self.window.press_back()
        self.signal("look", "aside_wanted", "describe")
        yield "describe-empty"
        page = self.window.pages["describe"]
        hub = next(kind for kind, _title in self.engine.kinds() if self.engine.is_hub(kind))
        for kind in (hub, "mouse", "headset", "keyboard"):
            page.plug(kind)  # type: ignore[attr-defined]  # the page by that name has it
        yield "describe"
        self.go()
        yield "look-described"
        self.go()
        self.go()
        self.window.press_secondary()
        self.rest()
        self.go()
        yield "plan-described"
        self.signal("plan", "aside_wanted", "fit")
        yield "fit-empty"
        self.go()
        yield "fit"
        self.window.press_back()
        self.signal("plan", "aside_wanted", "labels")
        yield "labels"

    def _live(self, aside: str) -> Iterator[str]:
        self.signal("look", "aside_wanted", aside)
        yield f"{aside}-idle"
        self.window.press_primary()
        QTest.qWait(600)
        if aside == "watch":
            yield "watch-running"
            self.window.press_primary()
            QTest.qWait(400)
            self.window.press_secondary()
            QTest.qWait(200)
        self.rest()
        yield f"{aside}-ended"
        self.window.press_back()

    def broken(self) -> Iterator[str]:
        """A rulebook that can't be read, and a page while its work goes on."""
        self.window.show_waiting("causes.toml, cause hub_supply: unknown symptom 'lagg' (did you mean 'lag'?)")
        yield "broken-rulebook"

    def purchases(self) -> Iterator[str]:
        """The plan of a demo that can't be solved without something bought, if there is one."""
        self.signal("trouble", "chosen", ("other",), None)
        self.go()
        for demo in self.engine.demos():
            self.signal("look", "look_wanted", Source("demo", demo.name), "")
            self.go()
            self.go()
            self.window.press_secondary()
            self.rest()
            self.go()
            arranged = self.presenter.session.arranged
            if arranged is not None and arranged.clash:
                yield f"plan-{demo.name}"
                return
            self.window.jump.emit("look")

    def tests(self) -> Iterator[str]:
        """Questions of each kind, without a look."""
        self.signal("trouble", "chosen", ("resource_error",), None)
        self.go()
        self.signal("look", "go_without")
        kinds: set[str] = set()
        for _ in range(12):
            shown = self.presenter.flow.question(self.presenter.session) if self.presenter.flow else None
            if self.presenter.session.page != "questions" or shown is None:
                break
            question = shown.question
            kind = "number" if question.unit else "list" if question.many else question.kind
            if kind not in kinds:
                kinds.add(kind)
                yield f"kind-{kind}"
            self.signal("questions", "answered", question.observation, UNKNOWN)
        yield "findings-nothing-known"
        self.go()
        yield "plan-nothing-known"
        self.go()
        yield "again-without-look"


WALKS = (("a", Stage.states), ("b", Stage.tests), ("c", Stage.purchases), ("d", Stage.beside), ("e", Stage.broken))


def main(folder: Path, word: str = "") -> None:
    """Take all the pictures."""
    folder.mkdir(parents=True, exist_ok=True)
    app = application(["portmend"])
    base = QFont(app.font())
    for mode in MODES:
        for letter, walk in WALKS:
            stage = Stage(app, mode, base)
            _shoot(stage, walk, folder, f"{mode.name}-{letter}", word)
            stage.window.close()
            stage.window.deleteLater()


def _shoot(stage: Stage, walk: Callable[[Stage], Iterator[str]], folder: Path, mode: str, word: str) -> None:
    for number, state in enumerate(walk(stage)):
        stage.rest()
        name = f"{mode}{number:02d}-{state}.png"
        if word in name:
            stage.window.grab().save(str(folder / name))


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "")
