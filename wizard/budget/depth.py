"""How many external hubs hang in series below each occupied socket of the PC."""

from wizard.budget.entry import Entry, Part, state_of
from wizard.budget.limits import HUBS_IN_SERIES
from wizard.budget.scope import Scope
from wizard.bus.model import Device
from wizard.bus.tree import BusTree


def depth_entries(tree: BusTree, scope: Scope) -> tuple[Entry, ...]:
    """`hub_depth` of every occupied root socket, in natural order."""
    return tuple(
        _depth(tree, device)
        for root in tree.root_hubs
        if scope.covers(root.id)
        for device in tree.children(root.id)
        if scope.covers(device.id)
    )


def _depth(tree: BusTree, plugged: Device) -> Entry:
    longest: list[Device] = []
    for device in (plugged, *tree.below(plugged.id)):
        chain = [d for d in tree.path(device.id) if d.hub is not None and not d.root]
        if len(chain) > len(longest):
            longest = chain
    return Entry(
        budget="hub_depth",
        where=plugged.id,
        used=float(len(longest)),
        limit=HUBS_IN_SERIES.value,
        unit="hubs",
        state=state_of(len(longest), HUBS_IN_SERIES.value),
        basis="measured",
        limit_basis="declared",
        source=HUBS_IN_SERIES.source,
        parts=tuple(Part(who=d.id, used=1) for d in reversed(longest)),
    )
