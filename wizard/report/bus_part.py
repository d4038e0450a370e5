"""The chapter on what hangs where: controllers, buses, sockets, hubs and devices, indented by what hangs on what.

Written without recursion, so that a snapshot with a thousand hubs in a row can't overflow anything.
"""

from collections.abc import Iterator, Mapping

from wizard.budget.entry import Entry
from wizard.bus.model import Device, Snapshot, Unreadable
from wizard.bus.tree import BusTree
from wizard.case.documents import Look
from wizard.report.blocks import Block, Item, Listing, Para, Section
from wizard.report.stream_words import stream_sentences
from wizard.report.words import amount, controller_words, device_words, figure, speed_words

_REASONS = {
    "permission": "no permission",
    "vanished": "it vanished while it was read",
    "blocked": "it did not answer in time",
    "garbled": "what it sent makes no sense",
    "too_large": "it sent far too much",
    "failed": "reading failed",
    "cancelled": "the look was stopped",
}


def bus_section(look: Look) -> Section:
    """The tree of a look, with what each device draws and reserves, and what could not be read."""
    blocks: list[Block] = []
    if look.has_bus:
        blocks.append(Listing(tuple(_tree_items(look))))
    else:
        blocks.append(Para("No USB bus was seen in this look."))
    unread = unreadable_items(look.snapshot)
    if unread:
        blocks.append(Para("What could not be read:"))
        blocks.append(Listing(unread))
    blocks.extend(Para(note, tone="quiet") for note in look.notes)
    return Section("bus", "What hangs where", tuple(blocks))


def unreadable_items(snapshot: Snapshot) -> tuple[Item, ...]:
    """Each thing that could not be read, with the reason."""
    everything = (*snapshot.unreadable, *(u for device in snapshot.devices for u in device.unreadable))
    # An observer may say the same of the machine and of the device: once is enough.
    return tuple(Item(words) for words in dict.fromkeys(_unread_words(u) for u in everything))


def _unread_words(unread: Unreadable) -> str:
    reason = _REASONS.get(unread.reason, unread.reason)
    return f"{unread.where}: {reason}{f' ({unread.detail})' if unread.detail else ''}"


def _tree_items(look: Look) -> Iterator[Item]:
    tree = BusTree(look.snapshot)
    reserved = _reserved_by_device(look.ledger)
    shown: set[str] = set()
    for controller in look.snapshot.controllers:
        driver = f", driver {controller.driver}" if controller.driver else ""
        pci = controller.pci
        chip = f", PCI {pci.vendor}:{pci.device}" if pci is not None and pci.vendor and pci.device else ""
        words = controller_words(controller)
        yield Item(f"{words[0].upper()}{words[1:]}{chip}{driver}")
        yield from _below(controller.id, 1, tree, reserved, shown)
    lost = [d for d in look.snapshot.devices if d.id not in shown]
    if lost:
        yield Item("Seen, but it is unknown where they hang")
        for device in lost:
            yield Item(_device_line(device, tree, reserved), 1)


def _below(
    parent: str, depth: int, tree: BusTree, reserved: Mapping[str, tuple[float, str]], shown: set[str]
) -> Iterator[Item]:
    waiting = [(d, depth) for d in reversed(tree.children(parent))]
    while waiting:
        device, level = waiting.pop()
        if device.id in shown:
            continue
        shown.add(device.id)
        yield Item(_device_line(device, tree, reserved), level)
        free = _free_line(device, tree)
        if free:
            yield Item(free, level + 1, "quiet")
        waiting.extend((d, level + 1) for d in reversed(tree.children(device.id)))


def _device_line(device: Device, tree: BusTree, reserved: Mapping[str, tuple[float, str]]) -> str:
    if device.root:
        count = len(tree.sockets_of(device.id)) or (device.hub.ports if device.hub is not None else None)
        sockets = "number of sockets unknown" if count is None else f"{figure(count)} sockets"
        return f"Bus {device.id}: {speed_words(device)}, {sockets}"
    facts = [speed_words(device), *_hub_facts(device), _power_words(device)]
    if device.id in reserved and reserved[device.id][0] > 0:
        facts.append(f"reserves {amount(*reserved[device.id])}")
    facts += [f"may stream {sentence}" for sentence in stream_sentences(device, tree)]
    drivers = sorted({i.driver for i in device.interfaces if i.driver})
    if drivers:
        facts.append(f"driver {', '.join(drivers)}")
    socket = tree.sockets.get(device.id)
    place = f" ({socket.place})" if socket is not None and socket.place else ""
    return f"Socket {device.id}{place}: {device_words(device)}. {'; '.join(facts)}"


def _hub_facts(device: Device) -> list[str]:
    if device.hub is None:
        return []
    ports = f"hub with {device.hub.ports} sockets" if device.hub.ports is not None else "hub"
    facts = [] if ports in device_words(device) else [f"a {ports}"]
    kind = device.hub.translator
    if kind is None:
        return [*facts, "translator unknown"] if device.speed == "high" else facts
    words = {"single": "one translator for all", "multi": "a translator for each socket", "none": "no translator"}
    return [*facts, words[kind]]


def _power_words(device: Device) -> str:
    supply = {True: "own supply", False: "fed by the socket", None: "supply unknown"}[device.self_powered]
    if device.max_power_ma is None:
        return f"{supply}, current unknown"
    return f"{supply}, says it draws up to {device.max_power_ma} mA"


def _free_line(device: Device, tree: BusTree) -> str:
    free = [s.id for s in tree.sockets_of(device.id) if s.id not in tree.devices and s.usable is not False]
    if not free:
        return ""
    shown = ", ".join(free[:12]) + (f" and {len(free) - 12} more" if len(free) > 12 else "")
    return f"Nothing seen in {shown}"


def _reserved_by_device(ledger: tuple[Entry, ...]) -> dict[str, tuple[float, str]]:
    """Bus time a device has reserved now, in the worst (micro)frame, at the first place that counts it."""
    reserved: dict[str, tuple[float, str]] = {}
    for entry in ledger:
        if entry.budget != "periodic_time_active":
            continue
        here: dict[str, float] = {}
        for part in entry.parts:
            here[part.who] = here.get(part.who, 0.0) + part.used
        for who, used in here.items():
            reserved.setdefault(who, (used, entry.unit))
    return reserved
