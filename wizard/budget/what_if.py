"""What would change if a device were added, taken away or plugged elsewhere: a new snapshot and its ledger.

Only entries at places the change touches are reckoned anew.
"""

from bisect import insort
from dataclasses import dataclass

from wizard.budget.entry import Entry
from wizard.budget.ledger import LEDGER_ORDER, entries_in
from wizard.budget.replug import Add, Change, Move, Remove, replugged
from wizard.budget.scope import EVERYWHERE, Scope
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree, natural_key

__all__ = ["Add", "Bench", "Change", "Move", "Remove"]


@dataclass(frozen=True)
class Bench:
    """A snapshot with its ledger, on which changes can be tried. Each try makes a new one."""

    tree: BusTree
    setup: Setup
    ledger: tuple[Entry, ...]

    @classmethod
    def of(cls, snapshot: Snapshot, setup: Setup | None = None) -> "Bench":
        """The bench for a snapshot as it is."""
        told = setup or Setup()
        tree = BusTree(snapshot)
        return cls(tree, told, entries_in(tree, told, EVERYWHERE))

    @property
    def snapshot(self) -> Snapshot:
        """The snapshot as it is on this bench."""
        return self.tree.snapshot

    def tried(self, change: Change) -> "Bench":
        """The bench after a change. Raises BadInputError if it can't be done (no such device, socket taken)."""
        result = replugged(self.tree, self.setup, change)
        remembered = self.tree.remembered
        if len(remembered) > MOST_REMEMBERED:
            remembered.clear()
        after = BusTree(result.snapshot, remembered)
        places = _touched(self.tree, result.gone) | _touched(after, result.come)
        fresh = entries_in(after, result.setup, Scope(places))
        merged = [
            e
            for e in self.ledger
            if (where := e.where) not in places
            and ("/" not in where or where.partition("/")[0] not in places)
            and e.budget != "group_current"
        ]
        for entry in fresh:  # few, into a long list that is in order
            insort(merged, entry, key=_position)
        return Bench(after, result.setup, tuple(merged))


MOST_REMEMBERED = 20_000
"""Figures kept from try to try; beyond that they are reckoned anew, so that a long evening of tries stays small."""


def _position(entry: Entry) -> tuple[int, tuple[tuple[int, int | str], ...]]:
    return (LEDGER_ORDER[entry.budget], natural_key(entry.where))


def _touched(tree: BusTree, devices: frozenset[str]) -> frozenset[str]:
    """Every place whose budgets may feel that these devices came or went."""
    touched: set[str] = set()
    for identifier in devices:
        for on_the_way in tree.path(identifier):
            touched.add(on_the_way.id)
            socket = tree.sockets.get(on_the_way.id) if on_the_way.hub is not None else None
            if socket is not None and socket.peer in tree.devices:
                # The other half of a USB 3 hub shares its supply; its way belongs to it.
                touched.update(d.id for d in tree.path(socket.peer))
        controller = tree.controller_of(identifier)
        if controller is not None:
            touched.add(controller.id)
    return frozenset(touched)
