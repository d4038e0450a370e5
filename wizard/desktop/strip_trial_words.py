"""What-ifs and the planner's moves in words. Decides nothing."""

from collections.abc import Sequence

from wizard.budget.entry import Entry
from wizard.bus.tree import BusTree
from wizard.desktop.figures import FIGURES
from wizard.desktop.strip_words import numbers_on_band, short, state_on_band
from wizard.desktop.trying import Difference, Stage, State, differences
from wizard.report.arrange_part import socket_words
from wizard.report.words import amount, place_words

MOST_CHANGES = 3
"""Budgets named in a what-if; the bands show the rest: common practice (no source)."""


def changes_words(start: State, now: State) -> str:
    """What reads otherwise, the worst first, a line for each budget."""
    found = [d for d in differences(start, now) if d.matters]
    lines = [difference_line(d, now.tree, start.tree) for d in found[:MOST_CHANGES]]
    if len(found) > MOST_CHANGES:
        lines.append(f"{len(found) - MOST_CHANGES} more changed; see the notches on the bands.")
    return "\n".join(lines) or "No budget that is short would change."


def difference_line(difference: Difference, now: BusTree, before: BusTree) -> str:
    """One budget before and after: `Supply, Desk hub (1-3): 950 mA, overdrawn → 450 of 900 mA, room`."""
    entry = difference.after or difference.before
    assert entry is not None
    tree = now if difference.after is not None else before
    place = place_words(entry.where, tree, entry.budget)
    return f"{short(entry.budget)}, {place}: {_reading(difference.before)} → {_reading(difference.after)}"


def _reading(entry: Entry | None) -> str:
    if entry is None:
        return "not there"
    if entry.budget in FIGURES:
        return amount(entry.used, entry.unit)
    return f"{numbers_on_band(entry)}, {state_on_band(entry)}"


def stage_words(stages: Sequence[Stage], number: int) -> tuple[str, str]:
    """Head and words for one moment of the planner's arrangement."""
    last = len(stages) - 1
    if not number:
        moves = "1 move" if last == 1 else f"{last} moves"
        return f"Best arrangement: {moves}", "Go through them one by one; the bands show what each would change."
    move = stages[number].move
    assert move is not None
    tree = stages[0].state.tree
    plug = stages[0].state.picture.plug(move.device)
    name = plug.name if plug is not None else move.device
    head = f"Best arrangement, move {number} of {last}: {name}"
    if move.to is None:
        return head, "Unplug it and lay it aside for a moment."
    source = "out of its box or your hand" if move.from_ is None else f"from {socket_words(move.from_, tree)}"
    return head, f"{source[0].upper()}{source[1:]} to {socket_words(move.to, tree)}."
