"""A whole report put together from a case, its look and its advice. Decides the order of chapters and the summary.

It answers the first questions of a support desk: what misbehaves and since when, what hangs where, which
budgets are overdrawn, what the log says, what may sleep, what was found and why, what nobody knows yet, what
to do, what was done and whether it helped, and on what all this runs.
"""

import platform

import wizard
from wizard.bus.tree import BusTree
from wizard.case.documents import Advice, Look
from wizard.case.model import Case
from wizard.diagnosis.texts import Texts
from wizard.report.advice_part import cause_words, findings_section, percent, plan_section, unknown_section
from wizard.report.blocks import Block, Item, Listing, Material, Para, Section
from wizard.report.bus_part import bus_section
from wizard.report.case_part import (
    VERDICT_WORDS,
    Trouble,
    done_section,
    judged,
    outcome_words,
    symptom_words,
    trouble_section,
)
from wizard.report.ledger_part import ledger_section, overdrawn_words, signs_section
from wizard.report.sequence import sequence
from wizard.report.sleep_part import sleep_section
from wizard.report.words import NOT_KNOWN

_KEPT_WORDS = {"serials": "serial numbers", "names": "user and host names"}


def material_of(
    case: Case,
    look: Look,
    advice: Advice,
    texts: Texts,
    kept: frozenset[str] = frozenset(),
    trouble: Trouble = None,
) -> Material:
    """The report of a case. `kept` says what was not left out of it ("serials", "names"); `case` and `look` are
    shown as they come, so redact first. `trouble` are the (budget, where) that were it; None: all that were over."""
    title = f"Portmend report: {symptom_words(case.symptom, texts)}"
    sections = (
        _summary_section(case, look, advice, texts, trouble),
        trouble_section(case, look, texts),
        bus_section(look),
        ledger_section(look, texts),
        signs_section(look.signs, look, texts),
        sleep_section(look, look.log is not None and look.log.understood),
        findings_section(advice, texts, look),
        unknown_section(case, look, advice, texts),
        plan_section(advice, look, texts, case.marks),
        done_section(case, look, advice.plan, texts, trouble),
        _versions_section(case, look, texts),
    )
    return Material(title, _privacy_words(kept), tuple(s for s in sections if s is not None))


def _summary_section(case: Case, look: Look, advice: Advice, texts: Texts, trouble: Trouble) -> Section:
    blocks: list[Block] = []
    if case.source == "demo":
        blocks.append(Para("This is an invented demo: no such place, devices or makers exist.", tone="warning"))
    over = overdrawn_words(look.ledger, BusTree(look.snapshot), texts)
    if over:
        blocks.append(Para("", "Overdrawn", "warning"))
        blocks.append(Listing(tuple(Item(words, tone="warning") for words in over)))
    if advice.causes:
        first = advice.causes[0]
        blocks.append(Para(f"{cause_words(first.id, texts)} ({percent(first.share)})", "Likeliest cause"))
    last = case.rechecks[-1] if case.rechecks else None
    word = None if last is None else judged(case, last, look, trouble).verdict.verdict
    if word == "solved":
        blocks.append(Para("Nothing more to do; if it returns, go on under “What to do”.", "Next", "good"))
    elif advice.plan.steps:
        # No action stands without its cautions, so the first step is pointed to and not repeated.
        blocks.append(Para(_next_words(advice, look, texts, case), "Next"))
    if last is not None and word is not None:
        said = f"{VERDICT_WORDS[word]}; the user says: {outcome_words(last.outcome)}"
        blocks.append(Para(said, "At the last check"))
    return Section("summary", "In short", tuple(blocks))


def _next_words(advice: Advice, look: Look, texts: Texts, case: Case) -> str:
    steps = sequence(advice.plan, advice.plan, look, texts, case.marks)
    number = next((n for n, step in enumerate(steps, 1) if step.id not in case.marks), None)
    if number is None:
        return "every step under “What to do” was tried or skipped: hand over to support with this report"
    return f"step {number} under “What to do”, with its cautions"


def _versions_section(case: Case, look: Look, texts: Texts) -> Section:
    system = look.snapshot.system
    rows = (
        ("Portmend", wizard.__version__),
        ("Case", case.schema_),
        ("Rulebook language", texts.language),
        ("Written with", f"Python {platform.python_version()}"),
        ("Operating system", _joined(system.os, system.version) or case.platform or NOT_KNOWN),
        ("Kernel", system.kernel or NOT_KNOWN),
        ("Board", _joined(system.board_maker, system.board_model) or NOT_KNOWN),
        ("Board firmware", _joined(system.firmware_version, system.firmware_date) or NOT_KNOWN),
    )
    return Section("versions", "On what it runs", tuple(Para(value, label) for label, value in rows))


def _joined(*parts: str | None) -> str:
    return " ".join(part for part in parts if part)


def _privacy_words(kept: frozenset[str]) -> str:
    left_out = [words for key, words in _KEPT_WORDS.items() if key not in kept]
    held = [words for key, words in _KEPT_WORDS.items() if key in kept]
    said = [f"Left out: {' and '.join(left_out)}."] if left_out else []
    return " ".join([*said, *([f"Not left out: {' and '.join(held)}."] if held else [])])
