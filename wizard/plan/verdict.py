"""Whether a fix held: the user's word and the new look together. Neither counts alone.

The user's 'gone' is not believed against a budget that was the trouble and still is over; a budget that
eased is no cure while the trouble goes on.
"""

from typing import Literal

from wizard.bus.document import Document
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange, Comparison
from wizard.plan.numbers import shown

Word = Literal["solved", "better", "same", "worse", "open"]

REASONS = (
    "said_gone", "said_better", "said_same", "said_worse", "not_asked", "still_over", "now_over", "relieved",
    "new_signs", "devices_gone",
)  # fmt: skip
"""Keys of the reasons, `verdict.<key>` in the texts."""


class Reason(Document):
    """Why the verdict is what it is; the figures belong to the budget at `where`, as it is now."""

    key: str
    budget: str | None = None
    where: str | None = None
    used: float | None = None
    limit: float | None = None


class Verdict(Document):
    """`solved` only if the trouble is gone and no budget that was the trouble is over; `open` while nobody said."""

    verdict: Word
    reasons: tuple[Reason, ...] = ()


def verdict(outcome: str | None, comparison: Comparison, trouble: tuple[tuple[str, str], ...] | None = None) -> Verdict:
    """The verdict on one try. `outcome` is what the user says (`gone`, `better`, `same`, `worse`; None or anything
    else: not said). `trouble` are the (budget, where) that were the trouble; None: every one that was over."""
    still = [b for b in comparison.budgets if _was_trouble(b, trouble) and b.state_now == "over"]
    still = [b for b in still if not _was_for_the_greatest(b, comparison)]
    fresh = [b for b in comparison.overdrawn_now if b.state_was != "over"]
    facts = (
        *(_reason("still_over", b) for b in still),
        *(_reason("now_over", b) for b in fresh),
        *(_reason("relieved", b) for b in comparison.relieved if _was_trouble(b, trouble)),
        *((Reason(key="new_signs"),) if comparison.new_signs else ()),
        *((Reason(key="devices_gone"),) if comparison.gone else ()),
    )
    if outcome == "gone":
        word: Word = "better" if still or fresh else "solved"
        return Verdict(verdict=word, reasons=(Reason(key="said_gone"), *facts))
    if outcome == "better":
        return Verdict(verdict="better", reasons=(Reason(key="said_better"), *facts))
    if outcome == "same":
        return Verdict(verdict="same", reasons=(Reason(key="said_same"), *facts))
    if outcome == "worse":
        return Verdict(verdict="worse", reasons=(Reason(key="said_worse"), *facts))
    return Verdict(verdict="open", reasons=(Reason(key="not_asked"), *facts))


def sentences(result: Verdict, texts: Texts) -> tuple[str, ...]:
    """The reasons in words."""
    return tuple(filter(None, (_sentence(reason, texts) for reason in result.reasons)))


def _sentence(reason: Reason, texts: Texts) -> str:
    template = texts.get(f"verdict.{reason.key}") or ""
    title = texts.get(f"budget.{reason.budget}.title") or reason.budget or ""
    figures = "" if reason.used is None or reason.limit is None else f": {shown(reason.used)} / {shown(reason.limit)}"
    return f"{template} {title} ({reason.where}{figures})." if reason.budget else template


def _was_trouble(change: BudgetChange, trouble: tuple[tuple[str, str], ...] | None) -> bool:
    return change.state_was == "over" and (trouble is None or (change.budget, change.where) in trouble)


def _was_for_the_greatest(change: BudgetChange, comparison: Comparison) -> bool:
    """Bus time at the greatest settings is a warning beside that of the settings in use: where these were over and
    no longer are, the trouble has been dealt with."""
    return change.budget == "periodic_time" and any(
        b.budget == "periodic_time_active" and b.where == change.where for b in comparison.relieved
    )


def _reason(key: str, change: BudgetChange) -> Reason:
    return Reason(key=key, budget=change.budget, where=change.where, used=change.used_now, limit=change.limit_now)
