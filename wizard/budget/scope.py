"""Which places a ledger is wanted for: all of them, or those that a change touches."""

from dataclasses import dataclass

from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key


@dataclass(frozen=True)
class Scope:
    """A set of ids of devices, sockets and controllers; None stands for all. A translator goes with its hub."""

    places: frozenset[str] | None = None

    def covers(self, where: str) -> bool:
        """Whether an entry at that place is wanted."""
        return self.places is None or where.split("/", 1)[0] in self.places

    def devices(self, tree: BusTree) -> list[Device]:
        """The devices in scope that hang on something, root hubs left out, in natural order."""
        if self.places is None:
            found = [d for d in tree.snapshot.devices if not d.root]
        else:
            found = [d for p in self.places if (d := tree.devices.get(p)) is not None and not d.root]
        return sorted(found, key=lambda d: natural_key(d.id))


EVERYWHERE = Scope()
