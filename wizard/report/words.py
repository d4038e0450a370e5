"""Plain words for what the values hold: places, devices, figures, answers. Judges nothing.

What is not known is called 'unknown', never left out and never shown as fine.
"""

from typing import Any

from wizard.budget.entry import Basis, Entry
from wizard.bus.model import MBPS, Controller, Device, Speed
from wizard.bus.tree import BusTree
from wizard.diagnosis.texts import Texts
from wizard.plan.numbers import UNITS
from wizard.report.clean import shortened

NOT_KNOWN = "unknown"

_ONE_OF = {"endpoints": "endpoint", "devices": "device", "hubs": "hub"}

_SPEEDS: dict[Speed, str] = {
    "low": "low speed",
    "full": "full speed",
    "high": "high speed",
    "super": "SuperSpeed",
    "super_plus": "SuperSpeed+",
}

_RESULTS = {"cures": "it cured it", "helps": "it helped", "same": "it changed nothing", "worse": "it made it worse"}


def figure(value: float | None, digits: int = 1) -> str:
    """A number without needless digits: `900`, `12.5`; 'unknown' for None."""
    if value is None:
        return NOT_KNOWN
    return f"{value:.{digits}f}".rstrip("0").rstrip(".") if value % 1 else f"{value:.0f}"


def amount(value: float | None, unit: str) -> str:
    """A number with its unit in plain words: `500 mA`, `1 hub`."""
    if value is None:
        return NOT_KNOWN
    return f"{figure(value)} {_ONE_OF.get(unit, unit) if value == 1 else UNITS.get(unit, unit)}"


def limit_words(entry: Entry) -> str:
    """The limit of an entry, `between 64 and 254 …` where only a bracket is known, or 'unknown'."""
    if entry.limit is None and entry.bracket is not None:
        low, high = entry.bracket
        return f"between {figure(low)} and {amount(high, entry.unit)}"
    return amount(entry.limit, entry.unit)


def used_words(used: float | None, limit: float | None, bracket: tuple[float, float] | None, unit: str) -> str:
    """What is used of what is allowed: `480 of 500 mA`, `3 endpoints, limit between 64 and 254`."""
    if limit is not None and used is not None:
        return f"{figure(used)} of {amount(limit, unit)}"
    use = f"{amount(used, unit)}" if used is not None else f"use {NOT_KNOWN}"
    if limit is not None:
        return f"{use}, limit {amount(limit, unit)}"
    if bracket is not None:
        return f"{use}, limit between {figure(bracket[0])} and {figure(bracket[1])}"
    return f"{use}, limit {NOT_KNOWN}"


def balance_words(entry: Entry) -> str:
    """What is left, or by how much it is overdrawn."""
    if entry.left is None:
        return NOT_KNOWN
    return f"{amount(abs(entry.left), entry.unit)} {'too much' if entry.left < 0 else 'left'}"


def basis_words(basis: Basis) -> str:
    """How a figure is known."""
    return NOT_KNOWN if basis == "unknown" else basis


def speed_words(device: Device) -> str:
    """`480 Mbit/s (high speed)`; 'speed unknown' where nothing tells."""
    rate = device.mbps if device.mbps is not None else MBPS.get(device.speed) if device.speed else None
    if rate is None:
        return "speed unknown"
    shown = f"{figure(rate / 1000)} Gbit/s" if rate >= 1000 else f"{figure(rate)} Mbit/s"
    return f"{shown} ({_SPEEDS[device.speed]})" if device.speed else shown


def device_words(device: Device) -> str:
    """What to call a device: its plain label, else what it says of itself, else its numbers."""
    own = device.name or device.product
    if own and own.strip():
        return shortened(own.strip(), 80)
    if device.root:
        return f"bus {device.id}"
    kind = "hub" if device.hub is not None else "device"
    return f"{kind} {device.vid or '????'}:{device.pid or '????'}" if device.vid or device.pid else f"unnamed {kind}"


def controller_words(controller: Controller) -> str:
    """`controller 0000:00:14.0 (xHCI)`."""
    kind = {"uhci": "UHCI", "ohci": "OHCI", "ehci": "EHCI", "xhci": "xHCI"}.get(controller.kind, "kind unknown")
    return f"controller {controller.id} ({kind})"


def place_words(where: str, tree: BusTree, budget: str = "") -> str:
    """A place of the ledger or the log in plain words, with its id."""
    base, slash, rest = where.partition("/")
    if slash and rest.startswith("tt"):
        return _translator_words(base, rest[2:], tree)
    if where in tree.controllers:
        return controller_words(tree.controllers[where])
    device = tree.devices.get(tree.place_of(where))
    if device is None:
        return f"socket {where} (empty)" if where in tree.sockets else where
    if device.root:
        return f"bus {where} at {speed_words(device)}"
    if budget in ("port_current", "hub_depth"):
        return f"socket {where} ({device_words(device)})"
    return f"{device_words(device)} ({where})"


def _translator_words(hub: str, port: str, tree: BusTree) -> str:
    device = tree.devices.get(hub)
    if device is not None and device.root:
        bus = hub.removeprefix("usb")
        return (
            f"socket {bus}-{port} of the controller" if port else f"translator built into the controller of bus {bus}"
        )
    name = f"{device_words(device)} ({hub})" if device is not None else f"hub {hub}"
    return f"translator of socket {port} of {name}" if port else f"translator of {name}"


def user_words(who: str, tree: BusTree) -> str:
    """Who uses part of a budget."""
    device = tree.devices.get(who)
    return f"{device_words(device)} ({who})" if device is not None and not device.root else who


def text_or(texts: Texts, key: str, fallback: str) -> str:
    """The prose for a key, or the bare word with its underscores opened, so that nothing new is hidden."""
    return texts.get(key) or fallback.replace("_", " ")


def answer_words(observation: str, value: Any, texts: Texts) -> str:
    """An answer as its user would say it; words this version does not know stand as they came."""
    if isinstance(value, list | tuple):
        return ", ".join(answer_words(observation, part, texts) for part in value) or NOT_KNOWN
    if value is None or value == NOT_KNOWN:
        return NOT_KNOWN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return figure(float(value), 3)
    if not isinstance(value, str):
        return shortened(str(value))
    label = texts.get(f"observation.{observation}.value.{value}") or _RESULTS.get(value)
    return label or shortened(value.replace("_", " "))
