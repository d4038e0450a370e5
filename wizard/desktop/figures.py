"""What pages must know of budgets beyond their words: which are mere figures, and who uses how much. Knows no Qt."""

from wizard.budget.entry import Entry
from wizard.case.documents import Look

FIGURES = frozenset({"latency"})
"""Budgets that are a figure to know and have no limit by nature: never called unknown, shown last."""


def without_figures(look: Look) -> Look:
    """The look with the budgets that can be over or unknown, the mere figures left out."""
    return look.model_copy(update={"ledger": tuple(e for e in look.ledger if e.budget not in FIGURES)})


def by_user(entry: Entry) -> list[tuple[str, float]]:
    """Parts summed by who uses them, the greatest first, in the entry's unit."""
    used: dict[str, float] = {}
    for part in entry.parts:
        used[part.who] = used.get(part.who, 0.0) + part.used
    return sorted(used.items(), key=lambda item: -item[1])
