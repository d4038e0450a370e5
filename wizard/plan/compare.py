"""Before and after: what went, came, moved or changed speed between two looks, and what the budgets did."""

from collections.abc import Mapping

from wizard.budget.entry import Entry, State
from wizard.bus.document import Document
from wizard.bus.model import MBPS, Device, Snapshot
from wizard.bus.sign import Sign
from wizard.bus.tree import natural_key
from wizard.plan.identity import are_two_machines, pair_devices

TWO_MACHINES = (
    "These are looks at two different computers: no controller of the first is in the second, or their boards differ. "
    "What differs below is not what changed."
)

_LONGEST_NAME = 80
"""Characters of a name within a sentence: common practice (no source)."""


class DeviceRef(Document):
    """One device in a comparison; `was` and `now` are ids, `mbps_was` and `mbps_now` its rates."""

    name: str
    was: str | None = None
    now: str | None = None
    mbps_was: float | None = None
    mbps_now: float | None = None


class BudgetChange(Document):
    """One budget at one place in both looks; None where the place is missing in that look.

    `name_was` and `name_now` are what hangs at the place, where it has a name; brackets are those of `Entry`.
    `users_gone` names the devices, hubs aside, that used it in the first look and are not in the second.
    """

    budget: str
    where: str
    unit: str
    used_was: float | None = None
    used_now: float | None = None
    limit_was: float | None = None
    limit_now: float | None = None
    bracket_was: tuple[float, float] | None = None
    bracket_now: tuple[float, float] | None = None
    name_was: str | None = None
    name_now: str | None = None
    users_gone: tuple[str, ...] = ()
    state_was: State | None = None
    state_now: State | None = None


class Comparison(Document):
    """Two looks side by side. Lists are in natural order of ids. `two_machines` where they surely are of two
    computers; `notes` are sentences for people."""

    gone: tuple[DeviceRef, ...] = ()
    new: tuple[DeviceRef, ...] = ()
    moved: tuple[DeviceRef, ...] = ()
    faster: tuple[DeviceRef, ...] = ()
    slower: tuple[DeviceRef, ...] = ()
    budgets: tuple[BudgetChange, ...] = ()
    new_signs: tuple[Sign, ...] = ()
    two_machines: bool = False
    notes: tuple[str, ...] = ()

    @property
    def relieved(self) -> tuple[BudgetChange, ...]:
        """Budgets that were over and no longer are."""
        return tuple(b for b in self.budgets if b.state_was == "over" and b.state_now != "over")

    @property
    def overdrawn_now(self) -> tuple[BudgetChange, ...]:
        """Budgets that are over in the second look."""
        return tuple(b for b in self.budgets if b.state_now == "over")


def compare_looks(
    before: Snapshot,
    after: Snapshot,
    ledger_before: tuple[Entry, ...] = (),
    ledger_after: tuple[Entry, ...] = (),
    signs_before: tuple[Sign, ...] = (),
    signs_after: tuple[Sign, ...] = (),
) -> Comparison:
    """What happened from one look to the next. Root hubs are left out: they belong to the machine."""
    pairs, gone, new = pair_devices(before.devices, after.devices)
    two = are_two_machines(before, after)
    refs = [(_ref(was, now), rate_of(was), rate_of(now)) for was, now in pairs]
    return Comparison(
        gone=tuple(DeviceRef(name=label(d), was=d.id, mbps_was=rate_of(d)) for d in gone),
        new=tuple(DeviceRef(name=label(d), now=d.id, mbps_now=rate_of(d)) for d in new),
        moved=tuple(ref for ref, _, _ in refs if ref.was != ref.now),
        faster=tuple(ref for ref, was, now in refs if was is not None and now is not None and now > was),
        slower=tuple(ref for ref, was, now in refs if was is not None and now is not None and now < was),
        budgets=_budget_changes(ledger_before, ledger_after, named(before), named(after), _lost(gone)),
        new_signs=_new_signs(signs_before, signs_after),
        two_machines=two,
        notes=(TWO_MACHINES,) if two else (),
    )


def _ref(was: Device, now: Device) -> DeviceRef:
    return DeviceRef(name=label(now), was=was.id, now=now.id, mbps_was=rate_of(was), mbps_now=rate_of(now))


def rate_of(device: Device) -> float | None:
    """Signalling rate in Mbit/s: as reported, else by the speed's name; None if neither is known."""
    if device.mbps is not None:
        return device.mbps
    return MBPS[device.speed] if device.speed is not None else None


def label(device: Device) -> str:
    """A name for people; untrusted text."""
    ids = f"{device.vid}:{device.pid}" if device.vid and device.pid else None
    return device.name or device.product or ids or device.id


def named(snapshot: Snapshot) -> dict[str, str]:
    """What each device is called, by id, where it has a name at all; root hubs have none. Untrusted text, cut to the
    length that fits into a sentence."""
    return {d.id: name[:_LONGEST_NAME] for d in snapshot.devices if not d.root and (name := label(d)) != d.id}


def _lost(gone: tuple[Device, ...]) -> dict[str, str]:
    """Names of the devices that are gone, by id. A hub that is gone was exchanged or bypassed, which is a fix."""
    return {d.id: label(d) for d in gone if d.hub is None}


def _budget_changes(
    before: tuple[Entry, ...],
    after: tuple[Entry, ...],
    names_before: Mapping[str, str],
    names_after: Mapping[str, str],
    lost: Mapping[str, str],
) -> tuple[BudgetChange, ...]:
    """Budgets that are over or tight in either look, or that changed."""
    was_at = {(e.budget, e.where): e for e in before}
    now_at = {(e.budget, e.where): e for e in after}
    changes = []
    for key in sorted(was_at.keys() | now_at.keys(), key=lambda k: (k[0], natural_key(k[1]))):
        was, now = was_at.get(key), now_at.get(key)
        base = key[1].partition("/")[0]
        users = dict.fromkeys(part.who for part in was.parts) if was is not None else {}
        change = _budget_change(key, was, now).model_copy(
            update={
                "name_was": names_before.get(base) if was is not None else None,
                "name_now": names_after.get(base) if now is not None else None,
                "users_gone": tuple(lost[who] for who in users if who in lost),
            }
        )
        changed = (change.used_was, change.limit_was, change.state_was) != (
            change.used_now,
            change.limit_now,
            change.state_now,
        )
        if changed or change.state_was in ("over", "tight"):
            changes.append(change)
    return tuple(changes)


def _budget_change(key: tuple[str, str], was: Entry | None, now: Entry | None) -> BudgetChange:
    either = now or was
    return BudgetChange(
        budget=key[0],
        where=key[1],
        unit=either.unit if either is not None else "",
        used_was=was.used if was is not None else None,
        used_now=now.used if now is not None else None,
        limit_was=was.limit if was is not None else None,
        limit_now=now.limit if now is not None else None,
        bracket_was=was.bracket if was is not None else None,
        bracket_now=now.bracket if now is not None else None,
        state_was=was.state if was is not None else None,
        state_now=now.state if now is not None else None,
    )


def _new_signs(before: tuple[Sign, ...], after: tuple[Sign, ...]) -> tuple[Sign, ...]:
    """Signs of a kind and place not seen before, or seen more often now."""
    counted: dict[tuple[str, str], int] = {}
    for sign in before:
        counted[sign.kind, sign.where] = counted.get((sign.kind, sign.where), 0) + sign.count
    fresh = [s for s in after if s.count > counted.get((s.kind, s.where), 0)]
    return tuple(sorted(fresh, key=lambda s: (natural_key(s.where), s.kind)))
