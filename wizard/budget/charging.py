"""What a socket may feed beyond the default: charging ports and Type-C, where the host reports it or the user tells."""

from wizard.budget.limits import Limit
from wizard.budget.setup import Offer, Setup
from wizard.bus.model import Device
from wizard.bus.tree import BusTree

OFFERS: dict[Offer, Limit] = {
    "standard": Limit(500.0, "BC 1.2: standard downstream port (a power switch's datasheet, second-hand)"),
    "standard_usb3": Limit(900.0, "BC 1.2: standard downstream port, USB 3 (a power switch's datasheet, second-hand)"),
    "charging": Limit(1500.0, "BC 1.2: charging downstream port (a power switch's datasheet, second-hand)"),
    "charger_only": Limit(1500.0, "BC 1.2: dedicated charging port, no data (a power switch's datasheet, second-hand)"),
    "type_c_1500": Limit(1500.0, "USB Type-C current of 1.5 A (a system's and a port chip's documents, confirmed)"),
    "type_c_3000": Limit(3000.0, "USB Type-C current of 3 A (a system's and a port chip's documents, confirmed)"),
}
"""Most a device may draw, by kind of port."""

TWO_LANES_MBPS = 20000.0
TWO_LANES_MA = Limit(1500.0, "USB 3.2 §11.4.5: six unit loads of 250 mA on two lanes (from memory)")


def offered(tree: BusTree, device: Device, setup: Setup | None) -> Limit | None:
    """What the socket of a device offers beyond the default; None where nobody says so."""
    socket = tree.sockets.get(device.id)
    if socket is not None and socket.offers_ma is not None:
        return Limit(socket.offers_ma, "reported by the host for this socket")
    names = (device.id, socket.peer if socket is not None else None)
    told = next((setup.offers[n] for n in names if n in setup.offers), None) if setup is not None else None
    if told is not None:
        return OFFERS[told]._replace(source=f"kind of socket as told; {OFFERS[told].source}")
    if device.is_super and device.mbps == TWO_LANES_MBPS:
        return TWO_LANES_MA
    return None
