"""Small things that hold a budget where plugs can stay: a stronger supply for a hub, another cable, an extension for a
receiver. Each is a specification computed from the need, and what would then be told of the desk. Knows no search.
"""

from collections.abc import Iterator
from math import ceil, floor

from wizard.budget.cable import OHM_PER_M, drop_v
from wizard.budget.entry import Entry
from wizard.budget.setup import Cable, Setup
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.purchases import MARGIN, Helper

AWAY_M = 0.2
"""An extension that takes a receiver away from the PC's fast sockets: common practice (no source); that distance is
what helps says the white paper 327216-001 (April 2012, second-hand)."""

SHORTEST_M = 0.5
"""No cable on sale is much shorter: common practice (no source)."""


def accessories(desk: Desk, ledger: tuple[Entry, ...]) -> tuple[tuple[Helper, ...], Setup]:
    """All that is called for, and what is told of the desk once they are there; the same setup where nothing is."""
    setup = desk.setup
    found: list[Helper] = []
    for supply in _supplies(desk, ledger):
        found.append(supply)
        setup = setup.model_copy(
            update={"supplies_ma": {**setup.supplies_ma, supply.at or "": float(supply.supply_ma or 0)}}
        )
    for cable in _cables(setup, ledger):
        found.append(cable)
        run = Cable(m=cable.cable_m, awg=cable.gauge)
        setup = setup.model_copy(update={"cables": {**setup.cables, cable.at or "": run}})
    for extension, pair in _extensions(desk):
        found.append(extension)
        setup = setup.model_copy(update={"apart": tuple(p for p in setup.apart if p != pair)})
    return tuple(found), setup


def _supplies(desk: Desk, ledger: tuple[Entry, ...]) -> Iterator[Helper]:
    """For hubs that have a supply of their own, and too small a one."""
    for entry in ledger:
        if entry.budget == "hub_supply" and entry.state == "over" and desk.setup.supplies_ma.get(entry.where):
            amount = ceil((entry.used or 0.0) * MARGIN / 500) * 500
            yield Helper(id=f"supply {entry.where}", kind="supply", spend="low", at=entry.where, supply_ma=amount)


def _cables(setup: Setup, ledger: tuple[Entry, ...]) -> Iterator[Helper]:
    """A run as long as it may be and no longer than it is, with wires as thin as they may be."""
    over = {(e.budget, e.where): e for e in ledger if e.state == "over"}
    for where in sorted({where for budget, where in over if budget in ("cable", "voltage")}):
        told = setup.cables[where]
        too_long = over.get(("cable", where))
        longest = told.m or 0.0
        if too_long is not None and too_long.limit is not None:
            longest = min(longest, too_long.limit)
        metres, gauge = _run(floor(longest * 10) / 10, told.awg, over.get(("voltage", where)))
        yield Helper(id=f"cable {where}", kind="cable", spend="low", at=where, cable_m=metres, gauge=gauge)


def _run(metres: float, gauge: int | None, voltage: Entry | None) -> tuple[float, int | None]:
    """Length and gauge that lose little enough; the thickest wire there is and a shorter run where none does."""
    if voltage is None or gauge is None or voltage.limit is None or not voltage.used:
        return metres, gauge
    told = drop_v(1.0, gauge, 1000.0)
    if told is None:
        return metres, gauge
    lost = drop_v(metres, gauge, 1000.0) or 0.0
    allowed = lost * voltage.limit / voltage.used if lost else 0.0
    thickest = min(OHM_PER_M)
    for awg in sorted((a for a in OHM_PER_M if a <= gauge), reverse=True):
        if (drop_v(metres, awg, 1000.0) or 0.0) <= allowed:
            return metres, awg
    while metres > SHORTEST_M and (drop_v(metres, thickest, 1000.0) or 0.0) > allowed:
        metres = round(metres - 0.1, 1)
    return metres, thickest


def _extensions(desk: Desk) -> Iterator[tuple[Helper, tuple[str, str]]]:
    """For pairs to keep apart that sit side by side: the first of the two goes on a lead of its own."""
    for pair in desk.setup.apart:
        one, other = (desk.plugs.get(desk.plug_of.get(device, "")) for device in pair)
        if one is None or other is None or desk.places[one.at].strip != desk.places[other.at].strip:
            continue
        lead = Helper(id=f"extension {one.id}", kind="extension", spend="low", at=one.id, cable_m=AWAY_M)
        yield lead, pair
