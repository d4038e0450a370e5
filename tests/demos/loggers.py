"""The variety library: one climate logger more than an old controller can keep in mind.

Invented, except that the PCI ids are those of two real controllers whose limits are known (`wizard.budget.limits`).
"""

from demos.parts import device, hid, hub, linux, root, serial_line

from wizard.bus.model import Controller, Device, Pci, Snapshot

BOARD = ("IB-09", "06/18/2013")
OLD = Controller(id="0000:00:14.0", kind="xhci", driver="xhci_hcd", pci=Pci(vendor="8086", device="1e31"))
CARD = Controller(id="0000:02:00.0", kind="xhci", driver="xhci_hcd", pci=Pci(vendor="1106", device="3483"))
PEERS = {f"1-{n}": f"2-{n}" for n in range(1, 5)}
CARD_PEERS = {f"3-{n}": f"4-{n}" for n in range(1, 5)}

MAKER = "Dunnock Measuring"


def _logger(identifier: str, number: int, refused: bool = False) -> Device:
    """A logger; one that was refused is listed without a configuration, and so without current and interfaces."""
    made = device(
        identifier,
        ("f0f7", "0140"),
        "full",
        100,
        *serial_line(),
        class_code=2,
        product=f"Climate logger {number}",
        manufacturer=MAKER,
        serial=f"DM-14-{880 + number:04d}",
    )
    if not refused:
        return made
    return made.model_copy(update={"configuration": 0, "interfaces": (), "max_power_ma": None, "self_powered": None})


def _shelf(at: str, name: str, first: int, refused: int | None = None) -> list[Device]:
    """A hub with seven loggers."""
    numbers = range(first, first + 7)
    hub_there = hub(
        at, ("f0b7", "0107"), 7, "multi", self_powered=True, product=name, manufacturer="Brindlecote Electric"
    )
    return [hub_there, *(_logger(f"{at}.{n - first + 1}", n, n == refused) for n in numbers)]


def _desk() -> list[Device]:
    return [
        root(1, "high", OLD.id, 4),
        root(2, "super", OLD.id, 4),
        device(
            "1-3",
            ("f0b9", "0001"),
            "low",
            100,
            hid(1, 8, 10_000, boot=1),
            hid(2, 4, 10_000),
            product="Desk keyboard",
            manufacturer="Harrowmoss Peripherals",
        ),
        device(
            "1-4",
            ("f0b9", "0003"),
            "low",
            100,
            hid(1, 6, 10_000, boot=2),
            product="Plain mouse",
            manufacturer="Harrowmoss Peripherals",
        ),
    ]


def before() -> Snapshot:
    """Thirteen loggers run, the fourteenth is refused."""
    shelves = [*_shelf("1-1", "Hub of the cool room", 1), *_shelf("1-2", "Hub of the dry room", 8, refused=14)]
    return linux(BOARD, [OLD], PEERS, [*_desk(), *shelves])


def after() -> Snapshot:
    """A card with a controller of its own is in the PC, and the hub of the dry room hangs on it."""
    roots = [root(3, "high", CARD.id, 4), root(4, "super", CARD.id, 4)]
    shelves = [*_shelf("1-1", "Hub of the cool room", 1), *_shelf("3-1", "Hub of the dry room", 8)]
    return linux(BOARD, [OLD, CARD], {**PEERS, **CARD_PEERS}, [*_desk(), *roots, *shelves])
