"""What each plug asks of the budgets, wherever it is put: current, endpoints, slots, and mean bus time."""

from dataclasses import dataclass

from wizard.budget.bus_time import bus_speed, service_ns
from wizard.budget.endpoints import endpoints_now
from wizard.budget.periodic import Settings, period_frames, period_microframes, periodic_endpoints
from wizard.budget.splits import split_pieces
from wizard.bus.model import ControllerKind, Device
from wizard.plan.arrange.desk import Desk, Plug


@dataclass(frozen=True)
class Asks:
    """Of one plug. `own_us` is its mean time per slot of its own bus (microframe at high speed, frame below),
    `split_us` what its splits take per microframe of a high-speed bus above a translator."""

    ma: float
    endpoints: int
    slots: int
    high_speed: bool
    own_us: float
    split_us: float


def asks(desk: Desk, plug: Plug, settings: Settings, kind: ControllerKind) -> Asks:
    """What a plug asks below a controller of that kind."""
    devices = [desk.tree.devices[half] for half in plug.halves]
    slow = next((d for d in devices if not d.is_super), None)
    own, split = _time(slow, settings, kind, desk.tree.snapshot.system.os) if slow is not None else (0.0, 0.0)
    return Asks(
        ma=plug.draws_ma or 0.0,
        endpoints=sum(endpoints_now(d) for d in devices),
        slots=len(devices),
        high_speed=slow is not None and slow.speed == "high",
        own_us=own,
        split_us=split,
    )


def _time(device: Device, settings: Settings, kind: ControllerKind, os: str | None) -> tuple[float, float]:
    speed = bus_speed(device.speed)
    own = split = 0.0
    if speed is None:
        return own, split
    for endpoint in periodic_endpoints(device.interfaces, settings, speed, kind, os):
        if speed == "high":
            own += service_ns(speed, endpoint) / 1000 / period_microframes(endpoint, kind, os)
            continue
        frames = period_frames(endpoint, speed, kind, os)
        own += service_ns(speed, endpoint) / 1000 / frames
        split += sum(split_pieces(endpoint, kind)) / 1000 / (8 * frames)
    return own, split
