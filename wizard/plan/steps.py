"""The grammar of a remedy and of the step it becomes in a plan.

A `Remedy` is an entry of `resources/rulebook/steps.toml`; a `Step` is the remedy made out for one case,
in prose, cautions inside it.
"""

from typing import Literal

from pydantic import Field

from wizard.bus.document import Document
from wizard.diagnosis.rulebook import Condition, Strict

Spend = Literal["none", "low", "medium", "high"]
Risk = Literal["none", "low", "data", "injury"]
Touch = Literal["cable", "case", "mains", "drive", "motor", "firmware", "board_setup", "settings", "driver"]
CautionId = Literal[
    "save_work", "eject_drive", "motor_safe", "power_off", "mains_unplugged", "discharge_button", "esd_strap",
    "card_edge", "note_plugs", "never_open_supply", "laptop_battery", "aux_power", "copy_first", "firmware_power",
    "way_back", "stop_electrician", "makers_manual", "warranty",
]  # fmt: skip


class Remedy(Strict):
    """Something that can be done. `cures` are causes it may end; `only_if` and `not_if` are conditions on the
    case (an unknown observation passes both); `gathers` is true where it first of all brings evidence."""

    id: str
    cures: tuple[str, ...] = Field(min_length=1)
    effort_min: float = Field(gt=0)
    spend: Spend
    opens_case: bool = False
    touches: tuple[Touch, ...] = ()
    risk: Risk
    cautions: tuple[CautionId, ...] = ()
    only_if: tuple[Condition, ...] = ()
    not_if: tuple[Condition, ...] = ()
    gathers: bool = False


class Caution(Document):
    """A warning in full, by id."""

    id: str
    text: str


class Step(Document):
    """One step of a plan. `cautions` come before the action, wherever the step is shown."""

    id: str
    do: str
    why: str
    cures: tuple[str, ...]
    effort_min: float
    spend: Spend
    opens_case: bool
    touches: tuple[str, ...]
    risk: Risk
    cautions: tuple[Caution, ...]
    undo: str
    check: str


class Plan(Document):
    """Steps in the order to try them; `options` are the arrangements of a re-plug planner."""

    steps: tuple[Step, ...] = ()
    options: tuple[Document, ...] = ()
