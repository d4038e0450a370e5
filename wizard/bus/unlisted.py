"""Which hubs of a look may have free sockets that it does not show. Knows no budget.

Some systems (the device lists of Windows and macOS, a bus read without its hubs' descriptors) name a socket only by
what is plugged into it. What is free there is not known, which is another thing than that nothing is.
"""

from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key


def unlisted_hubs(tree: BusTree) -> tuple[str, ...]:
    """Ids of the hubs of unknown size of which the look lists no empty socket, in natural order."""
    return tuple(sorted((d.id for d in tree.snapshot.devices if _is_unlisted(tree, d)), key=natural_key))


def _is_unlisted(tree: BusTree, device: Device) -> bool:
    if device.hub is None or device.hub.ports is not None:
        return False
    taken = tree.devices
    return all(s.id in taken or s.peer in taken for s in tree.sockets_of(device.id))
