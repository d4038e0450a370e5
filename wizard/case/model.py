"""A case: everything told, seen, tried and found about one trouble. Every change makes a new value.

As a document it is `portmend/case/1`. Fields beyond the published ones keep the wizard's own record:
which questions were put, what was done of the plan, and the looks taken to check again.
"""

from typing import Any, Literal

from pydantic import Field, field_validator

from wizard.budget.setup import Setup
from wizard.bus.document import Document
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign

SCHEMA = "portmend/case/1"

Value = str | float | tuple[str, ...]
"""The value of an observation: a word, a number, or several words."""

Outcome = Literal["gone", "better", "same", "worse"]
StepMark = Literal["done", "helped", "did_not_help", "skipped"]
Platform = Literal["windows", "linux", "macos", "other"]


class Recheck(Document):
    """What the user says of the trouble now, with a look taken after a step; None where none was taken."""

    snapshot: Snapshot | None = None
    signs: tuple[Sign, ...] = ()
    outcome: Outcome | None = None
    at: str | None = None


class Case(Document):
    """One trouble. Only `symptom` (the worst one) is required; `also` are further symptoms.

    `observations` keeps unknown ids and values as they came. `asked` lists observations in the order the
    questions were answered, `settled` the contradictions that were asked about; `source` says whether the
    snapshot is live, captured, described or a demo; `watched` are signs seen while the bus was followed.
    """

    schema_: str = Field(default=SCHEMA, alias="schema")
    symptom: str
    also: tuple[str, ...] = ()
    subject: tuple[str, ...] = ()
    platform: Platform | None = None
    observations: dict[str, Any] = Field(default_factory=dict)
    log: str | None = None
    snapshot: Snapshot | None = None
    setup: Setup = Setup()
    asked: tuple[str, ...] = ()
    settled: tuple[str, ...] = ()
    marks: dict[str, StepMark] = Field(default_factory=dict)
    rechecks: tuple[Recheck, ...] = ()
    source: Literal["live", "captured", "described", "demo"] | None = None
    demo: str | None = None
    watched: tuple[Sign, ...] = ()
    taken_at: str | None = None

    @field_validator("platform", mode="before")
    @classmethod
    def _new_platforms_are_other(cls, value: Any) -> Any:
        """A platform this version does not know is `other`."""
        known = ("windows", "linux", "macos", "other")
        return value if value is None or value in known else "other" if isinstance(value, str) else value

    def answered(self, observation: str, value: Value) -> "Case":
        """The case with one more answer."""
        asked = (*(o for o in self.asked if o != observation), observation)
        return self.model_copy(update={"observations": {**self.observations, observation: value}, "asked": asked})

    def reconsidered(self, contradiction: str, observation: str, value: Value) -> "Case":
        """The case with a doubtful answer given once more, changed or not: that contradiction is not put again."""
        update = {"observations": {**self.observations, observation: value}}
        return self.model_copy(update={**update, "settled": (*self.settled, contradiction)})

    def without_answer(self, observation: str) -> "Case":
        """The case as if that question had not been answered."""
        observations = {k: v for k, v in self.observations.items() if k != observation}
        asked = tuple(o for o in self.asked if o != observation)
        return self.model_copy(update={"observations": observations, "asked": asked})

    def marked(self, step: str, mark: StepMark) -> "Case":
        """The case with what became of one step."""
        return self.model_copy(update={"marks": {**self.marks, step: mark}})
