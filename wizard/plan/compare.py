"""Before and after: what went, came, moved or changed speed between two looks, and what the budgets did."""

from typing import Literal

from wizard.budget.entry import Entry, State
from wizard.bus.document import Document
from wizard.bus.model import Device, Snapshot
from wizard.bus.sign import Sign
from wizard.bus.tree import natural_key


class DeviceRef(Document):
    """One device in a comparison; `was` and `now` are ids, `mbps_was` and `mbps_now` its rates."""

    name: str
    was: str | None = None
    now: str | None = None
    mbps_was: float | None = None
    mbps_now: float | None = None


class BudgetChange(Document):
    """One budget at one place in both looks; None where the place is missing in that look."""

    budget: str
    where: str
    unit: str
    used_was: float | None = None
    used_now: float | None = None
    limit_was: float | None = None
    limit_now: float | None = None
    state_was: State | None = None
    state_now: State | None = None


class Comparison(Document):
    """Two looks side by side. Lists are in natural order of ids."""

    gone: tuple[DeviceRef, ...] = ()
    new: tuple[DeviceRef, ...] = ()
    moved: tuple[DeviceRef, ...] = ()
    faster: tuple[DeviceRef, ...] = ()
    slower: tuple[DeviceRef, ...] = ()
    budgets: tuple[BudgetChange, ...] = ()
    new_signs: tuple[Sign, ...] = ()

    @property
    def relieved(self) -> tuple[BudgetChange, ...]:
        """Budgets that were over and no longer are."""
        return tuple(b for b in self.budgets if b.state_was == "over" and b.state_now != "over")

    @property
    def overdrawn_now(self) -> tuple[BudgetChange, ...]:
        """Budgets that are over in the second look."""
        return tuple(b for b in self.budgets if b.state_now == "over")
