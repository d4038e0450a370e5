"""The ledger: every budget at every place of a snapshot, in a fixed order."""

from wizard.budget.assumed import marked_assumed
from wizard.budget.cable import cable_entries
from wizard.budget.depth import depth_entries
from wizard.budget.endpoints import controller_entries
from wizard.budget.entry import BUDGET_ORDER, Entry
from wizard.budget.latency import latency_entries
from wizard.budget.periodic import periodic_entries
from wizard.budget.power import power_entries
from wizard.budget.scope import EVERYWHERE, Scope
from wizard.budget.setup import Setup
from wizard.budget.superspeed import link_entries
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree

LEDGER_ORDER = {budget: position for position, budget in enumerate(BUDGET_ORDER)}
"""Position of each budget in the ledger."""


def build_ledger(snapshot: Snapshot, setup: Setup | None = None) -> tuple[Entry, ...]:
    """All entries for a snapshot, budget after budget, each in natural order of places.

    `setup` holds what was told and can't be read. The same snapshot gives the same ledger, whatever the order
    of its lists.
    """
    return entries_in(BusTree(snapshot), setup or Setup(), EVERYWHERE)


def entries_in(tree: BusTree, setup: Setup, scope: Scope) -> tuple[Entry, ...]:
    """The entries at the places in scope, in the order of the whole ledger."""
    entries = (
        *power_entries(tree, setup, scope),
        *periodic_entries(tree, scope),
        *link_entries(tree, setup, scope),
        *controller_entries(tree, setup, scope),
        *depth_entries(tree, scope),
        *cable_entries(tree, setup, scope),
        *latency_entries(tree, scope),
    )
    return marked_assumed(tree, setup, entries)
