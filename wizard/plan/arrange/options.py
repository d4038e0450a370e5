"""Arrangements side by side: one that costs nothing, one with something small bought, one with the case opened.

A later kind is offered only where an earlier one can't hold all budgets, or only with many plugs moved.
"""

from typing import Literal

from pydantic import Field

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import TIME_BUDGETS, Settings
from wizard.budget.setup import Setup
from wizard.bus.document import Document
from wizard.bus.model import Snapshot
from wizard.bus.unlisted import unlisted_hubs
from wizard.plan.arrange.accessories import accessories
from wizard.plan.arrange.bound import at_odds
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk, survey
from wizard.plan.arrange.held import HELD
from wizard.plan.arrange.moves import PlugMove, in_order
from wizard.plan.arrange.purchases import Helper, HelperKind, helper_plug, specification, with_helper
from wizard.plan.arrange.pursuit import Blocked, Found, OutOfTime
from wizard.plan.arrange.search import search

MANY_MOVES = 4
"""From so many moves on something bought is worth a look: common practice (no source)."""

BOUGHT: tuple[tuple[Literal["purchase", "opens_case"], tuple[HelperKind, ...]], ...] = (
    ("purchase", ("hub_usb2", "hub_usb3")),
    ("opens_case", ("card",)),
)


class Option(Document):
    """One way out. `moves` are in order; `adds` is what to buy; `after` the ledger it leads to.

    `settings` says whether bus time holds even for the greatest settings of every device or for those in use now.
    `proven_best` is true if no arrangement moves fewer plugs, or as many that the system forgets less; else `gap` is
    the share of the moves that might be saved. Where not all free sockets are known, nothing is proven.
    """

    kind: Literal["free", "purchase", "opens_case"]
    moves: tuple[PlugMove, ...]
    adds: tuple[Helper, ...] = ()
    opens_case: bool = False
    after: tuple[Entry, ...]
    settings: Settings
    proven_best: bool
    gap: float | None = None


class Arrangements(Document):
    """What the planner found. `clash` names budgets that can't be held together without buying anything, empty if
    they can; `unfinished` says that time ran out before anything was found. `unlisted` are the hubs whose free sockets
    the look does not tell: then nothing is proven, and `clash` is empty."""

    options: tuple[Option, ...] = ()
    clash: tuple[str, ...] = Field(default=())
    unfinished: bool = False
    unlisted: tuple[str, ...] = ()


DEEPEST = 8
"""Devices in series from a root hub on, beyond which a snapshot is not believed: seven tiers are the most there
can be (USB 2.0 §4.1.1)."""

MOST_CHOICES = 40_000
"""Plugs times groups of sockets that a search takes on; 127 devices on 40 hubs are a fifth of it. Measured: beyond,
building the program alone takes longer than people wait."""


def overdrawn(ledger: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """What an arrangement could mend."""
    return tuple(e for e in ledger if e.state == "over" and (e.budget in HELD or e.budget in TIME_BUDGETS.values()))


def arrange(snapshot: Snapshot, setup: Setup, clock: Clock) -> Arrangements:
    """The options for a snapshot; none if nothing is overdrawn and no pair stands as it should not. Pure but for the
    clock it is given."""
    ledger = build_ledger(snapshot, setup)
    desk = survey(snapshot, setup)
    small = accessories(desk, ledger)
    unlisted = unlisted_hubs(desk.tree)
    if overdrawn(ledger) or any(at_odds(desk)):
        found = _found(desk, clock, small) if _can_be_searched(desk) else Arrangements(unfinished=True)
    elif small[0]:
        found = Arrangements(options=(_as_it_is(desk, ledger, small[0]),))
    else:
        return Arrangements()
    return _without_proof(found, unlisted) if unlisted else found


def _without_proof(found: Arrangements, unlisted: tuple[str, ...]) -> Arrangements:
    """What was ruled out was ruled out among the sockets that are listed only."""
    options = tuple(o.model_copy(update={"proven_best": False}) for o in found.options)
    return found.model_copy(update={"options": options, "clash": (), "unlisted": unlisted})


def _found(desk: Desk, clock: Clock, small: tuple[tuple[Helper, ...], Setup]) -> Arrangements:
    """What the search finds among the sockets that are listed."""
    found = _best(desk, clock, None)
    options: list[Option] = []
    clash: tuple[str, ...] = ()
    if isinstance(found, Found):
        options.append(_option("free", desk, found))
    elif isinstance(found, Blocked):
        clash = found.names
    if small[0] and (not options or len(options[-1].moves) >= MANY_MOVES):
        eased = _eased(desk, clock, *small)
        options.extend([eased] if eased is not None and _fewer(eased, options) else [])
    for kind, helpers in BOUGHT:
        if options and len(options[-1].moves) < MANY_MOVES:
            break
        if isinstance(found, Found) and len(found.moved) <= found.leaving:
            break  # more sockets would not save a single move
        bought = _first_that_fits(desk, clock, kind, helpers)
        if bought is not None and _fewer(bought, options):
            options.append(bought)
    return Arrangements(options=tuple(options), clash=clash, unfinished=not options and isinstance(found, OutOfTime))


def _can_be_searched(desk: Desk) -> bool:
    deepest = max((len(desk.tree.path(p.id)) for p in desk.plugs.values()), default=0)
    strips = {(p.hub, p.fast is None, p.where, p.group) for p in desk.places.values()}
    return deepest <= DEEPEST and len(desk.movable) * len(strips) <= MOST_CHOICES


def _fewer(option: Option, options: list[Option]) -> bool:
    return not options or len(option.moves) < len(options[-1].moves)


def _eased(desk: Desk, clock: Clock, bought: tuple[Helper, ...], setup: Setup) -> Option | None:
    """What is left to move once small things are there."""
    eased = survey(desk.snapshot, setup)
    found = _best(eased, clock, None)
    if not isinstance(found, Found):
        return None
    return _option("purchase", eased, found).model_copy(update={"adds": bought})


def _as_it_is(desk: Desk, ledger: tuple[Entry, ...], bought: tuple[Helper, ...]) -> Option:
    """Nothing to move: something small holds what no other place would."""
    after = build_ledger(desk.snapshot, accessories(desk, ledger)[1])
    return Option(kind="purchase", moves=(), adds=bought, after=after, settings="greatest", proven_best=True)


def _best(desk: Desk, clock: Clock, helper: str | None) -> Found | Blocked | OutOfTime:
    """For the greatest settings if that can be had, else for those in use now."""
    found = search(desk, "greatest", clock, helper)
    if isinstance(found, Blocked):
        now = search(desk, "current", clock, helper)
        return now if isinstance(now, Found | Blocked) else found
    return found


def _first_that_fits(
    desk: Desk, clock: Clock, kind: Literal["purchase", "opens_case"], helpers: tuple[HelperKind, ...]
) -> Option | None:
    for helper in helpers:
        wider = with_helper(desk, helper)
        found = _best(wider, clock, helper_plug(helper))
        if isinstance(found, Found):
            return _option(kind, wider, found, specification(wider, helper, found.arrangement))
    return None


def _option(
    kind: Literal["free", "purchase", "opens_case"], desk: Desk, found: Found, helper: Helper | None = None
) -> Option:
    moves = tuple(
        # A helper comes out of its box, which is no socket of anything.
        m.model_copy(update={"from_": None}) if helper is not None and m.device == helper.id else m
        for m in in_order(desk, found.arrangement)
    )
    return Option(
        kind=kind,
        moves=moves,
        adds=() if helper is None else (helper,),
        opens_case=kind == "opens_case",
        after=found.ledger,
        settings=found.settings,
        proven_best=found.proven,
        gap=None if found.proven or not found.moved else 1 - found.at_least / len(found.moved),
    )
