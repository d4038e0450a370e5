"""Where one run of `portmend ask` stands, and what each of its pages gets to work with."""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Literal

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.terminal.screen import Screen

Page = Literal["trouble", "look", "subject", "ledger", "questions", "findings", "plan", "again", "report", "end"]


@dataclass(frozen=True)
class Desk:
    """What every page works with."""

    services: wiring.Services
    screen: Screen


@dataclass(frozen=True)
class Talk:
    """One run of the wizard. `symptoms` are those ticked, the worst first; `no_bus_here` is true once a look at this
    computer found nothing; `step` is the step to check again; `path` is where the case is saved."""

    page: Page = "trouble"
    symptoms: tuple[str, ...] = ()
    case: Case | None = None
    look: Look | None = None
    no_bus_here: bool = False
    step: str | None = None
    path: Path | None = None

    def to(self, page: Page) -> "Talk":
        """The same talk on another page."""
        return replace(self, page=page)


def kept(desk: Desk, talk: Talk, case: Case, page: Page) -> Talk:
    """The talk with a changed case, which is saved; goes on unsaved, and says so, if that can't be done."""
    path = talk.path
    try:
        path = wiring.save_case(case, talk.path)
    except BadInputError as failure:
        desk.screen.say(f"The case could not be saved: {failure}")
    return replace(talk, case=case, path=path, page=page)


def now() -> str:
    """The local time to the second, as the window records it, too."""
    return datetime.now().isoformat(" ", "seconds")


def case_of(talk: Talk) -> Case:
    """The case; pages after the first two always have one."""
    if talk.case is None:
        raise ValueError(f"the page {talk.page!r} was reached without a case")
    return talk.case
