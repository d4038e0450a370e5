"""The planner's options in words: what to move where, in which order, what it leads to, what to buy."""

from collections.abc import Iterable, Iterator, Mapping

from wizard.bus.model import Device
from wizard.bus.tree import BusTree
from wizard.bus.unlisted import unlisted_hubs
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.plan.arrange.moves import PlugMove
from wizard.plan.arrange.options import Option, overdrawn
from wizard.plan.arrange.purchases import Helper
from wizard.plan.cautions import CARD_CAUTIONS, IN_ORDER
from wizard.plan.numbers import greatest_user
from wizard.plan.steps import CautionId, Plan
from wizard.report.blocks import Block, Item, Listing, Para, Part, Section, Table
from wizard.report.words import amount, balance_words, device_words, limit_words, place_words, text_or

_MOVING_CAUTIONS: tuple[CautionId, ...] = ("save_work", "eject_drive", "motor_safe")
"""What must be read before any plug is moved."""


def options_section(plan: Plan, look: Look, texts: Texts) -> Section | None:
    """The options side by side, what costs nothing first; None where the planner was not asked or had nothing to
    say."""
    tree = BusTree(look.snapshot)
    unlisted = bool(unlisted_hubs(tree)) and bool(plan.options or overdrawn(look.ledger))
    free = [option for option in plan.options if option.kind == "free"]
    bought = [option for option in plan.options if option.kind != "free"]
    blocks: list[Block] = [Para(texts["arrange.intro"])] if free else []
    blocks.extend(option_part(option, tree, texts, unlisted) for option in free)
    if unlisted and not free:
        blocks.append(unlisted_part(look, texts))
    elif plan.clash:
        blocks.append(Para(texts["arrange.clash"]))
        blocks.append(Listing(tuple(Item(_budget_words(name, tree, texts)) for name in plan.clash)))
    blocks.extend(option_part(option, tree, texts, unlisted) for option in bought)
    return Section("arrangement", "Which plug goes where", tuple(blocks)) if blocks else None


def unlisted_part(look: Look, texts: Texts) -> Part:
    """What to try where the look does not tell which sockets are free: no purchase before that."""
    tree = BusTree(look.snapshot)
    who = heaviest_user(look)
    what = None if who is None else f"{device_words(tree.devices[who])} ({who})"
    try_it = texts["arrange.unlisted.try_any"] if what is None else texts["arrange.unlisted.try"].format(what=what)
    return Part(
        texts["arrange.kind.free"],
        (
            *_careful(_MOVING_CAUTIONS, texts),
            Para(texts["arrange.unlisted.unknown"]),
            Para(try_it),
        ),
    )


def heaviest_user(look: Look) -> str | None:
    """The device below a hub that uses most of an overdrawn budget, the most overdrawn first; None if there is none."""
    tree = BusTree(look.snapshot)
    for entry in sorted(overdrawn(look.ledger), key=lambda e: -(e.used or 0.0) / (e.limit or 1.0)):
        who = greatest_user(entry)
        device = tree.devices.get(who or "")
        above = tree.devices.get(device.parent or "") if device is not None and device.hub is None else None
        if above is not None and not above.root:
            return who
    return None


def _careful(cautions: Iterable[CautionId], texts: Texts) -> tuple[Para, ...]:
    found = (texts.get(f"caution.{caution}.text") for caution in cautions)
    return tuple(Para(text, "Careful", "warning") for text in found if text is not None)


def option_part(option: Option, tree: BusTree, texts: Texts, unlisted: bool = False) -> Part:
    """One option, its cautions first. `unlisted` says that not all free sockets are known."""
    blocks: list[Para | Listing | Table] = [*_careful(option_cautions(option), texts)]
    blocks += [Para(helper_words(helper, tree, texts), "To buy") for helper in option.adds]
    if option.moves:
        blocks.append(Para(texts["arrange.order"]))
    moves = (f"{n}. {line}" for n, move in enumerate(option.moves, 1) for line in _move(move, tree, texts))
    blocks.append(Listing(tuple(Item(line) for line in moves)))
    tightest = _tightest(option, tree, texts)
    if tightest:
        blocks.append(Para(tightest, texts["arrange.after"]))
    if option.settings == "current":
        blocks.append(Para(texts["arrange.current_only"]))
    proof = "proven" if option.proven_best else "unlisted.unproven" if unlisted else "unproven"
    if option.moves:
        blocks.append(Para(texts[f"arrange.{proof}"], tone="quiet"))
    return Part(texts[f"arrange.kind.{option.kind}"], tuple(blocks))


def option_cautions(option: Option) -> tuple[CautionId, ...]:
    """What must be read before an option is carried out, in the order to heed it."""
    wanted = {*_MOVING_CAUTIONS, *(CARD_CAUTIONS if option.opens_case else ())}
    return tuple(caution for caution in IN_ORDER if caution in wanted)


def _move(move: PlugMove, tree: BusTree, texts: Texts) -> Iterator[str]:
    """What to note or eject stands before the act, what to mend afterwards behind it."""
    what = _plug_words(move.device, tree)
    if move.to is None:
        yield f"{what}: {texts['arrange.empties']}"
        return
    source = "your hand" if move.from_ is None else socket_words(move.from_, tree)
    way = f"from {source} to {socket_words(move.to, tree)}."
    memories = move.memories or ((move.memory,) if move.memory is not None else ())
    if not memories:
        yield f"{what}: {way}"
        return
    before, after = (
        " ".join(_memory(memory, part, tree.snapshot.system.os, texts) for memory in memories)
        for part in ("before", "after")
    )
    yield f"{what}: {before} Then {way} {after}"


def _memory(memory: str, part: str, os: str | None, texts: Texts) -> str:
    """What to note or mend, in the words of the system where it has its own."""
    key = f"arrange.memory.{memory}.{part}"
    return texts.get(f"{key}_{os}") or texts[key]


def _plug_words(device: str, tree: BusTree) -> str:
    known = tree.devices.get(device)
    return device_words(known) if known is not None else "the new hub"


def socket_words(socket: str, tree: BusTree) -> str:
    """A socket by its number and side: `socket 1-2 (rear)`; one of a new helper by its number there."""
    if socket.startswith("900-1."):
        return f"socket {socket.rsplit('.', 1)[1]} of the new hub"
    if socket.startswith("900-"):
        return f"socket {socket.rsplit('-', 1)[1]} of the new card"
    known = tree.sockets.get(socket)
    hub = tree.devices.get(known.hub) if known is not None else None
    if hub is not None and not hub.root:
        return f"socket {socket.rsplit('.', 1)[-1]} of {device_words(hub)}"
    side = f", {known.place}" if known is not None and known.place else ""
    return f"socket {socket} of the PC{side}"


def helper_words(helper: Helper, tree: BusTree, texts: Texts) -> str:
    """The specification of something to buy; never a brand."""
    gauge = "" if helper.gauge is None else texts["arrange.helper.gauge"].format(gauge=helper.gauge)
    return texts[f"arrange.helper.{helper.kind}"].format(
        gauge=gauge,
        sockets=helper.sockets,
        amps=f"{(helper.supply_ma or 0) / 1000:g}",
        metres=f"{helper.cable_m or 0:g}",
        at=socket_words(helper.at, tree) if helper.at is not None else "",
    )


def _tightest(option: Option, tree: BusTree, texts: Texts) -> str | None:
    limited = [e for e in option.after if e.used is not None and e.limit and e.budget not in ("hub_depth", "slots")]
    if not limited:
        return None
    entry = max(limited, key=lambda e: (e.used or 0.0) / (e.limit or 1.0))
    title = text_or(texts, f"budget.{entry.budget}.title", entry.budget)
    figures = f"{amount(entry.used, entry.unit)} of {limit_words(entry)}"
    left = "nothing is left" if not entry.left else f"{balance_words(entry)}"
    state = texts[f"arrange.state.{entry.state}"]
    return f"{title}, {place_words(entry.where, _moved(option, tree), entry.budget)}: {figures} ({state}: {left})"


def _moved(option: Option, tree: BusTree) -> BusTree:
    """The bus with every device under the id it has once the moves are made; good for names only."""
    new: dict[str, str] = {}
    for move in option.moves:
        own = tree.sockets.get(move.device)
        for half in (move.device, own.peer if own is not None else None):
            if half in tree.devices and half is not None and move.to is not None:
                new[half] = _half_of(move.to, tree.devices[half], tree)
    devices = tuple(d.model_copy(update={"id": _new_id(d.id, new)}) for d in tree.snapshot.devices)
    return BusTree(tree.snapshot.model_copy(update={"devices": devices}))


def _half_of(socket: str, device: Device, tree: BusTree) -> str:
    """The half of a socket that a device is in."""
    known = tree.sockets.get(socket)
    hub = tree.devices.get(known.hub) if known is not None else None
    other = known is not None and hub is not None and known.peer is not None and hub.is_super != device.is_super
    return known.peer or socket if other and known is not None else socket


def _new_id(identifier: str, new: Mapping[str, str]) -> str:
    """What hangs on a hub that moves goes with it."""
    if identifier in new:
        return new[identifier]
    above = next((old for old in new if identifier.startswith(f"{old}.")), None)
    return identifier if above is None else f"{new[above]}{identifier[len(above) :]}"


def _budget_words(name: str, tree: BusTree, texts: Texts) -> str:
    budget, _, where = name.partition("@")
    if budget in ("apart", "together"):
        return f"{texts[f'arrange.wish.{budget}']}: {socket_words(where, tree)}"
    if budget == "sockets":
        return f"Free sockets: {place_words(where, tree)}"
    return f"{text_or(texts, f'budget.{budget}.title', budget)}: {place_words(where, tree, budget)}"
