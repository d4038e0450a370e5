"""The end of `portmend ask`: the plan step by step, the check after each, and the report."""

from dataclasses import replace
from pathlib import Path

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.case.documents import Look
from wizard.case.model import Case, Outcome, Recheck, StepMark
from wizard.case.told import told_setup
from wizard.report.advice_part import step_part
from wizard.report.blocks import Item, Listing, Para
from wizard.report.case_part import VERDICT_WORDS, comparison_items
from wizard.report.redaction import KINDS
from wizard.report.sequence import sequence
from wizard.terminal.asking import Desk, Talk, case_of, kept, now
from wizard.terminal.prompts import ask_text, choose

_OUTCOMES: tuple[Outcome, ...] = ("gone", "better", "same", "worse")
_OUTCOME_NAMES = ("The trouble is gone", "It is better", "It is the same", "It is worse")

_MARKS: dict[Outcome | None, StepMark] = {
    "gone": "helped", "better": "helped", "same": "did_not_help", "worse": "did_not_help", None: "done",
}  # fmt: skip


def plan_page(desk: Desk, talk: Talk) -> Talk:
    """The next step that was not tried yet, its cautions first."""
    case = case_of(talk)
    plan = wiring.with_arrangements(wiring.advise(desk.services, case), wiring.arrangements(case)).plan
    steps = sequence(plan, plan, talk.look or Look(), desk.services.texts, case.marks)
    step = next((s for s in steps if s.id not in case.marks), None)
    if step is None:
        desk.screen.say("Every step of the plan was tried or skipped.")
        return talk.to("report")
    desk.screen.blocks(step_part(len(case.marks) + 1, step))
    desk.screen.say()
    reply = choose(desk.screen, ["I have done this: check again", "Skip this step"], "on to the report, try it later")
    if reply.move == "back":
        return talk.to("findings")
    if reply.move == "quit":
        return talk.to("end")
    if not reply.chosen:
        return talk.to("report")
    if reply.chosen[0] == 1:
        return kept(desk, talk, case.marked(step.id, "skipped"), "plan")
    return replace(talk, step=step.id, page="again")


def again_page(desk: Desk, talk: Talk) -> Talk:
    """How it is now: what the user says, and a new look beside the first one."""
    case = case_of(talk)
    desk.screen.say("How is it now?")
    reply = choose(desk.screen, _OUTCOME_NAMES, "can't say yet")
    if reply.move in ("quit", "back"):
        return talk.to("end" if reply.move == "quit" else "plan")
    outcome = _OUTCOMES[reply.chosen[0]] if reply.chosen else None
    case = case.marked(talk.step, _MARKS[outcome]) if talk.step is not None else case
    after = _look_again(desk, case)
    recheck = Recheck(
        snapshot=None if after is None else after.snapshot,
        signs=() if after is None else after.signs,
        outcome=outcome,
        at=now(),
    )
    if outcome is not None or after is not None:
        case = case.model_copy(update={"rechecks": (*case.rechecks, recheck)})
        _show_change(desk, case, wiring.look_of(case), after)
    return kept(desk, replace(talk, step=None), case, "report" if outcome == "gone" else "plan")


def report_page(desk: Desk, talk: Talk) -> Talk:
    """A report in a file, if one is wanted."""
    case = case_of(talk)
    default = (talk.path or Path("portmend.json")).with_suffix(".html")
    desk.screen.say(
        f"Where should the report go? (.html, .pdf, .txt or .json; enter = {default}; n = no report; b = back)"
    )
    reply = ask_text(desk.screen, "File: ")
    if reply.move == "back":
        return talk.to("findings")
    if reply.move == "quit" or reply.text.lower() == "n":
        return talk.to("end")
    path = Path(reply.text).expanduser() if reply.text else default
    keep = _kinds_to_keep(desk)
    if keep is None:
        return talk.to("end")
    try:
        if talk.path is not None and path.exists() and path.samefile(talk.path):
            raise BadInputError(str(path), "the report would overwrite the case itself", "Choose another name.")
        written = wiring.write_report(desk.services, case, path, keep)
    except BadInputError as refused:
        desk.screen.say(str(refused))
        return talk.to("report")
    desk.screen.say(f"The report is in {written}")
    return talk.to("end")


def _kinds_to_keep(desk: Desk) -> frozenset[str] | None:
    """What not to leave out; None if nobody answers any more."""
    desk.screen.say("Serial numbers, user and host names are left out. Should any stay in?")
    kinds = sorted(KINDS)
    reply = choose(desk.screen, [f"Keep {kind} in" for kind in kinds], "leave all out", many=True, letters="")
    return None if reply.move == "quit" else frozenset(kinds[position] for position in reply.chosen)


def _look_again(desk: Desk, case: Case) -> Look | None:
    """A new look at what was looked at before; None where there is nothing to look at, or it fails."""
    if case.source == "demo" and case.demo is not None:
        return wiring.look_demo(wiring.load_demo(case.demo), "after")
    try:
        if case.source == "live":
            return wiring.look_live(setup=told_setup(case))
        if case.source != "captured":
            return None
        reply = ask_text(desk.screen, "Folder or archive of a new capture (enter = none): ", letters="")
        if reply.move != "answer":
            return None
        return wiring.look_captured(Path(reply.text).expanduser(), setup=told_setup(case))
    except BadInputError as refused:
        desk.screen.say(str(refused))
        return None


def _show_change(desk: Desk, case: Case, before: Look, after: Look | None) -> None:
    judged = wiring.verdict(case, before, after or Look())
    reasons = tuple(Item(reason) for reason in wiring.verdict_words(desk.services, judged))
    if after is None or not before.has_bus:
        desk.screen.blocks(Para("no look was taken, so nothing can be compared", "Before and after"))
    else:
        items = comparison_items(wiring.compare(before, after), before, after, desk.services.texts)
        desk.screen.blocks(Para("", "Before and after"), Listing(items))
    desk.screen.blocks(
        Para(VERDICT_WORDS[judged.verdict], "Verdict"),
        Listing(reasons),
    )
