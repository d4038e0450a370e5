"""The ledger: every budget at every place of a snapshot, in a fixed order."""

from wizard.budget.depth import depth_entries
from wizard.budget.endpoints import controller_entries
from wizard.budget.entry import Entry
from wizard.budget.periodic import periodic_entries
from wizard.budget.power import power_entries
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree


def build_ledger(snapshot: Snapshot, setup: Setup | None = None) -> tuple[Entry, ...]:
    """All entries for a snapshot: current, bus time, endpoints and slots, depth; each in natural order of places.

    `setup` holds what was told and can't be read. The same snapshot gives the same ledger, whatever the order
    of its lists.
    """
    tree = BusTree(snapshot)
    told = setup or Setup()
    return (
        *power_entries(tree, told),
        *periodic_entries(tree),
        *controller_entries(tree, told),
        *depth_entries(tree),
    )
