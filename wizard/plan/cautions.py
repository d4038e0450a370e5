"""Which warnings a step must carry, by what the hands go to. Knows ids, not words.

The rules are those of good workshop practice (safety of people first, then of files, then of parts); the
makers' manuals and local codes stand above them, and the texts say so.
"""

from collections.abc import Mapping

from wizard.diagnosis.facts import Facts
from wizard.diagnosis.rulebook import Condition
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

BY_TOUCH: Mapping[Touch, tuple[CautionId, ...]] = {
    "case": OPEN_CASE,
    "mains": ("stop_electrician",),
    "drive": ("eject_drive",),
    "motor": ("motor_safe",),
    "firmware": ("firmware_power", "makers_manual"),
    "board_setup": ("way_back",),
    "driver": ("save_work",),
}
"""What a remedy that touches this has to carry in the data."""

HOLDS_FILES = Condition(
    observation="device_kind", any_of=("storage", "card_reader", "camera", "phone", "audio", "hub", "other")
)
"""Subjects that may hold files; sound recorders are `audio`."""

MAY_MOVE = Condition(
    observation="device_kind", any_of=("machine_controller", "serial_device", "hub", "instrument", "other")
)
"""Subjects that may set something in motion or heat it."""


def required_cautions(remedy: Remedy) -> frozenset[CautionId]:
    """What the data must name for this remedy, whatever the case."""
    wanted = {caution for touch in remedy.touches for caution in BY_TOUCH.get(touch, ())}
    return frozenset(wanted | set(OPEN_CASE if remedy.opens_case else ()))


def touches_in(remedy: Remedy, facts: Facts) -> tuple[Touch, ...]:
    """What the step touches in this case: unplugging the subject touches drive and motor unless it surely is not."""
    touches = list(remedy.touches)
    if "cable" in touches:
        if "drive" not in touches and facts.holds(HOLDS_FILES) is not False:
            touches.append("drive")
        if "motor" not in touches and facts.holds(MAY_MOVE) is not False:
            touches.append("motor")
    return tuple(touches)


def cautions_in(remedy: Remedy, facts: Facts) -> tuple[CautionId, ...]:
    """The warnings of the step in this case, in the order to heed them."""
    wanted = set(remedy.cautions) | required_cautions(remedy)
    for touch in touches_in(remedy, facts):
        wanted |= set(BY_TOUCH.get(touch, ()))
    return tuple(caution for caution in IN_ORDER if caution in wanted)
