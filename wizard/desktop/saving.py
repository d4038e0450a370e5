"""Keeps the case on disk as it grows: after every change, off to the side, each case in one file of its own."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from wizard.case.model import Case
from wizard.desktop.engine import Engine
from wizard.desktop.jobs import Job, Runner
from wizard.desktop.session import Session
from wizard.observe.seen import Watcher

KIND = "save"
"""How the kind of every saving job begins: closing waits for these."""


@dataclass(frozen=True)
class Saved:
    """Where the case of a line now lies."""

    line: int
    path: Path


class Saver:
    """Saves the cases of one window. A demo is nobody's trouble and is not saved."""

    def __init__(
        self, runner: Runner, lane: str, saved: Callable[[Saved], None], failed: Callable[[Exception], None]
    ) -> None:
        self._runner, self._lane, self._saved, self._failed = runner, lane, saved, failed
        self._last: Case | None = None
        self._files: dict[int, Path] = {}

    def save(self, session: Session, engine: Engine) -> None:
        """Save the case of a session if it has changed since the last call and is worth a file."""
        case, line = session.case, session.line
        if case is None or case is self._last or session.page == "trouble" or session.demo is not None:
            return
        self._last = case
        if session.path is not None:
            self._files.setdefault(line, session.path)

        def work(_watcher: Watcher) -> Saved:
            # Saves take turns, so the new name that the first one found is known to the second.
            self._files[line] = engine.save_case(case, self._files.get(line))
            return Saved(line, self._files[line])

        self._runner.start(Job(f"{KIND} {line}", work, self._saved, self._failed, lane=self._lane))
