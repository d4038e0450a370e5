"""Reserved bus time: each USB 2 bus and each transaction translator, for the settings in use and the greatest ones.

What is used is the worst frame or microframe of a best-effort schedule; `time_notes` says what the sum alone does not.
"""

from math import fsum
from typing import NamedTuple

from wizard.budget.entry import Entry, Part, state_of
from wizard.budget.places import Place, places_of
from wizard.budget.polling import period_frames, period_microframes
from wizard.budget.reserving import Meeting, Settings, meeting, periodic_endpoints
from wizard.budget.schedule import Load, Schedule, schedule
from wizard.budget.scope import Scope
from wizard.budget.time_notes import finding_words, note_words
from wizard.budget.ways import has_microframes, translator_of
from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key

__all__ = [
    "TIME_BUDGETS",
    "Settings",
    "has_microframes",
    "loads_at",
    "period_frames",
    "period_microframes",
    "periodic_endpoints",
    "periodic_entries",
    "translator_of",
]

TIME_BUDGETS: dict[Settings, str] = {"greatest": "periodic_time", "current": "periodic_time_active"}
"""The budget of bus time for each choice of settings."""


def periodic_entries(tree: BusTree, scope: Scope) -> tuple[Entry, ...]:
    """`periodic_time` and `periodic_time_active` of every USB 2 bus and every translator, in natural order."""
    greatest: list[Entry] = []
    active: list[Entry] = []
    for root in tree.root_hubs:
        if scope.covers(root.id):
            devices = (root, *tree.below(root.id))
            at_most, now = _of_one_bus(tree, devices, scope)
            greatest += at_most
            active += now
    in_order = sorted(range(len(greatest)), key=lambda i: natural_key(greatest[i].where))
    return (*(greatest[i] for i in in_order), *(active[i] for i in in_order))


def _of_one_bus(tree: BusTree, devices: tuple[Device, ...], scope: Scope) -> tuple[list[Entry], list[Entry]]:
    """The entries of a bus and its translators: at the greatest settings, and now; both for the same places."""
    places = places_of(tree, devices)
    wanted = [where for where in places if scope.covers(where)]
    met = meeting(tree, devices, places)
    greatest = [_remembered_entry(tree, places[w], met, "greatest") for w in wanted]
    now = [_remembered_entry(tree, places[w], met, "current") for w in wanted]
    active = [_with_guess(n, g) if n.where in met.guessed else n for n, g in zip(now, greatest, strict=True)]
    return greatest, active


def _with_guess(now: Entry, greatest: Entry) -> Entry:
    """An entry for the settings in use where some are not known: a state only if the greatest settings agree."""
    if now.used is None or greatest.used is None or now.state == "over" or now.used == greatest.used:
        return now
    told = (
        f"Which settings are in use is not known here; at least {now.used:g} and at most {greatest.used:g} {now.unit}"
    )
    note = f"{now.note}. {told}" if now.note else told
    if now.state == greatest.state:
        return now.model_copy(update={"basis": "assumed", "note": note})
    return now.model_copy(
        update={"used": None, "state": "unknown", "basis": "assumed", "note": note, "parts": (), "mean_frame_us": None,
                "mean_frame_exact_us": None}
    )  # fmt: skip


def loads_at(tree: BusTree, where: str, settings: Settings) -> list[Load]:
    """The loads that meet at one bus or translator; empty for a place that is not there."""
    root = tree.root_of(where.split("/", 1)[0])
    if root is None:
        return []
    devices = [root, *tree.below(root.id)]
    return meeting(tree, devices, places_of(tree, devices)).loads[settings].get(where, [])


class _Plan(NamedTuple):
    """The loads of a place in natural order, their schedule, and the parts of its worst slot."""

    loads: list[Load]
    schedule: Schedule
    parts: tuple[Part, ...]


def _planned(loads: list[Load]) -> _Plan:
    ordered = sorted(loads, key=lambda load: (natural_key(load.who), load.endpoint))
    plan = schedule(ordered)
    parts = tuple(
        Part(who=load.who, endpoint=load.endpoint, used=ns / 1000, ns=load.service_ns)
        for load, ns in zip(ordered, plan.in_worst_ns, strict=True)
    )
    return _Plan(ordered, plan, parts)


def _remembered_entry(tree: BusTree, place: Place, met: Meeting, settings: Settings) -> Entry:
    """The entry of a place; the same one again as long as the same loads meet there."""
    loads = met.loads[settings][place.where]
    incomplete = place.where in met.unread
    who = tuple(map(id, loads))
    key = (settings, place.where, place.kind, place.think_ns, place.note, incomplete, who)
    known = tree.remembered.get(key)
    if known is None:
        plan = tree.remembered.get(who)
        if plan is None:
            plan = tree.remembered[who] = _planned(loads)
        known = tree.remembered[key] = _entry(TIME_BUDGETS[settings], place, plan, incomplete)
    entry: Entry = known
    return entry


def _entry(budget: str, place: Place, plan: _Plan, incomplete: bool) -> Entry:
    used = plan.schedule.worst_ns / 1000
    state = state_of(used, place.limit.value)
    base = {
        "budget": budget,
        "where": place.where,
        "limit": place.limit.value,
        "unit": place.unit,
        "limit_basis": "declared",
        "source": f"bus time by USB 2.0 §5.11.3; limit {place.limit.source}",
    }
    if incomplete and state != "over":
        note = f"At least {used:g} {place.unit}: a device here could not be read"
        return Entry.model_validate({**base, "used": None, "state": "unknown", "basis": "unknown", "note": note})
    mean = mean_exact = None
    if budget == TIME_BUDGETS["current"]:
        per_frame = 8 if place.microframes else 1
        mean = fsum(x.booked_us * per_frame / x.period for x in plan.loads)
        mean_exact = fsum(x.service_ns / 1000 * per_frame / x.period for x in plan.loads)
    return Entry.model_validate(
        {
            **base,
            "used": used,
            "state": state,
            "basis": "unknown" if incomplete else "declared",
            "parts": plan.parts,
            "note": note_words(place, plan.loads, plan.schedule),
            "finding": finding_words(place, plan.loads, plan.schedule) if mean is None else None,
            "mean_frame_us": mean,
            "mean_frame_exact_us": mean_exact,
        }
    )
