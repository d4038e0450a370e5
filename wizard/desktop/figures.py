"""What pages must know of budgets beyond their words: which are mere figures, and who uses how much. Knows no Qt."""

from collections.abc import Iterable

from wizard.budget.entry import Entry
from wizard.case.documents import Look

FIGURES = frozenset({"latency"})
"""Budgets that are a figure to know and have no limit by nature: never called unknown, shown last."""


def without_figures(look: Look) -> Look:
    """The look with the budgets that can be over or unknown, the mere figures left out."""
    return look.model_copy(update={"ledger": tuple(e for e in look.ledger if e.budget not in FIGURES)})


def same_now(entries: Iterable[Entry]) -> frozenset[str]:
    """The places where bus time at most reads just as bus time now, so that one line tells both."""
    read = {(e.budget, e.where): (e.state, e.used, e.limit) for e in entries}
    found = (where for budget, where in read if budget == "periodic_time_active")
    return frozenset(w for w in found if read.get(("periodic_time", w)) == read["periodic_time_active", w])


def places(entries: Iterable[Entry]) -> list[Entry]:
    """One entry for each thing at one place: where bus time at most reads as bus time now does, the one in use."""
    told = [e for e in entries if e.budget not in FIGURES]
    same = same_now(told)
    return [e for e in told if e.budget != "periodic_time" or e.where not in same]


def overdrawn_places(entries: Iterable[Entry]) -> list[Entry]:
    """What is overdrawn, each place once for one thing."""
    return [e for e in places(entries) if e.state == "over"]


def by_user(entry: Entry) -> list[tuple[str, float]]:
    """Parts summed by who uses them, the greatest first, in the entry's unit."""
    used: dict[str, float] = {}
    for part in entry.parts:
        used[part.who] = used.get(part.who, 0.0) + part.used
    return sorted(used.items(), key=lambda item: -item[1])
