"""The work that takes long, described: looking, working out the advice, comparing two looks.

Knows no Qt and no threads. A task can be run anywhere; its result goes into the session as it stands
when the result comes in, and only if it still belongs there.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from wizard.bus.errors import BadInputError
from wizard.bus.model import Controller, Snapshot
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case
from wizard.case.told import told_setup
from wizard.desktop.flow import Flow, changed
from wizard.desktop.session import Page, Session, Source
from wizard.desktop.trying import Stage, Trial, stages_of
from wizard.observe.seen import Watcher
from wizard.plan.arrange.options import Arrangements
from wizard.plan.steps import Plan
from wizard.plan.verdict import Verdict
from wizard.store.demos import Demo


@dataclass(frozen=True)
class Task:
    """Work to be done off to the side. `run` does it; `take` puts its result into the session of that moment.

    Tasks of one `kind` replace each other; an equal `key` is the same work.
    """

    kind: str
    key: int
    run: Callable[[Watcher], Any]
    take: Callable[[Session, Any], Session]


WITH_MAP: tuple[Page, ...] = ("look", "findings", "plan")
"""The pages that show the strip map."""


@dataclass(frozen=True)
class Looked:
    """A look that was taken, with the case it begins (for a demo or a saved case) if it brings its own."""

    source: Source
    look: Look | None
    case: Case | None = None
    demo: Demo | None = None
    log: str | None = None
    note: str | None = None


def needed(flow: Flow, session: Session) -> tuple[Task, ...]:
    """What must be worked out for this session and has not been."""
    tasks: list[Task] = []
    if session.case is not None and session.ticked and session.can_go_past_look:
        if session.outcome is not None and session.verdict is None:
            tasks.append(_judge(flow, session, session.case))
        if session.advice is None or session.advice_due:
            tasks.append(_advise(flow, session, session.case))
        if session.page == "plan" and session.has_bus and session.arranged is None:
            tasks.append(_arrange(flow, session, session.case))
        if session.page in WITH_MAP and session.has_bus and session.trial is None:
            tasks.append(_set_up(session, session.case))
        if session.page == "plan" and session.stages is None and session.trial is not None and session.arranged:
            tasks.append(_stages(session, session.trial, session.arranged))
    return tuple(tasks)


def _advise(flow: Flow, session: Session, case: Case) -> Task:
    def take(now: Session, advice: Advice) -> Session:
        if now.revision != session.revision:
            return now
        shown = now.advice.plan if now.advice is not None and now.advice_due else None
        kept = (
            advice if shown is None else advice.model_copy(update={"plan": in_the_order_of(shown, advice.plan, case)})
        )
        return flow.settled(replace(now, advice=kept, advice_due=False))

    return Task("advise", session.revision, lambda _watcher: flow.engine.advise(case), take)


def in_the_order_of(shown: Plan, renewed: Plan, case: Case) -> Plan:
    """A renewed plan with its steps where the user last saw them: marking a step must not send it elsewhere. Steps
    that are new come after those, but before the last resorts, which speak against no cause."""
    fresh = {step.id: step for step in renewed.steps}
    kept = [fresh.pop(step.id, step) for step in shown.steps if step.id in fresh or step.id in case.marks]
    steps = [s for s in kept if s.cures] + [s for s in fresh.values() if s.cures]
    steps += [s for s in (*kept, *fresh.values()) if not s.cures]
    return renewed.model_copy(update={"steps": tuple(steps)})


def _arrange(flow: Flow, session: Session, case: Case) -> Task:
    def take(now: Session, arranged: Arrangements) -> Session:
        return replace(now, arranged=arranged) if now.desk == session.desk else now

    return Task("arrange", session.desk, lambda watcher: flow.engine.arrange(case, watcher.cancelled), take)


def _set_up(session: Session, case: Case) -> Task:
    """The desk, for what-ifs on the strip map."""
    snapshot = session.look.snapshot if session.look is not None else Snapshot()

    def take(now: Session, trial: Trial) -> Session:
        return replace(now, trial=trial) if now.desk == session.desk else now

    return Task("set up", session.desk, lambda _watcher: Trial.of(snapshot, told_setup(case)), take)


def _stages(session: Session, trial: Trial, arranged: Arrangements) -> Task:
    """Every moment of each arrangement."""

    def run(watcher: Watcher) -> tuple[tuple[Stage, ...], ...]:
        return tuple(stages_of(trial.bench, option, watcher.cancelled) for option in arranged.options)

    def take(now: Session, stages: tuple[tuple[Stage, ...], ...]) -> Session:
        return replace(now, stages=stages) if now.desk == session.desk else now

    return Task("stages", session.desk, run, take)


def _judge(flow: Flow, session: Session, case: Case) -> Task:
    before, after = session.look or Look(), session.after or Look()

    def take(now: Session, verdict: Verdict) -> Session:
        return replace(now, verdict=verdict) if now.revision == session.revision else now

    return Task("judge", session.revision, lambda _watcher: flow.engine.verdict(case, before, after), take)


def look(flow: Flow, session: Session, source: Source, log_path: str = "") -> Task:
    """A look at the machine, a capture or a demo, with the log in a file if one is named. It replaces the look
    before it."""
    engine = flow.engine

    def run(watcher: Watcher) -> Looked:
        log = engine.read_log(Path(log_path)) if log_path else None
        if source.kind == "captured":
            return Looked(source, engine.look_captured(Path(source.name), watcher, log), log=log)
        if source.kind == "demo":
            demo = engine.load_demo(source.name)
            return Looked(source, engine.look_demo(demo, "before"), engine.demo_case(demo), demo)
        # A file that lists devices shows another computer's bus: the case is about that, as with any capture.
        of = Source("captured", log_path) if log and engine.lists_devices(log) else source
        return Looked(of, engine.look_live(watcher, log), log=log)

    def take(now: Session, looked: Looked) -> Session:
        return _looked(flow, now, looked)

    return Task("look", session.revision, run, take)


def _looked(flow: Flow, session: Session, looked: Looked) -> Session:
    """The session with a new look. What was told survives if it is the same machine."""
    same = looked.demo is None and _same_machine(session, looked)
    if looked.case is not None:
        case, ticked = looked.case, (looked.case.symptom, *looked.case.also)
    else:
        ticked = session.users_ticks
        case = flow.engine.new_case(ticked[0], ticked[1:], looked.look, looked.source.kind)
        case = case.model_copy(update={"log": looked.log})
        if same and session.case is not None:
            case = _carried_over(session.case, case)
    return replace(
        changed(session, case),
        page="look",
        reached="look",
        ticked=ticked,
        own_ticks=session.users_ticks if looked.demo is not None else (),
        source=looked.source,
        look=looked.look,
        looks=session.looks + 1,
        demo=looked.demo,
        remembered=session.remembered if same else {},
        after=None,
        outcome=None,
        comparison=None,
        other_machine=False,
        line=session.line if same else session.line + 1,
        path=session.path if same else None,
    )


def _same_machine(session: Session, looked: Looked) -> bool:
    """Whether what was told so far is about the machine now looked at: nothing was looked at before, it is this
    PC both times, or board and controllers are the same."""
    if session.demo is not None or looked.look is None:
        return False
    if session.source is None or session.source.kind == "none" or session.look is None:
        return True
    if session.source == looked.source:
        return True
    return same_board(session.look.snapshot, looked.look.snapshot) is True


def same_board(before: Snapshot, now: Snapshot) -> bool | None:
    """Whether two snapshots are of one machine; None if neither says anything of the machine.

    The same board, and the controllers of one look all among those of the other: a card may have been added or
    taken out in between, which shifts the addresses of controllers but not their identities.
    """
    if _board(before) is None and _board(now) is None and not before.controllers and not now.controllers:
        return None
    boards = {board for board in (_board(before), _board(now)) if board is not None}
    if len(boards) > 1:
        return False
    if not before.controllers or not now.controllers:
        return _board(before) is not None and _board(before) == _board(now)
    had, has = Counter(map(_identity, before.controllers)), Counter(map(_identity, now.controllers))
    return had <= has or has <= had


def _board(snapshot: Snapshot) -> tuple[str | None, str] | None:
    model = snapshot.system.board_model
    return None if model is None else (snapshot.system.board_maker, model)


def _identity(controller: Controller) -> str:
    return controller.id if controller.pci is None else f"{controller.kind} {controller.pci!r}"


def _carried_over(old: Case, new: Case) -> Case:
    """What was told about a machine and what was tried on it, on top of a new look at it."""
    there = {d.id for d in new.snapshot.devices} if new.snapshot is not None else set()
    return new.model_copy(
        update={
            "observations": old.observations,
            "asked": old.asked,
            "settled": old.settled,
            "marks": old.marks,
            "rechecks": old.rechecks,
            "setup": old.setup,
            "subject": tuple(s for s in old.subject if s in there),
        }
    )


def open_case(flow: Flow, session: Session, path: Path) -> Task:
    """A saved case, to go on where it stopped."""
    engine = flow.engine

    def run(_watcher: Watcher) -> Looked:
        case = engine.open_case(path)
        demo, note = _demo_of(flow, case)
        source = Source("saved", str(path)) if case.snapshot is not None else Source("none")
        return Looked(source, engine.look_of(case) if case.snapshot is not None else None, case, demo, note=note)

    def take(now: Session, opened: Looked) -> Session:
        assert opened.case is not None
        page = _where_it_stopped(opened.case)
        return Session(
            page=page,
            reached=page,
            ticked=(opened.case.symptom, *opened.case.also),
            case=opened.case,
            revision=now.revision + 1,
            source=opened.source,
            look=opened.look,
            looks=now.looks + 1,
            demo=opened.demo,
            line=now.line + 1,
            desk=now.desk + 1,
            path=path,
            problem=opened.note,
        )

    return Task("look", session.revision, run, take)


def _demo_of(flow: Flow, case: Case) -> tuple[Demo | None, str | None]:
    """The demo a case plays, or why it must do without."""
    if case.demo is None:
        return None, None
    try:
        return flow.engine.load_demo(case.demo), None
    except BadInputError:
        return None, f"This version has no demo {case.demo!r}. The case is opened as one of your own; nothing is lost."


def _where_it_stopped(case: Case) -> Page:
    if case.marks or case.rechecks:
        return "plan"
    if case.asked or case.snapshot is None:
        return "questions"
    return "look"


def check_again(flow: Flow, session: Session, source: Source) -> Task:
    """A second look and what changed since the first. Taken for one case only; a look at another machine tells
    nothing of the trouble and is not kept."""
    engine, demo, before = flow.engine, session.demo, session.look or Look()

    def run(watcher: Watcher) -> tuple[Look, CompareDocument] | None:
        if demo is not None and source.kind == "demo":
            after = engine.look_demo(demo, "after")
        elif source.kind == "captured":
            after = engine.look_captured(Path(source.name), watcher, None)
        else:
            after = engine.look_live(watcher, None)
        this_pc = source.kind == "live" and session.source == source
        if session.has_bus and not this_pc and same_board(before.snapshot, after.snapshot) is False:
            return None
        return after, engine.compare(before, after)

    def take(now: Session, result: tuple[Look, CompareDocument] | None) -> Session:
        if now.looks != session.looks:
            return now
        after, comparison = (None, None) if result is None else result
        return replace(
            now,
            after=after,
            comparison=comparison,
            other_machine=result is None,
            to_check=now.to_check and result is None,
            outcome=None,
            verdict=None,
            revision=now.revision + 1,
        )

    return Task("check", session.revision, run, take)
