"""Which budgets an arrangement must hold. Knows names only."""

from wizard.budget.entry import Entry
from wizard.budget.periodic import TIME_BUDGETS, Settings

HELD = frozenset(["port_current", "hub_supply", "group_current", "link_rate", "endpoints", "slots", "hub_depth"])
"""Budgets that an arrangement must hold, beside bus time for the settings asked for."""


def must_hold(entry: Entry, settings: Settings) -> bool:
    """Whether an arrangement in which this entry is overdrawn is none."""
    return entry.budget in HELD or entry.budget == TIME_BUDGETS[settings]
