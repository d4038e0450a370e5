"""One numbered sequence: the steps of the plan with the planner's arrangements among them. Plans nothing.

What costs nothing comes before what has to be bought; only what keeps people safe comes before that. A step that an
arrangement does anyway is left out, unless something was noted of it.
"""

from collections.abc import Mapping

from wizard.bus.tree import BusTree
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.plan.arrange.options import Arrangements, Option, overdrawn
from wizard.plan.cautions import IN_ORDER
from wizard.plan.steps import Caution, CautionId, Plan, Risk, Spend, Step
from wizard.report.arrange_part import option_cautions, option_part, options_section, unlisted_part
from wizard.report.blocks import Listing, Para, Part

FREE = "arrangement"
"""Id of the arrangement that costs nothing, as a step."""

SAME_ACT = frozenset({"straight_in", "own_translator", "move_hungry"})
"""Steps that take a device from a hub to the computer."""

OTHER_CONTROLLER = frozenset({"spread_controllers"})
"""Steps that take a device to another controller."""

MINUTES_A_MOVE = 2.0
"""As the step of one plug has it: from memory."""

_UNPLUGGING: tuple[CautionId, ...] = ("save_work", "eject_drive", "motor_safe")
_SPENDS: Mapping[str, tuple[Spend, Risk]] = {
    "free": ("none", "low"), "purchase": ("low", "low"), "opens_case": ("medium", "injury"),
}  # fmt: skip


def sequence(
    plan: Plan, arranged: Arrangements | Plan | None, look: Look, texts: Texts, marks: Mapping[str, str]
) -> tuple[Step, ...]:
    """The steps in the order to try them, with what the planner found: `arranged`, which may be the plan that holds it
    already."""
    if arranged is None:
        return plan.steps
    tree = BusTree(look.snapshot)
    free = [_step(o, tree, texts, bool(arranged.unlisted)) for o in arranged.options if o.kind == "free" and o.moves]
    if not free and arranged.unlisted and (arranged.options or overdrawn(look.ledger)):
        free = [_unlisted(look, texts)]
    bought = [_step(o, tree, texts, bool(arranged.unlisted)) for o in arranged.options if o.kind != "free"]
    if bought:
        bought[0] = _with_reason(bought[0], arranged, look, texts)
    done = _done_by(free, arranged, tree)
    free = [_in_stead_of(f, [s for s in plan.steps if s.id in done and s.id not in marks]) for f in free]
    steps = [s for s in plan.steps if s.id not in done or s.id in marks]
    first = next((n for n, s in enumerate(steps) if s.risk != "injury"), len(steps))
    steps[first:first] = free
    last_free = max((n for n, s in enumerate(steps, 1) if s.spend == "none" and (s.cures or s.id == FREE)), default=0)
    steps[last_free:last_free] = bought
    return tuple(steps)


def _done_by(free: list[Step], arranged: Arrangements | Plan, tree: BusTree) -> frozenset[str]:
    """The steps that are the same act as the free arrangement."""
    moves = [m for o in arranged.options if o.kind == "free" for m in o.moves if m.from_ and m.to]
    straight_in = any(_on_hub(m.from_) and not _on_hub(m.to) for m in moves) or (bool(free) and not moves)
    elsewhere = any(_controller(m.from_, tree) != _controller(m.to, tree) for m in moves)
    return (SAME_ACT if straight_in else frozenset()) | (OTHER_CONTROLLER if elsewhere else frozenset())


def _on_hub(socket: str | None) -> bool:
    """A socket of a hub has its number behind a dot."""
    return "." in (socket or "")


def _controller(socket: str | None, tree: BusTree) -> str | None:
    root = tree.devices.get(f"usb{(socket or '').partition('-')[0]}")
    return root.parent if root is not None else None


def _in_stead_of(step: Step, left_out: list[Step]) -> Step:
    """The step with the reasons and all warnings of those that it stands for."""
    if not left_out:
        return step
    warned = {c.id: c for s in (step, *left_out) for c in s.cautions}
    return step.model_copy(
        update={
            "why": left_out[0].why if step.why in left_out[0].why else f"{left_out[0].why}\n{step.why}",
            "cures": tuple(dict.fromkeys(cause for s in left_out for cause in s.cures)),
            "touches": tuple(dict.fromkeys(touch for s in (step, *left_out) for touch in s.touches)),
            "cautions": tuple(warned[c] for c in IN_ORDER if c in warned),
        }
    )


def _step(option: Option, tree: BusTree, texts: Texts, unlisted: bool) -> Step:
    part = option_part(option, tree, texts, unlisted)
    do, why = _told(part)
    name = FREE if option.kind == "free" else f"{FREE}_{option.kind}"
    spend, risk = _SPENDS[option.kind]
    return Step(
        id=name,
        do=do,
        why=f"{texts['arrange.intro'] if option.kind == 'free' else texts[f'step.{name}.why']}\n{why}",
        cures=(),
        effort_min=MINUTES_A_MOVE * max(len(option.moves), 1),
        spend=spend,
        opens_case=option.opens_case,
        touches=("cable",),
        risk=risk,
        cautions=_cautions(option_cautions(option), texts),
        undo=texts[f"step.{name}.undo"],
        check=texts[f"step.{name}.check"],
    )


def _told(part: Part) -> tuple[str, str]:
    """What is to be done, and what else is said of it: what stands up to the last list, and what stands after."""
    blocks = [b for b in part.blocks if not (isinstance(b, Para) and b.tone == "warning")]
    lists = [n for n, b in enumerate(blocks) if isinstance(b, Listing) and b.items]
    to_buy = [n for n, b in enumerate(blocks) if isinstance(b, Para) and b.label]
    end = lists[-1] + 1 if lists else (to_buy[0] + 1 if to_buy else len(blocks))
    words = [
        [f"{b.label}: {b.text}" if b.label else b.text]
        if isinstance(b, Para)
        else [i.text for i in b.items]
        if isinstance(b, Listing)
        else []
        for b in blocks
    ]
    do, why = (("\n".join(line for lines in some for line in lines)) for some in (words[:end], words[end:]))
    return do, why


def _cautions(ids: tuple[CautionId, ...], texts: Texts) -> tuple[Caution, ...]:
    return tuple(Caution(id=c, text=texts.get(f"caution.{c}.text") or c) for c in IN_ORDER if c in ids)


def _unlisted(look: Look, texts: Texts) -> Step:
    """Where it is not known which sockets are free, the one to try first."""
    do, _ = _told(unlisted_part(look, texts))
    return Step(
        id=FREE, do=do, why=texts["step.arrangement.why"], cures=(), effort_min=MINUTES_A_MOVE, spend="none",
        opens_case=False, touches=("cable",), risk="low", cautions=_cautions(_UNPLUGGING, texts),
        undo=texts["step.arrangement.undo"], check=texts["step.arrangement.check"],
    )  # fmt: skip


def _with_reason(step: Step, arranged: Arrangements | Plan, look: Look, texts: Texts) -> Step:
    """Why anything is to be bought: what can't be held without it."""
    if not arranged.clash:
        return step
    section = options_section(Plan(clash=arranged.clash), look, texts)
    told = [] if section is None else [_told(Part("", (b,)))[0] for b in section.blocks if not isinstance(b, Part)]
    return step.model_copy(update={"why": "\n".join((*told, step.why))})
