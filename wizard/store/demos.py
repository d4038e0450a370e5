"""The demo scenarios: invented set-ups with a look before and a look after the fix.

They lie in `resources/demo/<name>`: `scenario.toml` with the story, `before.json` and `after.json` with
the snapshots.
"""

from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from wizard.budget.setup import Setup
from wizard.bus.document import Document
from wizard.bus.errors import BadInputError, RulebookError
from wizard.bus.model import Snapshot
from wizard.case.model import Outcome, Platform
from wizard.store.reading import read_document
from wizard.store.resources import read_toml, root


class Demo(Document):
    """One invented scenario.

    `answers` are what its user would answer, by observation; `outcome` is what the user says after the
    fix; `fix` says in one sentence what was done between the looks.
    """

    name: str
    title: str
    story: str
    symptom: str
    also: tuple[str, ...] = ()
    subject: tuple[str, ...] = ()
    platform: Platform = "linux"
    answers: dict[str, Any] = Field(default_factory=dict)
    log: str | None = None
    setup: Setup = Setup()
    before: Snapshot
    after: Snapshot
    outcome: Outcome
    fix: str


def demo_names(folder: Path | None = None) -> tuple[str, ...]:
    """Names of all demos, in order."""
    home = folder or root() / "demo"
    return tuple(sorted(file.parent.name for file in home.glob("*/scenario.toml")))


def load_demo(name: str, folder: Path | None = None) -> Demo:
    """One demo. Raises BadInputError for an unknown name and RulebookError for a broken scenario."""
    names = demo_names(folder)
    if name not in names:
        known = ", ".join(names) or "none"
        raise BadInputError(repr(name), "there is no demo of that name", f"These are there: {known}.")
    home = (folder or root() / "demo") / name
    try:
        parts: dict[str, Any] = {
            **read_toml(home / "scenario.toml"),
            "before": read_document(home / "before.json"),
            "after": read_document(home / "after.json"),
        }
        return Demo.model_validate({"name": name, **parts})
    except BadInputError as error:
        raise RulebookError((f"demo {name}, {Path(error.subject).name}: {error.problem}",)) from error
    except RulebookError as error:
        raise RulebookError(tuple(f"demo {name}, {problem}" for problem in error.problems)) from error
    except ValidationError as wrong:
        raise RulebookError(
            tuple(
                f"demo {name}, {'.'.join(str(part) for part in slip['loc'])}: {slip['msg']}"
                for slip in wrong.errors(include_url=False, include_input=False, include_context=False)
            )
        ) from wrong
