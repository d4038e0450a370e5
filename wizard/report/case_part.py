"""The chapters on the trouble itself: what misbehaves, since when, what was answered, what was done and
whether it helped."""

import re
from dataclasses import dataclass
from typing import Any

from wizard.budget.ledger import build_ledger
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree
from wizard.case.documents import Look
from wizard.case.model import Case, Recheck
from wizard.case.told import told_setup
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange, Comparison, DeviceRef, compare_looks
from wizard.plan.ending import ending
from wizard.plan.steps import Plan
from wizard.plan.verdict import Looks, Verdict, looks_taken, sentences, verdict
from wizard.report.blocks import Block, Item, Listing, Para, Part, Section, Table, Tone
from wizard.report.ledger_part import one_fact_once
from wizard.report.words import NOT_KNOWN, answer_words, device_words, figure, place_words, text_or, used_words

Trouble = tuple[tuple[str, str], ...] | None
"""The (budget, where) that were the trouble; None: every one that was over."""

_STATES = {"over": "overdrawn", "tight": "tight", "unknown": NOT_KNOWN, "room": "room"}

_SINCE = ("onset", "when", "fails_after", "recovery")
"""Observations that say since when and when; they come first."""

_SOURCES = {
    "live": "this computer's bus, live",
    "captured": "a captured tree of another computer or another time",
    "described": "described by hand",
    "demo": "an invented demo",
}

_OUTCOMES = {"gone": "the trouble is gone", "better": "it is better", "same": "it is the same", "worse": "it is worse"}

VERDICT_WORDS = {
    "solved": "Solved",
    "better": "Better, but not solved",
    "same": "No better",
    "worse": "Worse",
    "open": "Still open",
}

_MARKS = {
    "done": "done",
    "helped": "done, and it helped",
    "did_not_help": "done, and it did not help",
    "skipped": "skipped",
}


def trouble_section(case: Case, look: Look, texts: Texts) -> Section:
    """What misbehaves, since when, which devices it is about, and every answer."""
    blocks: list[Block] = [Para(symptom_words(case.symptom, texts), "What misbehaves")]
    if case.also:
        blocks.append(Para("; ".join(symptom_words(s, texts) for s in case.also), "Also"))
    blocks.append(Para(_subject_words(case, look), "Which device"))
    blocks.extend(
        Para(answer_words(name, case.observations.get(name), texts), text_or(texts, f"observation.{name}.name", name))
        for name in _SINCE
        if name in case.observations or name == "onset"
    )
    looked = _SOURCES.get(case.source or "", NOT_KNOWN)
    blocks.append(Para(f"{looked}{f', {case.taken_at}' if case.taken_at else ''}", "Looked at"))
    told = [name for name in case.observations if name not in _SINCE]
    if told:
        items = tuple(Item(_answer_line(name, case.observations[name], texts)) for name in told)
        blocks.append(Part("What else was answered and tried", (Listing(items),)))
    return Section("trouble", "The trouble", tuple(blocks))


@dataclass(frozen=True)
class Judged:
    """One check: the look after, which looks there are, what differs, and the verdict."""

    after: Look
    looks: Looks
    comparison: Comparison
    verdict: Verdict


def done_section(case: Case, look: Look, plan: Plan, texts: Texts, trouble: Trouble = None) -> Section:
    """What was done of the plan, and what each look afterwards showed."""
    blocks: list[Block] = []
    if case.marks:
        items = tuple(Item(f"{step_words(s, plan, texts)} ({_MARKS[mark]})") for s, mark in case.marks.items())
        blocks.append(Listing(items))
    else:
        blocks.append(Para("Nothing of the plan has been marked as done."))
    for number, recheck in enumerate(case.rechecks, 1):
        blocks.append(_recheck_part(number, recheck, case, look, texts, trouble))
    blocks.append(_ending(case, look, plan, texts, trouble))
    return Section("done", "What was done, and whether it helped", tuple(blocks))


def _ending(case: Case, look: Look, plan: Plan, texts: Texts, trouble: Trouble) -> Para:
    last = judged(case, case.rechecks[-1], look, trouble).verdict.verdict if case.rechecks else "open"
    found = ending(last, case.marks, plan)
    key = "solved_unmarked" if found.kind == "solved" and found.step is None else found.kind
    step = "" if found.step is None else step_words(found.step, plan, texts)
    words = text_or(texts, f"ending.{key}", key.replace("_", " ")).format(step=step)
    return Para(words, "How it stands", "good" if last == "solved" else "plain")


def symptom_words(symptom: str, texts: Texts) -> str:
    """A symptom in plain words."""
    return text_or(texts, f"symptom.{symptom}.title", symptom)


def step_words(step: str, plan: Plan, texts: Texts) -> str:
    """What a step says to do: from the plan, else the text itself with its gaps left open."""
    planned = next((s.do for s in plan.steps if s.id == step), None)
    words = text_or(texts, f"step.{step}.do", step).replace("{subject}", text_or(texts, "step_name.subject", "it"))
    return planned or re.sub(r"\{\w*\}", "…", words)


def unknown_answers(case: Case, texts: Texts) -> tuple[str, ...]:
    """Names of the observations that were answered with 'unknown'."""
    return tuple(
        text_or(texts, f"observation.{name}.name", name)
        for name, value in case.observations.items()
        if value == UNKNOWN or value is None
    )


def comparison_items(
    comparison: Comparison, before: Look, after: Look, texts: Texts, everything: bool = False
) -> tuple[Item, ...]:
    """Before and after, one line for each difference that tells; then what is overdrawn as before. Budgets that had
    room and have it still, or have no known limit, are counted only, unless `everything` is wanted."""
    trees = BusTree(before.snapshot), BusTree(after.snapshot)
    items = [Item(f"gone: {d.name} (was {d.was or NOT_KNOWN})") for d in comparison.gone]
    items += [Item(f"new: {d.name} (now {d.now or NOT_KNOWN})") for d in comparison.new]
    items += [Item(f"moved: {d.name}, from {d.was or NOT_KNOWN} to {d.now or NOT_KNOWN}") for d in comparison.moved]
    items += [Item(f"faster: {_rates(d)}", tone="good") for d in comparison.faster]
    items += [Item(f"slower: {_rates(d)}") for d in comparison.slower]
    changed = [b for b in comparison.budgets if not _is_as_before(b)]
    told = [b for b in changed if everything or _tells(b)]
    items += [_budget_item(b, *trees, texts) for b in sorted(told, key=_weightiest_first)]
    items += _rest_items([b for b in changed if b not in told])
    items += [
        Item(
            f"new in the log: {text_or(texts, f'sign.{s.kind}.words', s.kind)}, {s.count} ×, {s.where}", tone="warning"
        )
        for s in comparison.new_signs
    ]
    notes = [Item(note, tone="warning") for note in comparison.notes]
    still = [_still_item(b, trees[1], texts) for b in comparison.budgets if _is_as_before(b) and b.state_now == "over"]
    return (*notes, *(items or [Item("No difference was seen.")]), *still)


def _is_as_before(change: BudgetChange) -> bool:
    was = (change.state_was, change.used_was, change.limit_was, change.bracket_was)
    return was == (change.state_now, change.used_now, change.limit_now, change.bracket_now)


def _tells(change: BudgetChange) -> bool:
    """Whether a budget is or was short, or is known where it was not."""
    states = {change.state_was, change.state_now}
    return bool(states & {"over", "tight"}) or states == {"room", "unknown"}


def _rest_items(rest: list[BudgetChange]) -> list[Item]:
    if not rest:
        return []
    room = sum("unknown" not in (b.state_was, b.state_now) for b in rest)
    counts = (f"{room} with room", room), (f"{len(rest) - room} without a known limit", len(rest) - room)
    words = " and ".join(text for text, count in counts if count)
    return [Item(f"other budgets changed: {words}", tone="quiet")]


def _budget_item(change: BudgetChange, before: BusTree, after: BusTree, texts: Texts) -> Item:
    title = text_or(texts, f"budget.{change.budget}.title", change.budget)
    tone: Tone = "warning" if change.state_now == "over" else "good" if change.state_was == "over" else "plain"
    was_at, now_at = (place_words(change.where, tree, change.budget) for tree in (before, after))
    was = used_words(change.used_was, change.limit_was, change.bracket_was, change.unit)
    now = used_words(change.used_now, change.limit_now, change.bracket_now, change.unit)
    was_state, now_state = (f"({_STATES[state]})" if state else "" for state in (change.state_was, change.state_now))
    if not was_state:
        text = f"{title}, {now_at}: not there before, now {now} {now_state}"
    elif not now_state:
        text = f"{title}, {was_at}: was {was} {was_state}, {_what_is_there(change, after)}"
    elif was_at == now_at:
        text = f"{title}, {now_at}: was {was} {was_state}, now {now} {now_state}"
    else:
        text = f"{title}: was {was} at {was_at} {was_state}, now {now} at {now_at} {now_state}"
    return Item(text, tone=tone)


def _what_is_there(change: BudgetChange, after: BusTree) -> str:
    return "empty now" if change.budget != "hub_supply" and change.where in after.sockets else "no longer there"


def _still_item(change: BudgetChange, tree: BusTree, texts: Texts) -> Item:
    title = text_or(texts, f"budget.{change.budget}.title", change.budget)
    figures = used_words(change.used_now, change.limit_now, change.bracket_now, change.unit)
    return Item(
        f"still overdrawn: {title}, {place_words(change.where, tree, change.budget)}: {figures}", tone="warning"
    )


def outcome_words(outcome: str | None) -> str:
    """What the user said at a check."""
    return _OUTCOMES.get(outcome or "", NOT_KNOWN)


def judged(case: Case, recheck: Recheck, look: Look, trouble: Trouble) -> Judged:
    """One check of a case beside its first look. `trouble` as for `wizard.plan.verdict.verdict`."""
    snapshot = recheck.snapshot or Snapshot()
    after = Look(snapshot=snapshot, ledger=build_ledger(snapshot, told_setup(case)), signs=recheck.signs)
    looks = looks_taken(look.snapshot, recheck.snapshot)
    found = compare_looks(look.snapshot, snapshot, look.ledger, after.ledger, look.signs, after.signs)
    return Judged(after, looks, found, verdict(recheck.outcome, found, trouble, case.subject, looks))


def _recheck_part(number: int, recheck: Recheck, case: Case, look: Look, texts: Texts, trouble: Trouble) -> Part:
    result = judged(case, recheck, look, trouble)
    blocks: list[Para | Listing | Table] = [
        Para(outcome_words(recheck.outcome), "What the user says"),
        Para(" ".join((f"{VERDICT_WORDS[result.verdict.verdict]}.", *sentences(result.verdict, texts))), "Verdict"),
    ]
    if result.looks == "both":
        both = (one_fact_once(look.ledger), one_fact_once(result.after.ledger))
        over = [sum(e.state == "over" for e in entries) for entries in both]
        blocks.append(Para(f"{over[0]} before, {over[1]} after", "Overdrawn places"))
        blocks.append(Listing(comparison_items(result.comparison, look, result.after, texts)))
    else:
        blocks.append(Para("no look was taken, so nothing can be compared", "Before and after"))
    return Part(f"Check {number}{f', {recheck.at}' if recheck.at else ''}", tuple(blocks))


def _weightiest_first(change: BudgetChange) -> int:
    """Overdrawn now, then relieved, then what changed its state, then the rest in the order they came."""
    if "over" in (change.state_now, change.state_was):
        return 0 if change.state_now == "over" else 1
    return 2 if change.state_was != change.state_now else 3


def _rates(device: DeviceRef) -> str:
    return f"{device.name}, from {figure(device.mbps_was)} to {figure(device.mbps_now)} Mbit/s"


def _subject_words(case: Case, look: Look) -> str:
    if not case.subject:
        return NOT_KNOWN
    devices = BusTree(look.snapshot).devices
    return "; ".join(f"{device_words(devices[s])} ({s})" if s in devices else s for s in case.subject)


def _answer_line(name: str, value: Any, texts: Texts) -> str:
    return f"{text_or(texts, f'observation.{name}.name', name)}: {answer_words(name, value, texts)}"
