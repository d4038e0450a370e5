"""What changed between two looks, budget by budget, in words and in order. Knows no Qt, judges nothing."""

from collections.abc import Iterable

from wizard.bus.tree import BusTree
from wizard.diagnosis.texts import Texts
from wizard.plan.compare import BudgetChange
from wizard.report.words import amount, place_words, text_or


def each_once(changes: Iterable[BudgetChange]) -> list[BudgetChange]:
    """Without bus time at most where it reads, before and now, just as bus time in use does."""
    told = list(changes)
    read = {c.where: _reading(c) for c in told if c.budget == "periodic_time_active"}
    return [c for c in told if c.budget != "periodic_time" or read.get(c.where) != _reading(c)]


def _reading(change: BudgetChange) -> tuple[object, ...]:
    return change.used_was, change.limit_was, change.state_was, change.used_now, change.limit_now, change.state_now


def urgency(change: BudgetChange) -> int:
    """Budgets that are or were overdrawn first, then the tight ones."""
    order = ("over", "tight", "unknown", "room")
    return min(order.index(state) for state in (change.state_was, change.state_now) if state is not None)


def place(change: BudgetChange, tree: BusTree) -> str:
    """The place, and what hung there before if it is something else now."""
    words = place_words(change.where, tree, change.budget)
    if change.name_was is None or change.name_was == change.name_now:
        return words
    return f"{words}, before: {change.name_was}"


def figures(used: float | None, limit: float | None, unit: str, state: str | None) -> str:
    """One moment of a budget: `tight: 845 of 900 µs a frame`."""
    if state is None:
        return "not there"
    words = {"over": "overdrawn", "tight": "tight", "room": "room"}.get(state, "unknown")
    return f"{words}: {amount(used, '')}".rstrip() + f" of {amount(limit, unit)}"


def still_tight(change: BudgetChange, tree: BusTree, texts: Texts) -> str:
    """How little is left where it was overdrawn."""
    title = text_or(texts, f"budget.{change.budget}.title", change.budget)
    left = None if change.limit_now is None or change.used_now is None else change.limit_now - change.used_now
    return f"Still tight: {title}, {place(change, tree)}: {amount(left, change.unit)} left."
