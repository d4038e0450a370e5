"""The documents that a case takes part in, besides itself: a look, an advice, a comparison, an answer to "does one
more fit?".

Values only; who fills them is the business of `wizard.wiring`.
"""

from typing import Literal

from pydantic import Field

from wizard.budget.entry import Entry
from wizard.budget.fit import Fit
from wizard.bus.document import Document
from wizard.bus.model import Snapshot
from wizard.bus.sign import LogRead, Sign
from wizard.diagnosis.advice import Contradiction, Finding, Question
from wizard.plan.compare import Comparison
from wizard.plan.steps import Plan


class Look(Document):
    """What one look found: `portmend/look/1`. `notes` are sentences for people; `log` is how the log was read that was
    given with it, None if none was: no part of the document, whose notes say where a log tells nothing."""

    schema_: Literal["portmend/look/1"] = Field(default="portmend/look/1", alias="schema")
    snapshot: Snapshot = Snapshot()
    ledger: tuple[Entry, ...] = ()
    signs: tuple[Sign, ...] = ()
    notes: tuple[str, ...] = ()
    log: LogRead | None = Field(default=None, exclude=True)

    @property
    def has_bus(self) -> bool:
        """Whether there was any bus to read."""
        return bool(self.snapshot.devices or self.snapshot.controllers)


class Advice(Document):
    """What Portmend says of a case: `portmend/advice/1`. `together` are pairs of causes that may both be at work;
    `contradictions` are answers that can't all be true, each with the question to put once more."""

    schema_: Literal["portmend/advice/1"] = Field(default="portmend/advice/1", alias="schema")
    causes: tuple[Finding, ...]
    together: tuple[tuple[str, str], ...] = ()
    next_question: Question | None = None
    contradictions: tuple[Contradiction, ...] = ()
    plan: Plan = Plan()
    notes: tuple[str, ...] = ()


class CompareDocument(Comparison):
    """Two looks side by side: `portmend/compare/1`."""

    schema_: Literal["portmend/compare/1"] = Field(default="portmend/compare/1", alias="schema")


class KindChoice(Document):
    """A typical device to choose: `means` is its word among the answers to 'what is it?'; `source` says where its
    figures are from."""

    id: str
    title: str
    means: str
    source: str


class FitDocument(Document):
    """Whether one more of a kind fits: `portmend/fit/1`."""

    schema_: Literal["portmend/fit/1"] = Field(default="portmend/fit/1", alias="schema")
    kind: KindChoice
    fit: Fit
