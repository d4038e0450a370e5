"""The ledger sorted onto the strips: which budgets are a strip's own, and which belong to a single socket.

Knows entries and strips. Judges nothing: the state of an entry is the ledger's.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from wizard.budget.entry import BUDGET_ORDER, Entry, State
from wizard.bus.model import Snapshot
from wizard.desktop.figures import FIGURES
from wizard.desktop.strips import Picture

WORST_FIRST: tuple[State, ...] = ("over", "tight", "unknown", "room")

QUIET_WITH_ROOM = frozenset({"hub_depth", "cable", "slots"})
"""Budgets that a strip shows only where something is the matter with them."""

MOST_BANDS = 3
"""Bands drawn on one strip: common practice (no source). Whoever goes there is told the rest."""

FULL_AT = 0.75
"""Where on a band the limit stands: the rest is for what is too much, and never quite full."""


@dataclass(frozen=True)
class Band:
    """One entry as a band: `fill` is the share of the band that is filled, `limit` where the limit stands, both
    from 0 to 1; None where it is not known. Of a limit that is known as a bracket only, `low` is the lower end and
    `limit` the upper. `before` is where the fill stood before something was tried."""

    entry: Entry
    fill: float | None
    limit: float | None
    low: float | None = None
    before: float | None = None


@dataclass(frozen=True)
class Bands:
    """Entries by key of their strip and by key of their socket, worst first."""

    of_strip: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)
    of_hole: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)

    def at(self, key: str, strip: bool) -> tuple[Entry, ...]:
        """The entries of a strip or of a socket."""
        return (self.of_strip if strip else self.of_hole).get(key, ())


def bands_of(
    picture: Picture, ledger: Iterable[Entry], snapshot: Snapshot, called: Mapping[str, str] | None = None
) -> Bands:
    """Sort a ledger onto a picture of the same snapshot. `called` tells what the picture calls a device that the
    ledger has under another id."""
    names = called or {}
    home = _homes(picture)
    groups = {s.group: s.hub for s in snapshot.sockets if s.group is not None}
    strips: dict[str, list[Entry]] = {}
    holes: dict[str, list[Entry]] = {}
    for entry in ledger:
        base, _, rest = entry.where.partition("/")
        base = names.get(base, base)
        port = rest.removeprefix("tt")
        at = home.get(f"{base}/{port}") if port else None
        at = at or home.get(groups.get(base) or base)
        if at is not None:
            (strips if at[0] else holes).setdefault(at[1], []).append(entry)
    return Bands({k: _sorted(v) for k, v in strips.items()}, {k: _sorted(v) for k, v in holes.items()})


def _homes(picture: Picture) -> dict[str, tuple[bool, str]]:
    """Where the entries of an id belong: (whether to a strip, its key). `hub/port` is one socket of a hub."""
    home: dict[str, tuple[bool, str]] = {}
    for strip in picture.strips.values():
        for place in strip.places:
            home[place] = (True, strip.key)
        for hole in strip.holes:
            for place in strip.places:
                home[f"{place}/{hole.label}"] = (False, hole.key)
            if hole.plug is not None and not (hole.plug.is_hub and hole.plug.key in picture.strips):
                for half in hole.plug.halves:
                    home[half] = (False, hole.key)
    return home


def _sorted(entries: list[Entry]) -> tuple[Entry, ...]:
    return tuple(sorted(entries, key=lambda e: (e.budget in FIGURES, WORST_FIRST.index(e.state), _ORDER[e.budget])))


_ORDER = {budget: place for place, budget in enumerate(BUDGET_ORDER)}


def shown_on_strip(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """The entries that a strip draws as bands: the worst, in the order of the ledger, so that none changes its place
    while a plug is moved about. Bus time at most is left out where it is no more than bus time now."""
    telling = [e for e in entries if e.budget not in FIGURES]
    telling = [e for e in telling if e.state != "room" or e.budget not in QUIET_WITH_ROOM]
    now = {(e.where, e.used, e.state) for e in telling if e.budget == "periodic_time_active"}
    telling = [e for e in telling if e.budget != "periodic_time" or (e.where, e.used, e.state) not in now]
    return tuple(sorted(telling[:MOST_BANDS], key=lambda e: _ORDER[e.budget]))


def worst(entries: Iterable[Entry]) -> State | None:
    """The worst state among budgets that have one; None where there is none."""
    states = {e.state for e in entries if e.budget not in FIGURES}
    return next((s for s in WORST_FIRST if s in states), None)


def band(entry: Entry, before: Entry | None = None) -> Band:
    """An entry as a band."""
    low, limit = (entry.limit, entry.limit) if entry.bracket is None or entry.limit is not None else entry.bracket
    if low is None or limit is None or limit <= 0:
        return Band(entry, None, None)
    bracket = None if low == limit else low / limit * FULL_AT
    if entry.used is None:
        return Band(entry, None, FULL_AT, bracket)
    was = None
    if before is not None and before.used is not None and before.used != entry.used:
        was = _share(before.used, limit)
    return Band(entry, _share(entry.used, limit), FULL_AT, bracket, was)


def _share(used: float, limit: float) -> float:
    """How much of a band is filled: in proportion up to the limit, beyond it ever slower, so that more always shows."""
    return used / limit * FULL_AT if used <= limit else FULL_AT + (1 - FULL_AT) * (1 - limit / used)
