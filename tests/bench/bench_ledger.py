"""How long the ledger of a very full machine takes, and a what-if on it. Run in tests/: `python -m bench.bench_ledger`.

The machine is made here: 8 xHCI controllers with 127 devices each, hubs in hubs, invented. Targets are the project's
own: the whole ledger in 150 ms, one what-if in 5 ms. Beside both stands a plain pass over the same objects: every
field that a budget reads, read once. `--profile` lists where the time goes instead.
"""

import cProfile
import pstats
import sys
import time
from collections.abc import Callable
from functools import partial
from statistics import median

from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.ledger import build_ledger
from wizard.budget.what_if import Add, Bench, Change, Move, Remove
from wizard.bus.model import Alternate, Controller, Device, Endpoint, Interface, Snapshot, Socket

CONTROLLERS, DEVICES, PORTS, RUNS = 8, 127, 7, 15


def made(controllers: int = CONTROLLERS, devices: int = DEVICES) -> Snapshot:
    """A machine with so many controllers, and so many devices on each of them."""
    parts: list[Controller | Device | Socket] = []
    for number in range(controllers):
        parts += _bus(number, devices)
    return snapshot(*parts)


def _bus(number: int, devices: int) -> list[Controller | Device | Socket]:
    """A controller, its two root hubs and what hangs on the USB 2 one: hubs in the first socket of each hub.

    Every hub has its last socket free.
    """
    bus, above = 2 * number + 1, f"0000:{number:02x}:14.0"
    own = [controller(above), root(bus, "high", above, PORTS), root(bus + 1, "super", above, PORTS)]
    sockets = _sockets(f"usb{bus}", f"{bus}-", f"{bus + 1}-") + _sockets(f"usb{bus + 1}", f"{bus + 1}-", f"{bus}-")
    found: list[Device] = []
    free = [f"{bus}-{port}" for port in range(1, PORTS)]
    while len(found) < devices:
        where = free.pop(0)
        if len(free) < devices - len(found) and where.count(".") < 4 and where.endswith(("1", "2", "3")):
            found.append(hub(where, ports=PORTS, interfaces=_interfaces(interrupt(1))))
            sockets += _sockets(where, f"{where}.", None)
            free += [f"{where}.{port}" for port in range(1, PORTS)]
        else:
            found.append(_device(where, len(found)))
    return [*own, *sockets, *found]


def _sockets(hub_id: str, prefix: str, peer: str | None) -> list[Socket]:
    ports = range(1, PORTS + 1)
    return [Socket(id=f"{prefix}{p}", hub=hub_id, peer=f"{peer}{p}" if peer else None) for p in ports]


def _device(where: str, number: int) -> Device:
    """A control, a sound interface, a slow control, a camera or a measuring device, in turn."""
    kind = number % 5
    if kind == 0:
        return device(where, "full", 100, interfaces=_interfaces(interrupt(64, 1000), interrupt(64, 1000, 0x02)))
    if kind == 1:
        return device(where, "full", 250, interfaces=_interfaces(iso(192), iso(192, address=0x03)))
    if kind == 2:
        return device(where, "low", 100, interfaces=_interfaces(interrupt(8, 10_000)))
    if kind == 3:
        pictures = [iso(size, 125, transactions=n) for size in (128, 512, 1024) for n in (1, 2)]
        return device(where, "high", 500, interfaces=_interfaces(*pictures, silent=True))
    return device(
        where,
        "high",
        300,
        interfaces=_interfaces(interrupt(16, 4000), Endpoint(address=0x02, type="bulk", max_packet=512)),
    )


def _interfaces(*endpoints: Endpoint, silent: bool = False) -> tuple[Interface, ...]:
    """One interface: all endpoints in one setting, or each in a setting of its own after a silent one."""
    if not silent:
        settings = [Alternate(number=0, endpoints=endpoints)]
    else:
        settings = [Alternate(number=0), *(Alternate(number=n, endpoints=(e,)) for n, e in enumerate(endpoints, 1))]
    return (Interface.model_validate({"number": 0, "class": 3, "active_alternate": 0, "alternates": settings}),)


def plain_pass(seen: Snapshot) -> int:
    """Every field a budget reads, read once."""
    total = len(seen.sockets) + len(seen.controllers)
    for one in seen.devices:
        total += (one.max_power_ma or 0) + (one.parent is None) + (one.speed is None) + (one.hub is None)
        for interface in one.interfaces:
            total += interface.active_alternate or 0
            for setting in interface.alternates:
                for e in setting.endpoints:
                    total += e.max_packet * e.transactions * e.burst + e.interval_us + e.address + (e.type == "bulk")
    return total


def changes(seen: Snapshot) -> dict[str, Change]:
    """One what-if of each sort, between the first two controllers."""
    plugged = next(d for d in seen.devices if d.id.startswith("1-") and d.hub is None and "." in d.id)
    chain = next(d for d in seen.devices if d.id.startswith("1-") and d.hub is not None and d.id.count(".") == 1)
    free = f"3-{PORTS}"
    return {
        "add a device": Add(_device("new", 1), free),
        "remove a device": Remove(plugged.id),
        "move a device to another controller": Move(plugged.id, free),
        "move a hub with all below it": Move(chain.id, free),
    }


def median_ms(work: Callable[[], object], runs: int = RUNS) -> float:
    """Milliseconds of processor time of the median run, after one that does not count; others may keep the PC busy."""
    times = []
    for _ in range(runs + 1):
        begin = time.process_time()
        work()
        times.append(1000 * (time.process_time() - begin))
    return median(times[1:])


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def _profiled(title: str, work: Callable[[], object]) -> None:
    _say(f"--- {title}")
    profile = cProfile.Profile()
    profile.enable()
    for _ in range(5):
        work()
    profile.disable()
    pstats.Stats(profile, stream=sys.stdout).sort_stats("tottime").print_stats(20)


def main() -> None:
    """Measure and print."""
    seen = made()
    bench = Bench.of(seen)
    works = {"the whole ledger": (partial(build_ledger, seen), 150)}
    works |= {title: (partial(bench.tried, change), 5) for title, change in changes(seen).items()}
    if "--profile" in sys.argv:
        for title, (work, _) in works.items():
            _profiled(title, work)
        return
    plain = median_ms(partial(plain_pass, seen))
    _say(f"{len(seen.controllers)} controllers, {len(seen.devices)} devices, {len(bench.ledger)} entries")
    _say(f"{'one plain pass':<40}{plain:8.2f} ms")
    for title, (work, target) in works.items():
        took = median_ms(work)
        _say(f"{title:<40}{took:8.2f} ms   {took / plain:6.1f} plain passes   (target {target} ms)")


if __name__ == "__main__":
    main()
