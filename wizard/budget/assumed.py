"""Marks what rests on devices that were described by hand: their figures are assumed, whatever they would declare."""

from wizard.budget.entry import Entry
from wizard.budget.setup import Setup
from wizard.bus.tree import BusTree

_SUMS_OF_WHAT_HANGS_BELOW = frozenset({"port_current", "hub_supply", "group_current"})


def marked_assumed(tree: BusTree, setup: Setup, entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """The entries, with `assumed` as the basis of what is used where a described device takes part in it.

    What a meter showed stays what it was.
    """
    described = {d.id for d in tree.snapshot.devices if d.typical is not None}
    if not described:
        return entries
    above = described | {hub.id for one in described for hub in tree.path(one) if not hub.self_powered}
    return tuple(_marked(e, described, above, setup) for e in entries)


def _marked(entry: Entry, described: set[str], above: set[str], setup: Setup) -> Entry:
    if entry.basis == "unknown":
        return entry
    doubtful = above if entry.budget in _SUMS_OF_WHAT_HANGS_BELOW else described
    users = {p.who for p in entry.parts if p.who not in setup.measured_ma}
    if users & doubtful or (not entry.parts and entry.where.split("/", 1)[0] in described):
        return entry.model_copy(update={"basis": "assumed"})
    return entry
