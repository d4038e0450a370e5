"""Which warnings a step must carry, by what the hands go to. Knows ids, not words.

The rules are those of good workshop practice (safety of people first, then of files, then of parts); the
makers' manuals and local codes stand above them, and the texts say so.
"""

from collections.abc import Iterable, Mapping

from wizard.diagnosis.facts import Facts
from wizard.plan.present import EITHER
from wizard.plan.steps import CautionId, Remedy, Touch

IN_ORDER: tuple[CautionId, ...] = (
    "stop_electrician", "copy_first", "save_work", "eject_drive", "motor_safe", "way_back", "makers_manual",
    "warranty", "note_plugs", "power_off", "mains_unplugged", "laptop_battery", "discharge_button",
    "never_open_supply", "esd_strap", "card_edge", "aux_power", "firmware_power",
)  # fmt: skip
"""The order in which they are to be heeded, and so shown."""

OPEN_CASE: tuple[CautionId, ...] = (
    "power_off", "mains_unplugged", "discharge_button", "esd_strap", "card_edge", "note_plugs",
    "never_open_supply", "laptop_battery", "warranty",
)  # fmt: skip
"""What stands before every opening of a case."""

CARD_CAUTIONS: tuple[CautionId, ...] = (*OPEN_CASE, "aux_power", "makers_manual", "stop_electrician")
"""What stands before a card is fitted."""

BACK_AND_GONE: tuple[CautionId, ...] = ("eject_drive", "motor_safe")
"""What stands before everything that takes power or connection from devices, if only for a moment."""

BY_TOUCH: Mapping[Touch, tuple[CautionId, ...]] = {
    "cable": (),  # by what the lead belongs to: BY_KIND
    "settings": (),
    "case": (*OPEN_CASE, "save_work", *BACK_AND_GONE),
    "mains": ("stop_electrician", "makers_manual", *BACK_AND_GONE),
    "drive": ("eject_drive",),
    "motor": ("motor_safe",),
    "restart": ("save_work", *BACK_AND_GONE),
    "driver": ("save_work", *BACK_AND_GONE),
    "firmware": ("firmware_power", "makers_manual", "save_work", *BACK_AND_GONE),
    "board_setup": ("way_back", "makers_manual", "save_work", *BACK_AND_GONE),
}
"""What a remedy that touches this has to carry in the data; every touch has its line."""

_FILES: frozenset[Touch] = frozenset({"drive"})
_MOVES: frozenset[Touch] = frozenset({"motor"})
_BOTH = EITHER
_NEITHER: frozenset[Touch] = frozenset()

BY_KIND: Mapping[str, frozenset[Touch]] = {
    "storage": _FILES, "card_reader": _FILES, "camera": _FILES, "phone": _FILES,
    "audio": _FILES,  # sound recorders
    "instrument": _BOTH,
    "machine_controller": _MOVES, "serial_device": _MOVES,
    "game_controller": _MOVES,  # wheels and sticks that push back
    "lighting": _MOVES,  # moving heads, dimmers
    "hub": _BOTH, "other": _BOTH,
    "midi": _NEITHER, "keyboard_mouse": _NEITHER, "wireless_receiver": _NEITHER, "radio_adapter": _NEITHER,
    "headset": _NEITHER, "capture": _NEITHER, "accelerator": _NEITHER, "network": _NEITHER, "printer": _NEITHER,
    "scanner": _NEITHER, "display": _NEITHER, "security_token": _NEITHER,
}  # fmt: skip
"""What unplugging a device of this kind touches besides its lead; a kind that is not in here counts as unknown."""

NOTHING_TO_SAVE = frozenset({"keyboard_mouse", "wireless_receiver", "headset"})
"""Kinds that hold nobody's work when they are unplugged: common practice (no source)."""

DRIVE_SYMPTOM = "drive_missing"
DRIVE_KINDS = frozenset({"storage", "card_reader"})


def required_cautions(remedy: Remedy) -> frozenset[CautionId]:
    """What the data must name for this remedy, whatever the case."""
    wanted = {caution for touch in remedy.touches for caution in BY_TOUCH[touch]}
    return frozenset(wanted | set(OPEN_CASE if remedy.opens_case else ()))


def touches_in(remedy: Remedy, facts: Facts, present: frozenset[Touch] = EITHER) -> tuple[Touch, ...]:
    """What the step touches here: its lead touches drive and motor too, unless the device surely is neither. `present`
    is what may hang on the bus (`may_hang`): leads in general touch no drive or motor where there surely is none."""
    own = _may_hang_on_the_lead(facts)
    touches: list[Touch] = [
        t for t in remedy.touches if t not in EITHER or t in present | own or not _only_leads(remedy)
    ]
    if "cable" in touches:
        touches += [touch for touch in sorted(own) if touch not in touches]
    return tuple(touches)


def cautions_in(remedy: Remedy, facts: Facts, present: frozenset[Touch] = EITHER) -> tuple[CautionId, ...]:
    """The warnings of the step in this case, in the order to heed them."""
    touches = touches_in(remedy, facts, present)
    wanted = set(remedy.cautions) | required_cautions(remedy)
    for touch in EITHER - set(touches) if _only_leads(remedy) else ():
        wanted -= set(BY_TOUCH[touch])
    for touch in touches:
        wanted |= set(BY_TOUCH[touch])
    if {"cable", "drive"} & set(touches) and is_about_a_drive(facts):
        wanted.add("copy_first")
    if _may_lose_work(touches, facts):
        wanted.add("save_work")
    return tuple(caution for caution in IN_ORDER if caution in wanted)


def is_out_of_reach(remedy: Remedy, facts: Facts) -> bool:
    """Whether the files can't be copied before the step, which does not touch them anyway: the drive does not show,
    and the step is not about its volume or its firmware."""
    works_on_it = "copy_first" in remedy.cautions or remedy.risk == "data" or "firmware" in remedy.touches
    return DRIVE_SYMPTOM in facts.symptoms and not works_on_it


def _only_leads(remedy: Remedy) -> bool:
    """Whether a step does nothing but pull and put plugs of what hangs on the bus."""
    return "cable" in remedy.touches and set(remedy.touches) <= {"cable", "drive", "motor"}


def _may_lose_work(touches: Iterable[Touch], facts: Facts) -> bool:
    """Whether a program may be using what is unplugged or switched off."""
    touched = set(touches)
    if "mains" in touched or {"drive", "motor"} & touched:
        return True
    kinds = facts.words("device_kind")
    return "cable" in touched and not (kinds and set(kinds) <= NOTHING_TO_SAVE)


def is_about_a_drive(facts: Facts) -> bool:
    """Whether files may be at stake: the trouble is a drive that does not show, or the device is one."""
    return DRIVE_SYMPTOM in facts.symptoms or bool(DRIVE_KINDS & set(facts.words("device_kind")))


def _may_hang_on_the_lead(facts: Facts) -> frozenset[Touch]:
    kinds = facts.words("device_kind")
    if not kinds:
        return EITHER
    return frozenset(touch for kind in kinds for touch in BY_KIND.get(kind, _BOTH))
