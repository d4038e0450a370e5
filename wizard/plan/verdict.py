"""Whether a fix held: the user's word and the new look together. Neither counts alone.

The user's 'gone' is not believed against a budget that was the trouble and still is over; a budget that
eased is no cure while the trouble goes on. What was merely unplugged was avoided and not solved, and a look
at another computer says nothing of this one. Only where there is nothing to look at does the word decide.
"""

from collections.abc import Mapping
from typing import Literal

from wizard.bus.document import Document
from wizard.bus.model import Snapshot
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange, Comparison
from wizard.plan.numbers import UNITS, shown, where_words

Word = Literal["solved", "better", "same", "worse", "open"]
Looks = Literal["both", "first", "none"]
"""Which looks there are to compare: both, no second one, or no first one."""

REASONS = (
    "said_gone", "said_better", "said_same", "said_worse", "not_asked", "still_over", "now_over", "relieved",
    "new_signs", "devices_gone", "subject_gone", "users_gone", "two_machines", "no_look", "no_second_look",
)  # fmt: skip
"""Keys of the reasons, `verdict.<key>` in the texts."""

_SAID: Mapping[str | None, Word] = {"gone": "solved", "better": "better", "same": "same", "worse": "worse"}


class Reason(Document):
    """Why the verdict is what it is; the figures belong to the budget at `where` (called `name`, if anything), as it is
    now; `devices` are names."""

    key: str
    budget: str | None = None
    where: str | None = None
    name: str | None = None
    used: float | None = None
    limit: float | None = None
    unit: str | None = None
    devices: tuple[str, ...] = ()


class Verdict(Document):
    """`solved` only if the trouble is gone, no budget that was the trouble is over, and what made it is still there;
    `open` while nobody said, or nothing seen bears it out."""

    verdict: Word
    reasons: tuple[Reason, ...] = ()


def looks_taken(before: Snapshot | None, after: Snapshot | None) -> Looks:
    """Which of the two looks found a bus at all."""
    first, second = (s is not None and bool(s.devices or s.controllers) for s in (before, after))
    return "none" if not first else "both" if second else "first"


def verdict(
    outcome: str | None,
    comparison: Comparison,
    trouble: tuple[tuple[str, str], ...] | None = None,
    subject: tuple[str, ...] = (),
    looks: Looks = "both",
) -> Verdict:
    """The verdict on one try. `outcome` is what the user says (`gone`, `better`, `same`, `worse`; None or anything
    else: not said). `trouble` are the (budget, where) that were the trouble; None: every one that was over. `subject`
    are the ids, in the first look, of what the trouble is about."""
    said = Reason(key=f"said_{outcome}" if outcome in _SAID else "not_asked")
    word = _SAID.get(outcome, "open")
    if looks != "both" or comparison.two_machines:
        missing = Reason(key="two_machines" if looks == "both" else "no_look" if looks == "none" else "no_second_look")
        doubtful = word == "solved" and looks != "none"
        return Verdict(verdict="open" if doubtful else word, reasons=(said, missing))
    subject_gone = any(d.was in subject for d in comparison.gone)
    bad = _in_the_way(comparison, trouble)
    facts = (
        *((Reason(key="subject_gone"),) if subject_gone else ()),
        *bad,
        *(_reason("relieved", b) for b in comparison.relieved if _was_trouble(b, trouble)),
        *((Reason(key="new_signs"),) if comparison.new_signs else ()),
        *((Reason(key="devices_gone"),) if comparison.gone else ()),
    )
    if word == "solved":
        word = "open" if subject_gone else "better" if bad else "solved"
    return Verdict(verdict=word, reasons=(said, *facts))


def sentences(result: Verdict, texts: Texts) -> tuple[str, ...]:
    """The reasons in words."""
    return tuple(filter(None, (_sentence(reason, texts) for reason in result.reasons)))


def _sentence(reason: Reason, texts: Texts) -> str:
    template = texts.get(f"verdict.{reason.key}") or ""
    if reason.devices:
        return f"{template} {', '.join(reason.devices)}."
    if reason.budget is None or reason.where is None:
        return template
    title = texts.get(f"budget.{reason.budget}.title") or reason.budget
    names = {reason.where.partition("/")[0]: reason.name} if reason.name else {}
    place = where_words(reason.budget, reason.where, names, texts)
    if "/tt" in reason.where:
        place = (texts.get("place.translator") or "{where}").format_map({"where": place})
    return f"{template} {title}, {place}{_figures(reason)}."


def _figures(reason: Reason) -> str:
    if reason.used is None or reason.limit is None:
        return ""
    unit = reason.unit or ""
    return f": {shown(reason.used)} of {shown(reason.limit)} {UNITS.get(unit, unit)}".rstrip()


def _in_the_way(comparison: Comparison, trouble: tuple[tuple[str, str], ...] | None) -> tuple[Reason, ...]:
    """What forbids to call it solved: a budget still or newly over, or one that eased because a device is missing."""
    still = [b for b in comparison.budgets if _was_trouble(b, trouble) and b.state_now == "over"]
    still = [b for b in still if not _was_for_the_greatest(b, comparison)]
    fresh = [b for b in comparison.overdrawn_now if b.state_was != "over"]
    eased = [b for b in comparison.relieved if _was_trouble(b, trouble)]
    lost = tuple(dict.fromkeys(name for b in eased for name in b.users_gone))
    return (
        *(_reason("still_over", b) for b in still),
        *(_reason("now_over", b) for b in fresh),
        *((Reason(key="users_gone", devices=lost),) if lost else ()),
    )


def _was_trouble(change: BudgetChange, trouble: tuple[tuple[str, str], ...] | None) -> bool:
    return change.state_was == "over" and (trouble is None or (change.budget, change.where) in trouble)


def _was_for_the_greatest(change: BudgetChange, comparison: Comparison) -> bool:
    """Bus time at the greatest settings is a warning beside that of the settings in use: where these were over and
    no longer are, the trouble has been dealt with."""
    return change.budget == "periodic_time" and any(
        b.budget == "periodic_time_active" and b.where == change.where for b in comparison.relieved
    )


def _reason(key: str, change: BudgetChange) -> Reason:
    return Reason(
        key=key,
        budget=change.budget,
        where=change.where,
        name=change.name_now or change.name_was,
        used=change.used_now,
        limit=change.limit_now,
        unit=change.unit,
    )
