"""A hand-written engine with three questions and two causes: enough to drive the window without the real rules.

Every number here is invented; nothing about USB is checked with it.
"""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Literal

import pytest
from PySide6.QtWidgets import QMainWindow

from wizard.budget.described import Described, Host, described
from wizard.budget.entry import Entry, Part
from wizard.budget.kinds import load_kinds
from wizard.bus.drive import DriveDocument, DriveLink
from wizard.bus.errors import BadInputError
from wizard.bus.model import Controller, Device, Hub, Snapshot, Socket, System, Unreadable
from wizard.bus.pace import Beat, Gap, PaceDevice, PaceDocument
from wizard.bus.watching import Marked, Together, WatchEvent, WatchSummary
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case
from wizard.diagnosis.advice import Contradiction, Evidence, Finding, Question
from wizard.diagnosis.rulebook import Symptom
from wizard.diagnosis.texts import Texts
from wizard.observe.seen import Watcher
from wizard.plan.arrange.options import Arrangements
from wizard.plan.steps import Caution, Plan, Step
from wizard.plan.verdict import Verdict
from wizard.report.blocks import Para, Row, Section, Table
from wizard.store import resources
from wizard.store.demos import Demo

KINDS = load_kinds(resources.kind_tables())

HOSTILE = "<b>Bold</b><img src='x'>&amp;"

QUESTIONS = {
    "hub_between": Question(
        id="ask_hub_between",
        observation="hub_between",
        text="Is there a hub in between?",
        why="A hub shares one feed among all its sockets.",
        kind="ask",
        values=("none", "one", "chain", "unknown"),
        effort_min=0.5,
        labels={"none": "No, straight into the PC", "one": "Yes, one", "chain": "Yes, hubs in hubs"},
    ),
    "when": Question(
        id="ask_when",
        observation="when",
        text="When does it happen?",
        why="The moment points at the budget that runs out.",
        kind="ask",
        values=("stream_start", "long_run", "random", "unknown"),
        effort_min=0.5,
        many=True,
        labels={"stream_start": "When a stream starts", "long_run": "After a long time", "random": "At random"},
    ),
    "cable_m": Question(
        id="ask_cable_m",
        observation="cable_m",
        text="How long is the cable?",
        why="Long cables lose voltage.",
        kind="ask",
        values=(1.0, 3.0, 5.0, "unknown"),
        effort_min=1,
        unit="m",
    ),
    "other_cable": Question(
        id="ask_other_cable",
        observation="other_cable",
        text="Try another cable.",
        why="The cable is the cheapest suspect.",
        kind="test",
        values=("cures", "helps", "same", "worse", "unknown"),
        effort_min=5,
        how="Save your work. Then swap the cable.",
        labels={"cures": "It is gone", "same": "No change"},
        means={"cures": "The old cable was to blame.", "same": "The cable is less likely."},
    ),
}

TEXTS = Texts(
    "en",
    {
        "symptom.lag.title": "Input arrives late",
        "symptom.lag.words": "Pointer, keys or controls answer late.",
        "symptom.dropout.title": "It drops out",
        "symptom.dropout.words": "It works, then it is gone for a moment.",
        "symptom.drive_missing.title": "A drive is not recognised",
        "symptom.drive_missing.words": "It does not show up.",
        "symptom.other.title": "Something else",
        "symptom.other.words": "None of these, or not sure.",
        "cause.hub_supply.title": "The hub's supply is too weak",
        "cause.hub_supply.words": "The hub must feed more than it can.",
        "cause.cable_fault.title": "A bad cable or plug",
        "cause.cable_fault.words": "The cable breaks the connection.",
        "observation.hub_between.name": "hubs in between",
        "observation.when.name": "when it happens",
        "observation.cable_m.name": "length of the cable",
        "observation.other_cable.name": "trial of another cable",
        "budget.hub_supply.title": "What the hub can feed",
        "budget.hub_supply.words": "All sockets of the hub share its supply.",
        "budget.port_current.title": "Current at a socket",
        "budget.port_current.words": "One socket gives only so much.",
        **{
            key: text
            for key, text in resources.texts("en").items()
            if key.startswith(("arrange.", "caution.", "exports.", "step.arrangement"))
        },
    },
)


def snapshot(name: str = "Filter wheel", board: str = "Bench board") -> Snapshot:
    """One controller, a hub in its first socket, a device in the hub."""
    return Snapshot(
        system=System(os="linux", board_model=board),
        controllers=(Controller(id="0000:00:14.0", kind="xhci", driver="xhci_hcd"),),
        sockets=(Socket(id="1-1", hub="usb1"), Socket(id="1-1.1", hub="1-1"), Socket(id="1-1.2", hub="1-1")),
        devices=(
            Device(id="usb1", parent="0000:00:14.0", root=True, hub=Hub(ports=1), speed="high", name="Root hub"),
            Device(
                id="1-1", parent="usb1", hub=Hub(ports=2), speed="high", mbps=480, name="Desk hub", max_power_ma=100
            ),
            Device(id="1-1.1", parent="1-1", speed="full", mbps=12, name=name, max_power_ma=450),
            Device(id="1-1.2", parent="1-1", speed="high", mbps=480, name="Camera", max_power_ma=500),
        ),
        unreadable=(Unreadable(where="1-1.2/descriptors", reason="blocked"),),
    )


def look(limit: float | None = 400.0, name: str = "Filter wheel") -> Look:
    """A look with one budget over, one unknown and one with room."""
    state: Literal["over", "unknown", "room"] = "unknown" if limit is None else "over" if limit < 950 else "room"
    feed = Entry(
        budget="hub_supply", where="1-1", used=950, limit=limit, unit="mA", state=state, basis="declared",
        limit_basis="declared" if limit else "unknown", source="USB 2.0 §7.2.1",
        parts=(Part(who="1-1.1", used=450), Part(who="1-1.2", used=500)),
    )  # fmt: skip
    socket = Entry(
        budget="port_current", where="1-1", used=None, limit=500, unit="mA", state="unknown", basis="unknown",
        limit_basis="declared", source="USB 2.0 §7.2.1",
    )  # fmt: skip
    return Look(snapshot=snapshot(name), ledger=(socket, feed), notes=("One device did not answer.",))


def demo() -> Demo:
    """A demo on another machine."""
    return Demo(
        name="bench", title="The bench", story="An invented bench.", symptom="dropout", subject=("1-1.1",),
        answers={"hub_between": "one", "when": ["stream_start"]}, before=snapshot(board="Demo board"),
        after=snapshot(board="Demo board"), outcome="gone", fix="The camera moved to a socket of its own.",
    )  # fmt: skip


class FakeEngine:
    """Asks its questions in order; every answer but `unknown` speaks for the first cause."""

    def __init__(self, order: tuple[str, ...] = ("hub_between", "when", "cable_m", "other_cable")) -> None:
        self.order = order
        self.texts = TEXTS
        self.live = look()
        self.about = {"cable_m": ("dropout",)}
        self.asked_to_advise = 0
        self.asked_to_arrange = 0
        self.arranged = Arrangements()
        self.saved: list[tuple[Case, Path | None]] = []
        self.reports: list[tuple[Path, frozenset[str]]] = []
        self.watched: Case | None = None
        self.events: tuple[WatchEvent, ...] = (
            WatchEvent(t=1.0, kind="disconnect", where="1-1.1", name=HOSTILE),
            WatchEvent(t=2.0, kind="connect", where="1-1.1", name=HOSTILE),
        )
        self.summary = WatchSummary(
            seconds=4.0, events=self.events, by_kind={"disconnect": 1, "connect": 1}, stands_out=True,
            observations={"seen_by_system": "comes_and_goes"},
            together=(Together(t=1.0, where="1-1", what="hub", devices=("1-1.1", "1-1.2")),),
        )  # fmt: skip
        self.controls: tuple[PaceDevice, ...] = (
            PaceDevice(path="/dev/input/event4", kind="event", device="1-1.2", name="Knob", readable=True),
            PaceDevice(
                path="/dev/input/event5", kind="event", device="1-1.1", name=HOSTILE, why="You may not.", mend="Ask."
            ),
        )
        self.paced = PaceDocument(
            device="1-1.2", seconds=0.5, reports=3, promised_ms=8.0, median_ms=8.0, p99_ms=300.0, longest_ms=300.0,
            gaps=(Gap(at_s=0.5, ms=300.0),), verdict="gaps", words="One gap of 300 ms: that is your lag.",
            observations={"report_rate": "irregular", "report_gap_ms": 300.0},
        )  # fmt: skip
        self.heard = 0
        self.drives: tuple[str, ...] = ("1-1.2",)
        self.chain = DriveDocument(
            device="1-1.2", words="The chain breaks at its file system.", observations={"volume": "foreign_filesystem"},
            links=(
                DriveLink(link="enumerated", state="ok", found="It is on the bus."),
                DriveLink(link="file_system", state="fails", found="No known one.", follows="Copy first."),
                DriveLink(link="mounted", state="unknown", found="Not told."),
            ),
        )  # fmt: skip

    def symptoms(self) -> tuple[Symptom, ...]:
        return (
            Symptom(id="lag", main=True),
            Symptom(id="dropout", main=True),
            Symptom(id="drive_missing", main=True),
            Symptom(id="other"),
        )

    def question(self, observation: str) -> Question | None:
        return QUESTIONS.get(observation)

    def concerns(self, observation: str, symptoms: Iterable[str]) -> bool:
        return observation not in self.about or bool(set(self.about[observation]) & set(symptoms))

    def new_case(
        self, symptom: str, also: tuple[str, ...], look: Look | None = None, source: str | None = None
    ) -> Case:
        return Case(symptom=symptom, also=also, snapshot=look.snapshot if look else None, source=source)

    def look_live(self, watcher: Watcher, log: str | None) -> Look:
        watcher.progress("Reading", 0.5)
        return self.live

    def look_captured(self, root: Path, watcher: Watcher, log: str | None) -> Look:
        if root.name == "empty":
            raise BadInputError(str(root), "there is no 'sys' in it", "Choose a captured tree.")
        return look(name=root.name)

    def lists_devices(self, log: str) -> bool:
        return log.startswith("[devices")

    def look_of(self, case: Case) -> Look:
        return look()

    def demos(self) -> tuple[Demo, ...]:
        return (demo(),)

    def load_demo(self, name: str) -> Demo:
        return demo()

    def demo_case(self, demo: Demo) -> Case:
        return Case(symptom=demo.symptom, subject=demo.subject, snapshot=demo.before, source="demo", demo=demo.name)

    def look_demo(self, demo: Demo, when: Literal["before", "after"]) -> Look:
        return look(400.0 if when == "before" else 2000.0)

    def advise(self, case: Case) -> Advice:
        self.asked_to_advise += 1
        told = [o for o in case.asked if case.observations[o] != "unknown"]
        share = min(0.95, 0.5 + 0.1 * len(told))
        evidence = tuple(
            Evidence(on=o, weight=5, why=f"Because of {o}.", source="common practice (no source)") for o in told
        )
        question = next(
            (
                QUESTIONS[o]
                for o in self.order
                if o not in case.observations and self.concerns(o, (case.symptom, *case.also))
            ),
            None,
        )
        return Advice(
            causes=(
                Finding(id="hub_supply", share=share, for_=evidence),
                Finding(id="cable_fault", share=1 - share),
            ),
            next_question=question,
            contradictions=_contradictions(case),
            plan=Plan(steps=(_step("move_plug"), _step("other_hub"))),
        )

    def arrange(self, case: Case, stop: Callable[[], bool]) -> Arrangements:
        self.asked_to_arrange += 1
        return self.arranged

    def compare(self, before: Look, after: Look) -> CompareDocument:
        return CompareDocument()

    def verdict(self, case: Case, before: Look, after: Look) -> Verdict:
        outcome = case.rechecks[-1].outcome if case.rechecks else None
        return Verdict(verdict="solved" if outcome == "gone" else outcome or "open")

    def open_case(self, path: Path) -> Case:
        raise BadInputError(str(path), "it is empty", "Choose another file.")

    def now(self) -> str:
        return "2024-01-01T00:00:00Z"

    def last_case(self) -> Path | None:
        return None

    def save_case(self, case: Case, path: Path | None) -> Path:
        self.saved.append((case, path))
        return path or Path(f"{case.symptom}-{len(self.saved)}.json")

    def write_report(self, case: Case, path: Path, keep: frozenset[str]) -> Path:
        self.reports.append((path, keep))
        return path

    def report_text(self, case: Case, keep: frozenset[str]) -> str:
        return f"A report of {case.symptom}, keeping {', '.join(sorted(keep)) or 'nothing'}."

    def read_log(self, path: Path) -> str:
        return "a line of a log"

    def watch(self, stop, tell, mark, case):
        self.watched = case
        for event in self.events:
            tell(event)
        begun, marks = time.monotonic(), []
        while not stop() and time.monotonic() - begun < 10:
            if mark():
                marks.append(WatchEvent(t=3.0, kind="mark", by="user"))
                tell(marks[-1])
            time.sleep(0.01)
        return self.summary.model_copy(update={"marked": tuple(Marked(t=m.t, before=self.events[-1:]) for m in marks)})

    def with_watch(self, case: Case, summary: WatchSummary) -> Case:
        return case.model_copy(update={"observations": {**case.observations, **summary.observations}})

    def pace_devices(self, snapshot: Snapshot):
        return self.controls

    def pace(self, device, stop, tell) -> PaceDocument:
        if device == "/dev/input/event9":
            raise BadInputError(device, "it is gone", "Plug it in again.")
        tell(Beat(at_s=0.5, reports=3, intervals=((0.1, 8.0), (0.2, 8.1), (0.5, 300.0))))
        return self.paced

    def window_pace(self, hear, stop, tell) -> PaceDocument:
        while self.heard < 3 and not stop():
            heard = hear(0.01)
            self.heard += heard is not None and heard[1] is not None
        tell(Beat(at_s=0.5, reports=3, intervals=((0.1, 8.0), (0.2, 8.1))))
        return self.paced.model_copy(update={"device": "window", "notes": ("Measured inside this window.",)})

    def drive_devices(self, snapshot: Snapshot) -> tuple[str, ...]:
        return self.drives

    def drive(self, device: str) -> DriveDocument:
        return self.chain

    def kinds(self) -> tuple[tuple[str, str], ...]:
        return tuple((kind.id, kind.id.replace("_", " ").capitalize()) for kind in KINDS)

    def is_hub(self, kind: str) -> bool:
        return next(k for k in KINDS if k.id == kind).ports is not None

    def describe(self, hosts: Sequence[Host]) -> Described:
        return described(hosts)

    def plug_kind(self, at: Described, socket: str, kind: str, name: str | None) -> Described:
        return at.with_device(socket, next(k for k in KINDS if k.id == kind), name or kind)

    def look_described(self, at: Described) -> Look:
        return Look(snapshot=at.snapshot, notes=("Described by hand.",))

    def labels(self, case: Case, arranged):
        rows = (Row(("rear 1", "hub", "1-1")), Row((HOSTILE, "sound only", "1-1.1")), Row(("hub 2", "free", "1-1.2")))
        return Section("labels", "Labels", (Para("Cut them out."), Table(("Where", "What", "Socket"), rows)))

    def fit(self, case: Case, kind: str) -> Section:
        return Section("fit", f"Does one more fit? {kind}", (Para("Yes: 2 more fit."),))


def _contradictions(case: Case) -> tuple[Contradiction, ...]:
    """No hub in between, but it happens when a stream starts: invented, and hung on the first of the two."""
    if case.observations.get("hub_between") != "none" or case.observations.get("when") != ("stream_start",):
        return ()
    why = "Without a hub a stream can't starve."
    question = QUESTIONS["hub_between"].model_copy(update={"id": "again_hub_between", "why": why})
    settled = "no_hub_stream" in case.settled
    return (
        Contradiction(
            id="no_hub_stream", observations=("hub_between", "when"), why=why, question=question, settled=settled
        ),
    )


def _step(name: str) -> Step:
    return Step(
        id=name, do=f"Do {name}.", why="It frees the feed.", cures=("hub_supply",), effort_min=5, spend="none",
        opens_case=False, touches=("cable",), risk="low",
        cautions=(Caution(id="save_work", text="Save your work first."),), undo="Put it back.", check="Look again.",
    )  # fmt: skip


@pytest.fixture
def engine() -> FakeEngine:
    return FakeEngine()


@pytest.fixture
def shown(qtbot):
    """Shows a widget inside a window. One that is a window of its own would hand its least size to the platform, which
    says that it cannot use it."""

    kept = []

    def show(widget, width: int = 900, height: int = 700):
        window = QMainWindow()
        kept.append(window)
        qtbot.addWidget(window)
        window.setMinimumSize(10, 10)
        window.setCentralWidget(widget)
        window.resize(width, height)
        window.show()
        return widget

    return show
