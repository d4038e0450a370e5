"""A screen with a script instead of a person, and the way a command line takes in tests."""

import io
import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import pytest

from wizard import wiring
from wizard.case.model import Case
from wizard.store.cases import save_case
from wizard.terminal.check import WindowChecks
from wizard.terminal.commands import execute
from wizard.terminal.screen import Screen


class Scripted:
    """Answers prompts from a list, then with the end of input; keeps what was shown."""

    def __init__(self, answers: Iterable[str] = (), width: int = 100) -> None:
        self.answers = list(answers)
        self.prompts: list[str] = []
        self.out = io.StringIO()
        self.err = io.StringIO()
        self.screen = Screen(self.out, self.err, self._ask, width)

    def _ask(self, prompt: str) -> str:
        self.prompts.append(prompt)
        self.out.write(f"{prompt}\n")
        if not self.answers:
            raise EOFError
        return self.answers.pop(0)

    @property
    def text(self) -> str:
        return self.out.getvalue()

    @property
    def notes(self) -> str:
        return self.err.getvalue()

    @property
    def document(self) -> Any:
        return json.loads(self.text)


Called = Callable[..., tuple[int, Scripted]]


@pytest.fixture(name="scripted")
def scripted_class() -> type[Scripted]:
    return Scripted


@pytest.fixture(scope="session")
def services() -> wiring.Services:
    return wiring.load_services()


@pytest.fixture
def call() -> Called:
    """Runs a command line in this process: exit code, and what was shown."""

    def _call(
        *argv: object, answers: Sequence[str] = (), pages: Callable[[], list[str]] = list
    ) -> tuple[int, Scripted]:
        script = Scripted(answers)
        window = WindowChecks(pages, lambda say: say("started") or 0)  # type: ignore[func-returns-value]  # terse stand-in
        return execute([str(word) for word in argv], window, script.screen), script

    return _call


@pytest.fixture
def demo_file(tmp_path: Path) -> Path:
    """A case saved from the first demo, with its user's answers."""
    demo = wiring.load_demo(wiring.demo_names()[0])
    case: Case = wiring.demo_case(demo).model_copy(update={"observations": demo.answers})
    path = tmp_path / "case.json"
    save_case(case, path)
    return path
