"""Where one run of the wizard stands, as a value: which page, the case, and what was worked out from it.

Knows no Qt and decides nothing; `flow` makes new sessions out of old ones. Whatever was worked out
(advice, comparison, verdict) is dropped in the same step that changes what it rests on, so a session
never holds a result that does not belong to its case.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case, Outcome, Value
from wizard.desktop.places import ASIDES, PAGES, Aside, Page, Place
from wizard.desktop.trying import Stage, Trial
from wizard.diagnosis.advice import Question
from wizard.diagnosis.rulebook import UNKNOWN
from wizard.plan.arrange.options import Arrangements
from wizard.plan.verdict import Verdict
from wizard.store.demos import Demo

__all__ = ["ASIDES", "MOST_QUESTIONS", "PAGES", "Aside", "Doubt", "Page", "Place", "Session", "ShownQuestion", "Source"]

SourceKind = Literal["live", "captured", "described", "demo", "saved", "none"]

MOST_QUESTIONS = 12
"""A dialogue ends in a plan within this many questions."""


@dataclass(frozen=True)
class Source:
    """Where a look comes from. `name` is the path of a capture or saved case, or the name of a demo."""

    kind: SourceKind
    name: str = ""


@dataclass(frozen=True)
class Doubt:
    """A contradiction of the advice, by its id, and the page from which its question was put once more."""

    contradiction: str
    back_to: Page


@dataclass(frozen=True)
class Session:
    """One run of the wizard.

    `ticked` are the symptoms of the case, the worst one first; empty while none is ticked, though the case
    may be kept. `own_ticks` are the user's own while a demo with its own symptoms is shown. `reached` is the
    furthest page whose way there still holds. `revision` counts changes of the case: a result that was worked
    out for another revision is thrown away; `looks` counts looks in the same sense. `remembered` holds
    answers that were taken out of the case because something before them changed: offered again, never counted.
    `cursor` is the position in `case.asked` of the answered question that is being looked at again;
    None means the open question; `doubt` is a contradiction whose doubtful answer is being looked at. `line`
    counts cases begun: each has a file of its own, `path` once it is known. `desk` counts changes of what is plugged
    where, as far as it is known; `arranged` are the ways to plug it better, None until they were worked out.
    `trial` is the desk set up for what-ifs, and `stages` every moment of each arrangement, both for this `desk` and
    None until they were worked out.
    `advice_due` is true where marks changed and the plan is being renewed, `to_check` where a step is said to have
    helped and nothing was checked since. `other_machine` is true where the last
    look to check again was of another machine: it is not kept, and nothing is judged by it. `aside` is what
    stands open beside the page, if anything does.
    """

    page: Page = "trouble"
    reached: Page = "trouble"
    aside: Aside | None = None
    ticked: tuple[str, ...] = ()
    case: Case | None = None
    revision: int = 0
    source: Source | None = None
    look: Look | None = None
    looks: int = 0
    demo: Demo | None = None
    own_ticks: tuple[str, ...] = ()
    log_name: str | None = None
    advice: Advice | None = None
    advice_due: bool = False
    to_check: bool = False
    desk: int = 0
    arranged: Arrangements | None = None
    trial: Trial | None = None
    stages: tuple[tuple[Stage, ...], ...] | None = None
    remembered: Mapping[str, Value] = field(default_factory=dict)
    cursor: int | None = None
    doubt: Doubt | None = None
    after: Look | None = None
    outcome: Outcome | None = None
    comparison: CompareDocument | None = None
    other_machine: bool = False
    verdict: Verdict | None = None
    problem: str | None = None
    line: int = 0
    path: Path | None = None

    @property
    def known_answers(self) -> list[str]:
        """The observations asked about that were answered otherwise than with `don't know`."""
        given = {} if self.case is None else self.case.observations
        return [o for o in self.asked if given.get(o) not in (None, UNKNOWN)]

    @property
    def place(self) -> Place:
        """What is on show: what stands open beside the page, else the page."""
        return self.aside or self.page

    @property
    def asked(self) -> tuple[str, ...]:
        """Observations answered so far, in the order the questions came."""
        return () if self.case is None else self.case.asked

    @property
    def users_ticks(self) -> tuple[str, ...]:
        """The symptoms that the user is here for, whatever a demo shows meanwhile. A demo opened from a file hides
        none, so its own are as good as any."""
        return self.own_ticks or self.ticked if self.demo is not None else self.ticked

    @property
    def has_bus(self) -> bool:
        """Whether a look found a bus."""
        return self.look is not None and self.look.has_bus

    @property
    def can_go_past_look(self) -> bool:
        """Whether there is a bus to speak of, or the user chose to go on without one."""
        return self.has_bus or (self.source is not None and self.source.kind == "none")


@dataclass(frozen=True)
class ShownQuestion:
    """The question to show. `answer` is the one given (or remembered), `suggested` what the demo's user says."""

    question: Question
    number: int
    answer: Value | None
    suggested: Value | None
    given: bool
