"""What is known about one case, in the words of the rulebook, and whether a condition holds.

Three answers exist: true, false, and not known. An `unknown` answer, a value of the wrong shape or a
budget without a limit is not known; it is never taken for false.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from wizard.budget.entry import Entry, State
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign
from wizard.bus.tree import BusTree
from wizard.diagnosis.measured import measured_observations
from wizard.diagnosis.measured_signs import observations_of_signs
from wizard.diagnosis.rulebook import UNKNOWN, Condition

_WORST_FIRST: tuple[State, ...] = ("over", "unknown", "tight", "room")


@dataclass(frozen=True)
class Facts:
    """Everything the rules may look at. `symptoms` starts with the worst one; `measured` names the observations
    that the program filled in by itself; `ledger` and `signs` hold what concerns the subject; `platform` is the system
    of the PC, where it is known."""

    symptoms: tuple[str, ...]
    subject: tuple[str, ...] = ()
    observations: Mapping[str, Any] = field(default_factory=dict)
    measured: frozenset[str] = frozenset()
    signs: tuple[Sign, ...] = ()
    signs_known: bool = False
    ledger: tuple[Entry, ...] = ()
    platform: str | None = None

    def with_answer(self, observation: str, value: Any) -> "Facts":
        """The facts if that answer were given."""
        return replace(self, observations={**self.observations, observation: value})

    def words(self, observation: str) -> tuple[str, ...]:
        """The words of an observation; empty where it is not known or not made of words."""
        value = self.observations.get(observation)
        if value is None:
            return ()
        values = value if isinstance(value, list | tuple) else (value,)
        return tuple(v for v in values if isinstance(v, str) and v != UNKNOWN)

    def number(self, observation: str) -> float | None:
        """The number of an observation, or None where it is not known, no number, or less than nothing."""
        value = self.observations.get(observation)
        if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
            return None
        return float(value) if value >= 0 else None

    def holds(self, condition: Condition) -> bool | None:
        """Whether a condition is true of the case; None where that is not known."""
        if condition.observation is not None:
            return self._observed(condition)
        if condition.ledger is not None:
            return self._reckoned(condition)
        if condition.sign:
            seen = sum(s.count for s in self.signs if s.kind in condition.sign)
            return True if seen >= (condition.at_least or 1) else False if self.signs_known else None
        if condition.platform:
            return None if self.platform is None else self.platform in condition.platform
        return any(s in condition.symptom for s in self.symptoms)

    def _reckoned(self, condition: Condition) -> bool | None:
        entries = self.entries(condition)
        if condition.beyond is not None:
            known = [over for e in entries if (over := is_beyond(e, condition.beyond)) is not None]
            return any(known) if known else None
        state = worst_state(entries)
        if state in (None, "unknown") or (state == "tight" and not self.subject):
            # Without a subject some entry is always tight somewhere: a full socket of a built-in camera, say.
            return None
        return state in condition.state

    def _observed(self, condition: Condition) -> bool | None:
        name = condition.observation or ""
        if condition.any_of:
            value = self.observations.get(name)
            if isinstance(value, str):  # nearly always
                return None if value == UNKNOWN else value in condition.any_of
            words = self.words(name)
            return any(w in condition.any_of for w in words) if words else None
        number = self.number(name)
        if number is None:
            return None
        low = condition.at_least is None or number >= condition.at_least
        return low and (condition.at_most is None or number <= condition.at_most)

    def entries(self, condition: Condition) -> tuple[Entry, ...]:
        """Ledger entries a condition speaks of."""
        return tuple(
            e for e in self.ledger if e.budget == condition.ledger and condition.place in (None, place_kind(e.where))
        )


def place_kind(where: str) -> str:
    """`translator`, `bus` or `socket`, read from the id of a place."""
    if "/tt" in where:
        return "translator"
    return "bus" if where.startswith("usb") else "socket"


def beside(entry: Entry, figure: Literal["peak", "if_full"]) -> float | None:
    """That figure beside an entry, in the entry's unit."""
    return entry.peak if figure == "peak" else entry.if_full


def is_beyond(entry: Entry, figure: Literal["peak", "if_full"]) -> bool | None:
    """Whether that figure beside an entry is more than its limit; None where one of them is not known."""
    value = beside(entry, figure)
    return None if value is None or entry.limit is None else value > entry.limit


def worst_state(entries: Iterable[Entry]) -> State | None:
    """The worst state among entries; `unknown` hides everything but `over`; None if there are none."""
    states = {e.state for e in entries}
    return next((s for s in _WORST_FIRST if s in states), None)


def gather_facts(
    symptoms: tuple[str, ...],
    observations: Mapping[str, Any],
    subject: tuple[str, ...] = (),
    snapshot: Snapshot | None = None,
    ledger: tuple[Entry, ...] = (),
    signs: tuple[Sign, ...] = (),
    signs_known: bool = False,
    setup: Setup | None = None,
    platform: str | None = None,
) -> Facts:
    """Facts of one case. What the user said stands before what was measured; entries and signs that belong to
    other places than the subject's are left out; without a subject, all count."""
    tree = BusTree(snapshot or Snapshot())
    known_subject = tuple(s for s in subject if s in tree.devices)
    measured: dict[str, Any] = {
        **measured_observations(tree, known_subject, setup or Setup()),
        **observations_of_signs(tree, known_subject, signs),
    }
    filled = {k: v for k, v in measured.items() if k not in observations}
    places = _places(tree, known_subject)
    return Facts(
        symptoms=symptoms,
        subject=known_subject,
        observations={**filled, **observations},
        measured=frozenset(filled),
        signs=tuple(s for s in signs if places is None or _sign_concerns(s, tree, places)),
        signs_known=signs_known or bool(signs),
        ledger=tuple(e for e in ledger if places is None or _base(e.where) in places),
        platform=platform,
    )


def _base(where: str) -> str:
    return where.split("/", 1)[0]


def _places(tree: BusTree, subject: tuple[str, ...]) -> frozenset[str] | None:
    """Ids on the way from the subject up to its controller; None without a subject."""
    if not subject:
        return None
    places: set[str] = set()
    for device in subject:
        path = tree.path(device)
        places.update(d.id for d in path)
        controller = tree.controller_of(device)
        if controller is not None:
            places.add(controller.id)
    peers = {s.peer for p in places if (s := tree.sockets.get(p)) is not None and s.peer is not None}
    return frozenset(places | peers)


def _drive_at(where: str, tree: BusTree) -> str | None:
    """The device behind a disk (`sda`), an adapter (`host4`) or a SCSI address (`4:0:0:0`), where that is known."""
    host = f"host{where.partition(':')[0]}" if ":" in where else where
    return next((d.id for d in tree.devices.values() if where in d.disks or host in d.scsi_hosts), None)


def _sign_concerns(sign: Sign, tree: BusTree, places: frozenset[str]) -> bool:
    """A sign is left out only if it names another known device or socket for certain."""
    where = _drive_at(sign.where, tree) or tree.place_of(sign.where)
    if where in places:
        return True
    below = any(where.startswith((f"{p}.", f"{p}-")) for p in places if "-" in p)
    elsewhere = where in tree.devices or where in tree.sockets or where in tree.controllers
    return below or not elsewhere
