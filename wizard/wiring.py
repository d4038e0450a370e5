"""The one place where everything meets: observers, budgets, rulebook, plan, store and report.

Window and terminal call only this; a test passes its own parts. Nothing here shows anything, asks
anything or keeps state between calls.
"""

import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from time import monotonic
from typing import Literal

from wizard.budget.kinds import DeviceKind, load_kinds
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case, Platform
from wizard.case.told import told_setup
from wizard.diagnosis.contradictions import contradictions
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.lint import Problem, lint_rulebook
from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.questions import next_question
from wizard.diagnosis.ranking import both_at_work, rank
from wizard.diagnosis.rulebook import UNKNOWN, Rulebook
from wizard.diagnosis.texts import Texts
from wizard.observe import captured, kernel_log, live
from wizard.observe.seen import Seen, Watcher
from wizard.plan.arrange.options import Arrangements, arrange
from wizard.plan.arrange.search import Clock
from wizard.plan.compare import compare_looks, named
from wizard.plan.lint import lint_remedies
from wizard.plan.loading import load_remedies
from wizard.plan.planning import first_step, make_plan
from wizard.plan.steps import Remedy
from wizard.plan.tried import results_of_marks
from wizard.plan.verdict import Verdict, looks_taken, sentences
from wizard.plan.verdict import verdict as verdict_on
from wizard.report.blocks import Material
from wizard.report.html import render_html
from wizard.report.material import material_of
from wizard.report.redaction import redact
from wizard.report.text import render_text
from wizard.store import cases as case_store
from wizard.store import demos as demo_store
from wizard.store import resources
from wizard.store.atomic import write_whole
from wizard.store.demos import Demo
from wizard.store.logs import read_log as read_log_bytes

Source = Literal["live", "captured", "described", "demo"]

DRIVE_SYMPTOM = "drive_missing"

REPORT_SECONDS = 5.0
"""How long a report waits for the planner: common practice (no source)."""


@dataclass(frozen=True)
class Services:
    """The knowledge that answers are made of. Build it once with `load_services`."""

    rulebook: Rulebook
    remedies: tuple[Remedy, ...]
    kinds: tuple[DeviceKind, ...]
    texts: Texts


def load_services(language: str = "en") -> Services:
    """Read rulebook, remedies, typical devices and texts. Raises RulebookError with every problem at once."""
    tables = resources.rulebook_tables()
    return Services(
        load_rulebook(tables),
        load_remedies(tables),
        load_kinds(resources.kind_tables()),
        Texts(language, resources.texts(language)),
    )


def lint(services: Services) -> tuple[Problem, ...]:
    """All gaps of rulebook, remedies and texts taken together."""
    book = services.rulebook
    return (*lint_rulebook(book, services.texts), *lint_remedies(services.remedies, book, services.texts))


def read_signs(log: str | None, snapshot: Snapshot | None = None, drive_case: bool = False) -> tuple[Sign, ...]:
    """Signs in the text of a log; none for no log."""
    return kernel_log.read_signs(kernel_log.as_chunks(log), snapshot, drive_case) if log else ()


def _look(seen: Seen, setup: Setup, log: str | None) -> Look:
    return Look(
        snapshot=seen.snapshot,
        ledger=build_ledger(seen.snapshot, setup),
        # No case says yet what it is about: lines about drives count unless the log itself says they are not on USB.
        signs=read_signs(log, seen.snapshot, drive_case=True),
        notes=seen.notes,
    )


def look_live(watcher: Watcher | None = None, log: str | None = None, setup: Setup | None = None) -> Look:
    """Look at this machine's own bus. Raises CancelledError if the watcher says so."""
    return _look(live.look(watcher or Watcher()), setup or Setup(), log)


def look_captured(
    root: Path, watcher: Watcher | None = None, log: str | None = None, setup: Setup | None = None
) -> Look:
    """Look at a captured tree: a folder or an archive of one. Raises BadInputError if it is neither."""
    return _look(captured.look(root, watcher or Watcher()), setup or Setup(), log)


def look_demo(demo: Demo, stage: Literal["before", "after"]) -> Look:
    """One of the two looks of an invented scenario; its log belongs to the first."""
    snapshot = demo.before if stage == "before" else demo.after
    note = f"This is a demo with invented devices: {demo.title}"
    return _look(Seen(snapshot, (note,)), demo.setup, demo.log if stage == "before" else None)


def look_of(case: Case) -> Look:
    """The look a case holds, with ledger and signs worked out anew."""
    snapshot = case.snapshot or Snapshot()
    return Look(
        snapshot=snapshot,
        ledger=build_ledger(snapshot, told_setup(case)),
        signs=read_signs(case.log, case.snapshot, _is_drive_case(case)),
    )


def _is_drive_case(case: Case) -> bool:
    return DRIVE_SYMPTOM in (case.symptom, *case.also) or case.observations.get("device_kind") == "storage"


def demo_names() -> tuple[str, ...]:
    """Names of all demo scenarios."""
    return demo_store.demo_names()


def load_demo(name: str) -> Demo:
    """One demo scenario. Raises BadInputError for an unknown name."""
    return demo_store.load_demo(name)


def demo_case(demo: Demo) -> Case:
    """A case begun on a demo's first look; its answers are left for whoever plays it."""
    return Case(
        symptom=demo.symptom,
        also=demo.also,
        subject=demo.subject,
        platform=demo.platform,
        snapshot=demo.before,
        log=demo.log,
        setup=demo.setup,
        source="demo",
        demo=demo.name,
    )


def this_platform() -> Platform:
    """The system this program runs on, in the words of a case."""
    if sys.platform.startswith("linux"):
        return "linux"
    return {"win32": "windows", "darwin": "macos"}.get(sys.platform, "other")


def new_case(
    symptom: str,
    also: Iterable[str] = (),
    look: Look | None = None,
    subject: Iterable[str] = (),
    source: Source | None = None,
) -> Case:
    """A case begun on this machine, or without a look."""
    platform = this_platform() if source in (None, "live") else None
    if look is not None and platform is None and look.snapshot.system.os == "linux":
        platform = "linux"
    return Case(
        symptom=symptom,
        also=tuple(also),
        subject=tuple(subject),
        platform=platform,
        snapshot=None if look is None else look.snapshot,
        source=source,
    )


def facts_of(case: Case, look: Look | None = None, services: Services | None = None) -> Facts:
    """What is known of a case, in the words of the rulebook. `look` spares working it out again; with `services`, what
    became of steps counts as the result of the tests that they are, where the user gave none."""
    seen = look or look_of(case)
    return gather_facts(
        symptoms=(case.symptom, *(s for s in case.also if s != case.symptom)),
        observations={**case.observations, **(_tried(services, case) if services is not None else {})},
        subject=case.subject,
        snapshot=case.snapshot,
        ledger=seen.ledger,
        signs=seen.signs,
        signs_known=case.log is not None,
        setup=told_setup(case),
        platform=case.platform,
    )


def _tried(services: Services, case: Case) -> dict[str, str]:
    outcomes = [recheck.outcome for recheck in case.rechecks]
    results = results_of_marks(services.remedies, services.rulebook, case.marks, outcomes)
    return {name: result for name, result in results.items() if case.observations.get(name, UNKNOWN) == UNKNOWN}


def arrangements(case: Case, seconds: float = 20.0, stop: Callable[[], bool] = lambda: False) -> Arrangements:
    """The best ways to plug what hangs on a case's bus, found within so many seconds; none if nothing is overdrawn
    or there is no look. Slow: the search is exact."""
    if case.snapshot is None:
        return Arrangements()
    ends = monotonic() + seconds
    return arrange(case.snapshot, told_setup(case), Clock(lambda: ends - monotonic(), stop))


def with_arrangements(advice: Advice, found: Arrangements) -> Advice:
    """Advice with the planner's options in its plan."""
    plan = advice.plan.model_copy(update={"options": found.options, "clash": found.clash})
    return advice.model_copy(update={"plan": plan})


def advise(services: Services, case: Case) -> Advice:
    """Ranked causes with their reasons, the next useful question, and the plan; quick, so without arrangements."""
    facts = facts_of(case, services=services)
    findings = rank(services.rulebook, services.texts, facts)
    names = {} if case.snapshot is None else named(case.snapshot)

    def begins_with(told: Facts, belief: Mapping[str, float]) -> str | None:
        return first_step(services.remedies, told, belief, case.platform, case.marks)

    return Advice(
        causes=findings,
        together=both_at_work(findings),
        next_question=next_question(services.rulebook, services.texts, facts, begins_with),
        contradictions=contradictions(services.rulebook, services.texts, facts, case.settled),
        plan=make_plan(services.remedies, services.texts, facts, findings, case.platform, case.marks, names),
        notes=_advice_notes(services, case),
    )


def _advice_notes(services: Services, case: Case) -> tuple[str, ...]:
    """What the reader did not know, said instead of dropped."""
    book = services.rulebook
    strange = [o for o in case.observations if o not in book.observation_by_id]
    notes = [f"This version does not know the observation {name!r}; it is kept and not weighed." for name in strange]
    symptoms = {s.id for s in book.symptoms}
    notes += [f"This version does not know the symptom {s!r}." for s in (case.symptom, *case.also) if s not in symptoms]
    if case.snapshot is not None:
        known = {d.id for d in case.snapshot.devices}
        notes += [f"The subject {s!r} is not in the snapshot." for s in case.subject if s not in known]
    return tuple(notes)


def compare(before: Look, after: Look) -> CompareDocument:
    """Two looks side by side."""
    found = compare_looks(before.snapshot, after.snapshot, before.ledger, after.ledger, before.signs, after.signs)
    return CompareDocument.model_validate(found.model_dump(by_alias=True))


def compare_files(before: Path, after: Path) -> CompareDocument:
    """Two saved looks or cases side by side. Raises BadInputError for either."""
    return compare(*open_looks(before, after))


def open_looks(before: Path, after: Path) -> tuple[Look, Look]:
    """Two saved looks, or those of two cases. Raises BadInputError for either, also where a case holds none."""
    return _open_look(before), _open_look(after)


def _open_look(path: Path) -> Look:
    found = case_store.open_case_or_look(path)
    if isinstance(found, Case) and found.snapshot is None:
        raise BadInputError(
            str(path), "this case holds no look, so there is nothing to compare", "Choose a case or look with one."
        )
    return found if isinstance(found, Look) else look_of(found)


def verdict(case: Case, before: Look, after: Look) -> Verdict:
    """Whether the fix held: what the user said at the last check, and the two looks together.

    Only budgets of the subject count as the trouble; what else is over is not what the user came with.
    """
    outcome = case.rechecks[-1].outcome if case.rechecks else None
    looks = looks_taken(before.snapshot, after.snapshot)
    return verdict_on(outcome, compare(before, after), _trouble(case, before), case.subject, looks)


def _trouble(case: Case, before: Look) -> tuple[tuple[str, str], ...]:
    """Budgets of the subject that were over in the first look, each with its place."""
    return tuple((e.budget, e.where) for e in facts_of(case, before).ledger if e.state == "over")


def verdict_words(services: Services, judged: Verdict) -> tuple[str, ...]:
    """The reasons of a verdict in words."""
    return sentences(judged, services.texts)


def save_case(case: Case, path: Path | None = None) -> Path:
    """Save a case where it was, or under a new name among the saved cases; returns where. Raises BadInputError."""
    home = path or case_store.new_case_path(case.symptom, datetime.now().strftime("%Y-%m-%d-%H%M%S"))
    case_store.save_case(case, home)
    return home


def open_case(path: Path) -> Case:
    """The case in a file. Raises BadInputError, or NewerDocumentError, with one sentence."""
    return case_store.open_case(path)


def last_case() -> Path | None:
    """The saved case that changed last, if there is any."""
    saved = case_store.saved_cases()
    return saved[0] if saved else None


def read_log(source: Path | str, tell: Callable[[str], None] = lambda _note: None) -> str:
    """The text of a log file, or of standard input for `-`; bytes that are no text are marked as such.

    Of a very long one only the end is kept, and `tell` gets a sentence about it. Raises BadInputError.
    """
    return read_log_bytes(source, tell).decode("utf-8", errors="replace")


def report_material(services: Services, case: Case, keep: frozenset[str] = frozenset()) -> Material:
    """The report of a case, with serial numbers and names left out unless `keep` holds "serials" or "names"."""
    shown = redact(case, keep)
    advice = with_arrangements(advise(services, shown), arrangements(shown, REPORT_SECONDS))
    look = look_of(shown)
    return material_of(shown, look, advice, services.texts, keep, _trouble(shown, look))


def report_text(services: Services, case: Case, keep: frozenset[str] = frozenset()) -> str:
    """The report as plain text."""
    return render_text(report_material(services, case, keep))


def write_report(services: Services, case: Case, path: Path, keep: frozenset[str] = frozenset()) -> Path:
    """Write a report in the form the ending names: .html, .txt or .json. Raises BadInputError for any other,
    and for a folder that does not exist."""
    if not path.parent.is_dir():
        raise BadInputError(str(path), f"there is no folder {str(path.parent)!r}", "Make it, or name another.")
    form = path.suffix.lower()
    if form == ".html":
        text = render_html(report_material(services, case, keep))
    elif form == ".txt":
        text = report_text(services, case, keep)
    elif form == ".json":
        text = redact(case, keep).model_dump_json(by_alias=True, indent=1)
    else:
        raise BadInputError(str(path), f"a report can't end in {form!r}", "Use .html, .txt or .json.")
    write_whole(path, text.encode())
    return path
