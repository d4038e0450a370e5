"""How the history of a trouble ends, or what it waits for. Pure; the words are those of the texts (`ending.*`)."""

from collections.abc import Mapping
from typing import Literal

from wizard.bus.document import Document
from wizard.plan.steps import Plan
from wizard.plan.verdict import Word


class Ending(Document):
    """`solved` by a step (None where nobody marked one), `hand_over` to support when no step is left to try, else
    `open` with the step that comes next."""

    kind: Literal["solved", "hand_over", "open"]
    step: str | None = None


def ending(verdict: Word, marks: Mapping[str, str], plan: Plan) -> Ending:
    """The ending after the last check. `verdict` is that of it (`open` without one); `marks` by step in the order in
    which they were given."""
    if verdict == "solved":
        helped = [step for step, mark in marks.items() if mark == "helped"]
        done = [step for step, mark in marks.items() if mark == "done"]
        return Ending(kind="solved", step=next(iter([*reversed(helped), *reversed(done)]), None))
    # What cures nothing is the last resort: to hand the report on.
    left = [step.id for step in plan.steps if step.id not in marks and step.cures]
    return Ending(kind="open", step=left[0]) if left else Ending(kind="hand_over")
