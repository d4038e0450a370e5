"""The grammar of the rulebook: what a symptom, a cause, an observation and a rule may say.

The words are data (`resources/rulebook`, prose in `resources/texts`). This module checks each entry by
itself; `lint` checks that entries fit together; `loading` turns tables into these values with every
problem located.
"""

from collections.abc import Callable
from functools import cached_property
from typing import Any, Literal, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, PrivateAttr, model_validator

Strength = Literal["hint", "fair", "strong", "decisive"]

DECIBANS: dict[Strength, float] = {"hint": 2.0, "fair": 5.0, "strong": 10.0, "decisive": 18.0}
"""Weights of evidence in decibans (10 · log10 of the likelihood ratio): I. J. Good, Probability and the
Weighing of Evidence, 1950. Which strength gets how many is common practice (no source)."""

UNKNOWN = "unknown"
"""The answer that every question allows; it is kept, and it is never evidence."""


Derived = TypeVar("Derived")

TEST_RESULTS = ("cures", "helps", "same", "worse")
"""Results that every test allows besides those it names: the published vocabulary."""


class Strict(BaseModel):
    """A frozen entry of the rulebook: an unknown word in it is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Symptom(Strict):
    """What the user complains about; `main` ones are offered first."""

    id: str
    main: bool = False


class Cause(Strict):
    """A possible cause.

    `prior` is its weight in decibans before any evidence, by symptom (`default` for the others), against
    a common baseline of 0. `usb` is false for a cause outside the bus (application, volume, load).
    """

    id: str
    usb: bool = True
    prior: dict[str, float] = Field(default_factory=dict)
    source: str = Field(min_length=1)

    def prior_for(self, symptom: str) -> float:
        """Decibans before any evidence."""
        return self.prior.get(symptom, self.prior.get("default", 0.0))


class Condition(Strict):
    """One thing that can be true of a case. Exactly one of `observation`, `ledger`, `sign`, `symptom`, `platform`.

    observation: true if any of its values stands in `any_of`, or its number lies in [`at_least`, `at_most`].
    ledger: true if an entry of that budget that concerns the subject is in one of `state`, or if its figure
    `beyond` (`peak` or `if_full`) is more than its limit; `place` narrows it to a `bus`, a `translator` or a
    `socket`.
    sign: true if one of these kinds was seen at least `at_least` times (default once).
    symptom: true if the case has one of these symptoms.
    platform: true if the case is on one of these systems.
    """

    observation: str | None = None
    any_of: tuple[str, ...] = ()
    at_least: float | None = None
    at_most: float | None = None
    ledger: str | None = None
    state: tuple[Literal["over", "tight", "room"], ...] = ()
    beyond: Literal["peak", "if_full"] | None = None
    place: Literal["bus", "translator", "socket"] | None = None
    sign: tuple[str, ...] = ()
    symptom: tuple[str, ...] = ()
    platform: tuple[Literal["windows", "linux", "macos", "other"], ...] = ()

    @model_validator(mode="after")
    def _one_subject(self) -> Self:
        named = [bool(v) for v in (self.observation, self.ledger, self.sign, self.symptom, self.platform)]
        if named.count(True) != 1:
            raise ValueError("a condition names exactly one of observation, ledger, sign, symptom, platform")
        bounds = self.at_least is not None or self.at_most is not None
        if self.observation and not self.any_of and not bounds:
            raise ValueError("a condition over an observation needs any_of, at_least or at_most")
        if self.observation and self.any_of and bounds:
            raise ValueError("a condition over an observation has either any_of or bounds, not both")
        if self.ledger and bool(self.state) == bool(self.beyond):
            raise ValueError("a condition over the ledger needs state or beyond, one of them")
        if not self.ledger and (self.state or self.beyond or self.place):
            raise ValueError("state, beyond and place go with ledger only")
        if not self.observation and self.any_of:
            raise ValueError("any_of goes with observation only")
        if (self.ledger or self.symptom or self.platform) and bounds:
            raise ValueError("at_least and at_most go with observation or sign")
        return self


class Rule(Strict):
    """If all of `when` hold, each cause in `speaks_for` gains that strength; those in `speaks_against` lose it.

    The first condition is what the evidence is named after; the others narrow it. The reason stands in
    the texts under the rule's id; `source` says where the rule comes from. Rules with the same `fact` see one thing
    in several ways, an answer and a line of the log, say: for each cause only the weightiest of them counts.
    """

    id: str
    fact: str | None = None
    when: tuple[Condition, ...] = Field(min_length=1)
    speaks_for: dict[str, Strength] = Field(default_factory=dict)
    speaks_against: dict[str, Strength] = Field(default_factory=dict)
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.speaks_for and not self.speaks_against:
            raise ValueError("a rule speaks for or against at least one cause")
        both = set(self.speaks_for) & set(self.speaks_against)
        if both:
            raise ValueError(f"a rule speaks both for and against {', '.join(sorted(both))}")
        return self

    def weights(self) -> dict[str, float]:
        """Decibans by cause, negative where the rule speaks against it."""
        weights = {cause: DECIBANS[strength] for cause, strength in self.speaks_for.items()}
        weights.update({cause: -DECIBANS[strength] for cause, strength in self.speaks_against.items()})
        return weights


class Observation(Strict):
    """Something that can be known about a case: measured by the program, asked, or found by a test.

    `kind`: one of `values`; a `list` of them; or a `number` in `unit`, for which `choices` are the figures
    offered as answers. `how` it is learnt: `measure` is never asked, `ask` is a question, `test` needs the
    user to do something. `symptoms` limits the question to those (empty: all). `needs` are conditions
    without which it makes no sense. `share` gives how often each value is met when nothing is known, in
    parts of one; values not named share the rest evenly. `known` is the part of those asked who can tell. `drawing`
    names a small drawing that helps to answer.
    """

    id: str
    kind: Literal["choice", "list", "number"]
    values: tuple[str, ...] = ()
    unit: str | None = None
    choices: tuple[float, ...] = ()
    how: Literal["measure", "ask", "test"]
    effort_min: float = Field(gt=0)
    known: float = Field(default=1.0, gt=0, le=1)
    symptoms: tuple[str, ...] = ()
    needs: tuple[Condition, ...] = ()
    share: dict[str, float] = Field(default_factory=dict)
    drawing: str | None = None

    @model_validator(mode="after")
    def _values_fit_kind(self) -> Self:
        if self.kind == "number" and (self.values or not self.unit):
            raise ValueError("a number has a unit and no values")
        if self.kind != "number" and (self.unit or self.choices or not self.values):
            raise ValueError("a choice or list has values, no unit and no choices")
        if self.kind == "number" and self.how != "measure" and not self.choices:
            raise ValueError("a number that is asked needs choices to offer")
        if UNKNOWN in self.values:
            raise ValueError("'unknown' is always allowed and is not listed")
        stray = set(self.share) - set(self.values)
        if stray:
            raise ValueError(f"share names values that are not there: {', '.join(sorted(stray))}")
        return self

    def answers(self) -> tuple[str | float, ...]:
        """What may be answered, `unknown` aside."""
        return self.choices if self.kind == "number" else self.values


class Clash(Strict):
    """Answers that can't all be true: whoever gave them is asked once more.

    All of `when` look at observations, at least two conditions in all (two values of one list may clash as well).
    Where one of `unless` holds, they can be true after all. `ask` is the observation most likely told wrongly, which
    is put again. Why they clash stands in the texts under the clash's id.
    """

    id: str
    when: tuple[Condition, ...] = Field(min_length=2)
    unless: tuple[Condition, ...] = ()
    ask: str
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _is_about_answers(self) -> Self:
        if any(condition.observation is None for condition in self.when):
            raise ValueError("a clash looks at observations only")
        if self.ask not in self.observations():
            raise ValueError("a clash asks again for one of its own observations")
        return self

    def observations(self) -> tuple[str, ...]:
        """The observations that can't agree, each once."""
        return tuple(dict.fromkeys(c.observation for c in self.when if c.observation is not None))


class Rulebook(Strict):
    """All symptoms, causes, observations, rules and clashes, in the order of the data."""

    symptoms: tuple[Symptom, ...]
    causes: tuple[Cause, ...]
    observations: tuple[Observation, ...]
    rules: tuple[Rule, ...]
    clashes: tuple[Clash, ...] = ()
    _once: dict[Callable[["Rulebook"], Any], Any] = PrivateAttr(default_factory=dict)

    @cached_property
    def observation_by_id(self) -> dict[str, Observation]:
        """Observations by id."""
        return {o.id: o for o in self.observations}

    @cached_property
    def cause_by_id(self) -> dict[str, Cause]:
        """Causes by id."""
        return {c.id: c for c in self.causes}

    def once(self, work_out: Callable[["Rulebook"], Derived]) -> Derived:
        """What `work_out` makes of this rulebook, worked out the first time only and kept as long as the rulebook."""
        if work_out not in self._once:
            self._once[work_out] = work_out(self)
        made: Derived = self._once[work_out]
        return made

    def __copy__(self) -> Self:
        """A copy that keeps nothing derived: it may be about to get other entries."""
        copied = super().__copy__()
        for name in ("observation_by_id", "cause_by_id"):
            copied.__dict__.pop(name, None)
        copied._once = {}
        return copied
