"""One line of the ledger: a budget at a place, what is used, what is allowed, and how that is known."""

from typing import Literal

from wizard.bus.document import Document

State = Literal["over", "tight", "room", "unknown"]
Basis = Literal["measured", "declared", "assumed", "unknown"]

BUDGET_ORDER = (
    "port_current",
    "hub_supply",
    "group_current",
    "periodic_time",
    "periodic_time_active",
    "link_rate",
    "endpoints",
    "slots",
    "hub_depth",
    "cable",
    "voltage",
    "latency",
)
"""The budgets in the order of the ledger."""

BUDGETS = frozenset(BUDGET_ORDER)
"""The budgets that the rulebook may speak of."""

TIGHT_FROM = 0.8
"""Share of a limit from which an entry is `tight`: common practice (no source)."""


class Part(Document):
    """Who uses how much of an entry. `ns` is the bus time of one service, where the entry is bus time."""

    who: str
    used: float
    endpoint: int | None = None
    ns: int | None = None


class Share(Document):
    """What is reserved for periodic transfers on a SuperSpeed link, in MB/s, against the share it may take."""

    used: float
    limit: float | None = None
    bracket: tuple[float, float] | None = None
    state: State
    source: str


class Entry(Document):
    """A budget at a place. The `used` of its parts sum to `used`.

    `bracket` holds the lowest and highest plausible limit where the exact one is not known, `between` limits that
    were met between the two; `settles` names the observation that would narrow it. `note` says what the figures
    alone do not (a host that caps lower, a need that could not be known); `finding` what is wrong at the place by
    itself, whatever is in use now. The figures after it stand beside the entry where its budget has them: `greatest`
    (endpoints at the greatest settings), `if_full` (mA with every socket in use), `peak` (typical mA at start-up),
    `mean_frame_us` (as the host driver books it) and `mean_frame_exact_us`, `periodic`, `at_device` (volts), `typical`
    (ms).
    """

    budget: str
    where: str
    used: float | None
    limit: float | None
    bracket: tuple[float, float] | None = None
    between: tuple[float, ...] = ()
    unit: str
    state: State
    basis: Basis
    limit_basis: Basis
    source: str
    settles: str | None = None
    parts: tuple[Part, ...] = ()
    note: str | None = None
    finding: str | None = None
    greatest: float | None = None
    if_full: float | None = None
    peak: float | None = None
    mean_frame_us: float | None = None
    mean_frame_exact_us: float | None = None
    periodic: Share | None = None
    at_device: float | None = None
    typical: float | None = None

    @property
    def left(self) -> float | None:
        """What is still free, or None where used or limit is unknown."""
        return None if self.used is None or self.limit is None else self.limit - self.used


def state_of(used: float | None, limit: float | None, bracket: tuple[float, float] | None = None) -> State:
    """`over`, `tight` or `room`; with a bracket only if both ends agree, else `unknown`."""
    if used is None:
        return "unknown"
    if limit is not None:
        if used > limit:
            return "over"
        return "tight" if used >= TIGHT_FROM * limit and used > 0 else "room"
    if bracket is None:
        return "unknown"
    low, high = (state_of(used, end) for end in bracket)
    return low if low == high else "unknown"
