"""What a diagnosis says: causes with what speaks for and against them, and the next useful question."""

from typing import Literal

from pydantic import Field

from wizard.bus.document import Document


class Evidence(Document):
    """One reason. `on` names the observation, sign or ledger entry; `weight` is in decibans, always positive:
    whether it speaks for or against is said by where it stands."""

    on: str
    weight: float
    why: str
    source: str


class Finding(Document):
    """One cause with its share of belief (0 to 1) and its reasons."""

    id: str
    share: float
    for_: tuple[Evidence, ...] = Field(default=(), alias="for")
    against: tuple[Evidence, ...] = ()


class Question(Document):
    """The next useful question. `values` are the answers it takes, `unknown` among them; `many` allows several.

    `labels` give each value in plain words; for a test, `how` says how to do it safely and `means` what each
    outcome will tell, before it is done. `drawing` names a small drawing among the resources, and `drawing_words`
    say what it shows to whoever cannot see it.
    """

    id: str
    observation: str
    text: str
    why: str
    kind: Literal["ask", "test"]
    values: tuple[str | float, ...]
    effort_min: float
    many: bool = False
    unit: str | None = None
    help: str | None = None
    how: str | None = None
    drawing: str | None = None
    drawing_words: str | None = None
    labels: dict[str, str] = Field(default_factory=dict)
    means: dict[str, str] = Field(default_factory=dict)


class Contradiction(Document):
    """Answers that can't all be true. `question` is the doubtful one to put again, its `why` naming the
    contradiction; `settled` once that was done, whatever the answer. Until they agree, their evidence counts less."""

    id: str
    observations: tuple[str, ...]
    why: str
    question: Question
    settled: bool = False
