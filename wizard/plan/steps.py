"""The grammar of a remedy and of the step it becomes in a plan.

A `Remedy` is an entry of `resources/rulebook/steps.toml`; a `Step` is the remedy made out for one case,
in prose, cautions inside it. Knows no order: that is the business of `ordering`.
"""

from typing import Literal, Self

from pydantic import Field, model_validator

from wizard.bus.document import Document
from wizard.diagnosis.rulebook import Condition, Strict
from wizard.plan.arrange.options import Option

Spend = Literal["none", "low", "medium", "high"]
Risk = Literal["none", "low", "data", "injury"]
Touch = Literal[
    "cable", "case", "mains", "drive", "motor", "firmware", "board_setup", "settings", "driver", "restart"
]  # fmt: skip
CautionId = Literal[
    "save_work", "eject_drive", "motor_safe", "power_off", "mains_unplugged", "discharge_button", "esd_strap",
    "card_edge", "note_plugs", "never_open_supply", "laptop_battery", "aux_power", "copy_first", "firmware_power",
    "way_back", "stop_electrician", "makers_manual", "warranty",
]  # fmt: skip
System = Literal["windows", "linux", "macos"]


class Remedy(Strict):
    """Something that can be done.

    `cures` are causes it ends as a rule, `may_cure` those it ends now and then. `only_if` and `not_if` are
    conditions on the case (what is not known passes both); `surely_if` must be known to hold. `systems` limits it
    to those (empty: all).
    `touches` says what the hands go to: `cable` is the lead of the subject alone, `drive` and `motor` any that
    may hang on what is unplugged, `restart` that the computer starts anew. `tried_as` is the test that is the same
    act: where it helped, the step is proven; where it did not, the step goes back.
    `gathers` is true where it first of all brings evidence, `clears` where it wipes what could still be looked at.
    `last_resort` ends every plan and cures nothing.
    """

    id: str
    cures: tuple[str, ...] = ()
    may_cure: tuple[str, ...] = ()
    effort_min: float = Field(gt=0)
    spend: Spend
    opens_case: bool = False
    touches: tuple[Touch, ...] = ()
    risk: Risk
    cautions: tuple[CautionId, ...] = ()
    surely_if: tuple[Condition, ...] = ()
    only_if: tuple[Condition, ...] = ()
    not_if: tuple[Condition, ...] = ()
    systems: tuple[System, ...] = ()
    tried_as: str | None = None
    gathers: bool = False
    clears: bool = False
    last_resort: bool = False

    @model_validator(mode="after")
    def _says_what_it_is_good_for(self) -> Self:
        causes = (*self.cures, *self.may_cure)
        if bool(causes) == self.last_resort:
            raise ValueError("a remedy names a cause in cures or may_cure, a last_resort names none")
        if self.gathers and self.clears:
            raise ValueError("a remedy gathers evidence or clears it away, not both")
        if len(set(causes)) != len(causes):
            raise ValueError("a cause stands once in cures and may_cure together")
        return self

    def conditions(self) -> tuple[tuple[str, Condition], ...]:
        """All conditions, each with its place in the entry."""
        return (
            *((f"surely_if.{i}", c) for i, c in enumerate(self.surely_if)),
            *((f"only_if.{i}", c) for i, c in enumerate(self.only_if)),
            *((f"not_if.{i}", c) for i, c in enumerate(self.not_if)),
        )


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
    """Steps in the order to try them; `options` are the arrangements of the planner, where it was asked, and `clash`
    the budgets that can't be held together without buying anything. `unlisted` are the hubs whose free sockets the
    look does not tell, where the planner was asked: then nothing is proven, and free sockets come before purchases."""

    steps: tuple[Step, ...] = ()
    options: tuple[Option, ...] = ()
    clash: tuple[str, ...] = ()
    unlisted: tuple[str, ...] = ()
