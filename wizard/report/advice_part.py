"""The chapters on what was found, what stays unknown, and what to do: findings with their reasons in numbers,
steps with their cautions before the action."""

from collections.abc import Iterable, Iterator, Mapping

from wizard.bus.tree import BusTree
from wizard.case.documents import Advice, Look
from wizard.case.model import Case
from wizard.diagnosis.advice import Evidence, Finding
from wizard.diagnosis.texts import Texts
from wizard.plan.numbers import UNITS
from wizard.plan.steps import Caution, Step
from wizard.report.blocks import Block, Item, Listing, Para, Part, Section, Table
from wizard.report.bus_part import unreadable_items
from wizard.report.case_part import unknown_answers
from wizard.report.ledger_part import FIGURES
from wizard.report.open_words import bracket_words
from wizard.report.sequence import sequence
from wizard.report.words import figure, limit_words, place_words, text_or

MOST_FINDINGS = 5
"""Causes told in full; the others are named with their share: common practice (no source)."""

LEAST_SHARE = 0.02
"""Share of belief from which a cause is told in full: common practice (no source)."""

_DECIBANS = (
    "Each reason has a weight in decibans: 10 makes a cause ten times as likely as before, 3 twice. "
    "The share is what all weights together leave each cause."
)

_SPEND = {"none": "costs nothing", "low": "costs little", "medium": "costs something", "high": "costs a good deal"}

_RISKS = {
    "none": "no risk",
    "low": "little risk",
    "data": "data may be lost: heed the cautions",
    "injury": "someone may be hurt: heed the cautions",
}


def findings_section(advice: Advice, texts: Texts, look: Look | None = None) -> Section:
    """The likeliest causes, each with what speaks for and against it; the rest by name."""
    told = [f for i, f in enumerate(advice.causes) if i == 0 or (i < MOST_FINDINGS and f.share >= LEAST_SHARE)]
    rest = advice.causes[len(told) :]
    blocks: list[Block] = [Para(_DECIBANS, tone="quiet")]
    tree = BusTree((look or Look()).snapshot)
    blocks.extend(finding_part(number, finding, texts, tree) for number, finding in enumerate(told, 1))
    for clash in advice.contradictions:
        again = "" if clash.settled else f" Please answer once more: {clash.question.text}"
        blocks.append(Para(f"{clash.why}{again}", "Answers that do not agree", "warning"))
    for one, other in advice.together:
        blocks.append(Para(f"{cause_words(one, texts)} and {cause_words(other, texts)} may both be at work."))
    if rest:
        names = "; ".join(cause_words(f.id, texts) for f in rest)
        blocks.append(Para(names, "Less likely", "quiet"))
    blocks.extend(Para(note, tone="quiet") for note in advice.notes)
    return Section("findings", "What was found", tuple(blocks))


def finding_part(number: int, finding: Finding, texts: Texts, tree: BusTree) -> Part:
    """One cause with its reasons."""
    blocks: list[Para | Listing | Table] = []
    words = texts.get(f"cause.{finding.id}.words")
    if words:
        blocks.append(Para(words))
    for label, reasons, sign in (("Speaks for it", finding.for_, "+"), ("Speaks against it", finding.against, "−")):
        if reasons:
            blocks.append(Para("", label))
            blocks.append(Listing(tuple(Item(_reason_line(e, sign, tree)) for e in reasons)))
        else:
            blocks.append(Para("nothing seen or told so far", label))
    return Part(f"{number}. {cause_words(finding.id, texts)}: {percent(finding.share)}", tuple(blocks))


def unknown_section(case: Case, look: Look, advice: Advice, texts: Texts) -> Section:
    """What nobody knows yet, and what would settle it."""
    tree = BusTree(look.snapshot)
    items = [Item(f"{name}: unknown") for name in unknown_answers(case, texts)]
    items += unreadable_items(look.snapshot)
    for entry in look.ledger:
        if entry.state != "unknown" or entry.budget in FIGURES:
            continue
        hangs = bracket_words(entry, texts)
        settles = text_or(texts, f"observation.{entry.settles}.name", entry.settles) if entry.settles else ""
        items.append(
            Item(
                f"{text_or(texts, f'budget.{entry.budget}.title', entry.budget)}, "
                f"{place_words(entry.where, tree, entry.budget)}: limit {limit_words(entry)}"
                + (f". {hangs}" if hangs else f"; would be settled by: {settles}" if settles else "")
            )
        )
    blocks: list[Block] = []
    question = advice.next_question
    if question is not None:
        blocks.append(Para(f"{question.text} {question.why}", "The next useful question"))
    if items:
        blocks.append(Listing(tuple(items)))
    if not blocks:
        blocks.append(Para("Nothing that would change the answer."))
    return Section("unknown", "What stays unknown", tuple(blocks))


def plan_section(advice: Advice, look: Look, texts: Texts, marks: Mapping[str, str] | None = None) -> Section:
    """The steps in order, the planner's arrangements among them. `marks` are what was noted of steps, by id."""
    steps = sequence(advice.plan, advice.plan, look, texts, marks or {})
    if not steps:
        return Section("plan", "What to do", (Para("There is no step to try."),))
    first = Para("Try the steps in this order, one at a time, and check after each whether the trouble is gone.")
    told: dict[str, int] = {}
    parts = []
    for number, step in enumerate(steps, 1):
        parts.append(_made_out(number, step, [_careful(c, step, told, texts) for c in step.cautions]))
        told = {c.text: number for c in step.cautions} | told
    return Section("plan", "What to do", (first, *parts))


def step_part(number: int, step: Step) -> Part:
    """One step: cautions first, then what to do, why, how to tell it worked, how to undo it."""
    return _made_out(number, step, [Para(caution.text, "Careful", "warning") for caution in step.cautions])


def _careful(caution: Caution, step: Step, told: Mapping[str, int], texts: Texts) -> Para:
    """A caution in full; where a step before told the same and nobody can be hurt, in short."""
    short = texts.get(f"caution.{caution.id}.short") if caution.text in told and step.risk != "injury" else None
    words = caution.text if short is None else f"{short} (In full at step {told[caution.text]}.)"
    return Para(words, "Careful", "warning")


def _made_out(number: int, step: Step, cautions: Iterable[Para]) -> Part:
    minutes = figure(step.effort_min, 0)
    cost = [f"about {minutes} {'minute' if minutes == '1' else 'minutes'}", _SPEND[step.spend], _RISKS[step.risk]]
    if step.opens_case:
        cost.append("the computer's case must be opened")
    return Part(
        f"Step {number}",
        (
            *cautions,
            *_lines(step.do, "Do"),
            *_lines(step.why, "Why"),
            Para(step.check, "It worked if"),
            Para(step.undo, "To undo it"),
            Para(", ".join(cost), "Takes", "quiet"),
        ),
    )


def _lines(text: str, label: str) -> Iterator[Para | Listing]:
    """A text of one line or of several, such as moves in order."""
    first, *rest = text.splitlines() or [""]
    yield Para(first, label)
    if rest:
        yield Listing(tuple(Item(line) for line in rest))


def cause_words(cause: str, texts: Texts) -> str:
    """A cause in plain words."""
    return text_or(texts, f"cause.{cause}.title", cause)


def percent(share: float) -> str:
    """A share of belief: `62 %`; neither 0 nor 100 is ever claimed."""
    if share < 0.01:
        return "below 1 %"
    return "over 99 %" if share > 0.99 else f"{share * 100:.0f} %"


def _reason_line(reason: Evidence, sign: str, tree: BusTree) -> str:
    return f"{sign}{figure(reason.weight)}: {reason_words(reason, tree)} [{reason.on}; {reason.source}]"


def reason_words(reason: Evidence, tree: BusTree) -> str:
    """The reason with its place called by name: it comes as `(1043.2 of 900 us/frame at 1-4/tt)`."""
    budget, _, where = reason.on.partition("@")
    why = reason.why
    for unit, words in UNITS.items():
        why = why.replace(f" {unit} at {where})", f" {words} at {where})")
    return why.replace(f" at {where})", f" at {_place(where, tree, budget)})") if where else why


def _place(where: str, tree: BusTree, budget: str) -> str:
    words = place_words(where, tree, budget)
    return f"the {words}" if words.startswith("translator ") else words
