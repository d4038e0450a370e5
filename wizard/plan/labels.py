"""Labels to put on sockets, so that what was put right stays right: 'rear 3: sound only', 'rear 4: leave free'.

Pure: from a desk, and the option of the planner that was carried out on it, to one label for every socket that can be
reached. What stands on a label is a key of the texts (`arrange.label.*`); words are for the report.
"""

from collections import Counter
from collections.abc import Iterable
from typing import Literal

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.document import Document
from wizard.bus.model import Snapshot
from wizard.bus.tree import natural_key
from wizard.plan.arrange.desk import Desk, Place, Plug, survey
from wizard.plan.arrange.held import must_hold
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.moves import memory_of
from wizard.plan.arrange.options import Option
from wizard.plan.arrange.purchases import BOX, with_helper

Advice = Literal["only", "as_is", "leave_free", "free", "free_usb2", "free_usb3", "free_small"]


class Label(Document):
    """One socket. `socket` is its id now; `side` is rear, front or the like, None where that is not known, and of a
    hub its id; `number` counts along it. `kind` is what belongs there (`sound`, `drive`, `hub` …), None for nothing.
    `advice`: `only` that, because a budget it takes from is nearly used up or it was put there on purpose; `as_is`;
    `leave_free`, because one more would share a budget that is nearly used up; `free_usb2` and `free_usb3` by what its
    wires carry, `free` where that is not known, `free_small` on a hub whose
    supply is not known or which has none."""

    socket: str
    hub: str | None
    side: str | None
    number: int
    kind: str | None
    device: str | None
    advice: Advice


def socket_labels(snapshot: Snapshot, setup: Setup, option: Option | None = None) -> tuple[Label, ...]:
    """A label for every socket, those of the PC first, once an option is carried out; without one, as it is now."""
    desk = survey(snapshot, setup)
    for helper in option.adds if option is not None else ():
        desk = with_helper(desk, helper.kind)
    arrangement = as_it_is(desk)
    for move in option.moves if option is not None else ():
        arrangement[move.device] = move.to or arrangement[move.device]
    layout = Layout(desk, arrangement)
    scarce = [e for e in build_ledger(layout.snapshot, layout.setup) if e.state in ("tight", "over") and _counts(e)]
    moved = {plug for plug, at in arrangement.items() if desk.plugs[plug].at != at}
    taken = {at: desk.plugs[plug] for plug, at in arrangement.items()}
    count: Counter[tuple[str | None, str | None]] = Counter()
    labels = []
    for place in sorted(desk.places.values(), key=lambda p: (not p.on_root, natural_key(p.id))):
        if not place.open:
            continue  # built in, out of reach, or the box that something new came in
        hub = None if place.on_root else place.hub
        count[hub, place.where] += 1
        number = count[hub, place.where] if hub is None else int(place.port)
        labels.append(_label(desk, layout, place, taken.get(place.id), scarce, moved, number))
    return tuple(labels)


def _counts(entry: Entry) -> bool:
    return must_hold(entry, "current") and entry.budget not in ("port_current", "hub_depth", "link_rate")


def _label(
    desk: Desk, layout: Layout, place: Place, plug: Plug | None, scarce: Iterable[Entry], moved: set[str], number: int
) -> Label:
    if plug is None:
        shared = _shares(desk, layout, place)
        advice: Advice = "leave_free" if any(e.where in shared for e in scarce) else _free(desk, place)
        kind = None
    else:
        new = {layout.new_id.get(half) for half in plug.halves}
        tight = any(part.who in new for e in scarce for part in e.parts)
        advice = "only" if not plug.is_hub and (tight or plug.id in moved) else "as_is"
        kind = "hub" if plug.is_hub else memory_of(desk, plug.id)
    return Label(
        socket=place.id,
        hub=None if place.on_root else place.hub,
        side=place.where,
        number=number,
        kind=kind,
        device=None if plug is None else plug.id,
        advice=advice,
    )


def _free(desk: Desk, place: Place) -> Advice:
    """For what a free socket is good, as far as that is known."""
    outside = not place.on_root
    bought = place.hub.startswith(f"{BOX}-")
    if outside and not bought and desk.setup.supplies_ma.get(place.hub) is None:
        return "free_small"
    told = desk.tree.sockets.get(place.id)
    generation = told.generation if told is not None else None
    if place.fast is not None or generation == "usb3":
        return "free_usb3"
    return "free_usb2" if generation == "usb2" or outside else "free"


def _shares(desk: Desk, layout: Layout, place: Place) -> set[str]:
    """Places in the ledger that whatever is plugged in here would take from."""
    half = layout.name(place, place.slow) or layout.name(place, place.fast) or place.id
    port = half.replace("-", ".").rsplit(".", 1)[-1]
    hub = half.rsplit(".", 1)[0] if "." in half else f"usb{half.split('-', 1)[0]}"
    found = {hub, f"{hub}/tt", f"{hub}/tt{port}", place.group or hub}
    root = f"usb{half.split('-', 1)[0]}"
    controller = desk.tree.devices[root].parent if root in desk.tree.devices else None
    return found | {root} | ({controller} if controller is not None else set())
