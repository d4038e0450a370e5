"""What-ifs and the planner's moves in words. Decides nothing."""

from collections.abc import Sequence

from wizard.budget.entry import Entry
from wizard.bus.tree import BusTree
from wizard.desktop.figures import FIGURES, overdrawn_places
from wizard.desktop.strip_words import numbers_on_band, short, state_on_band
from wizard.desktop.trying import Difference, Stage, State, differences
from wizard.diagnosis.texts import Texts
from wizard.report.arrange_part import helper_words, socket_words
from wizard.report.words import amount, place_words

MOST_OVER = 2
"""Overdrawn places named in a verdict of one line: common practice (no source)."""
MOST_CHANGES = 3
"""Budgets named in a what-if; the bands show the rest: common practice (no source)."""


def changes_words(start: State, now: State) -> str:
    """What reads otherwise, the worst first, a line for each budget."""
    found = [d for d in differences(start, now) if d.matters]
    lines = [difference_line(d, now.tree, start.tree) for d in found[:MOST_CHANGES]]
    if len(found) > MOST_CHANGES:
        lines.append(f"{len(found) - MOST_CHANGES} more changed; see the notches on the bands.")
    return "\n".join(lines) or "No budget that is short would change."


def verdict_line(start: State, now: State) -> str:
    """What counts of a state, in one line: what is overdrawn in it, or that nothing is known to be."""
    was, over = (overdrawn_places(s.ledger) for s in (start, now))
    if not over:
        return "Nothing would be overdrawn any more." if was else "Nothing would be overdrawn."
    names = [f"{short(e.budget)}, {place_words(e.where, now.tree, e.budget)}" for e in over]
    told = "; ".join(names[:MOST_OVER]) + (f" and {len(names) - MOST_OVER} more" if len(names) > MOST_OVER else "")
    return f"{'Still overdrawn' if was else 'Overdrawn then'}: {told}."


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


def stage_words(stages: Sequence[Stage], number: int, texts: Texts) -> tuple[str, str]:
    """Head and words for one moment of the planner's arrangement."""
    last = len(stages) - 1
    if not number:
        moves = "1 move" if last == 1 else f"{last} moves"
        return f"Best arrangement: {moves}", "Go through it move by move; the bands show what each would change."
    stage, tree = stages[number], stages[0].state.tree
    head = f"Move {number} of {last}"
    if stage.move is None:
        return head, "\n".join(helper_words(helper, tree, texts) for helper in stage.bought)
    plug = stages[0].state.picture.plug(stage.move.device)
    head = f"{head}: {plug.name if plug is not None else stage.move.device}"
    if stage.move.to is None:
        return head, "Unplug it and lay it aside for a moment."
    at = stage.move.from_
    source = "Out of its box or your hand" if at is None else f"From {socket_words(at, tree)}"
    return head, f"{source} to {socket_words(stage.move.to, tree)}."
