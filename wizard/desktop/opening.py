"""The first page, usable at once, while everything heavy is loaded off to the side.

Rulebook, documents and the other pages take several times as long to load as the window takes to stand. What is
ticked or pressed meanwhile is kept and carried out as soon as there is somebody to do it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from wizard.bus.errors import PortmendError
from wizard.desktop.crash import Boundary
from wizard.desktop.jobs import Job, Runner
from wizard.desktop.page import Action
from wizard.desktop.pages.trouble import Offer, TroublePage
from wizard.desktop.window import Window
from wizard.store import resources

if TYPE_CHECKING:
    from wizard.desktop.engine import Engine
    from wizard.desktop.presenter import Presenter

    Loaded = tuple[type[Presenter], Engine]


class Opening(QObject):
    """A window with its first page, until the presenter takes over. `ready` says that it has."""

    ready = Signal()

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self.window = window
        self.runner = Runner()
        self.presenter: Presenter | None = None
        self.load: Callable[[], Loaded] = load_rest
        self._boundary = Boundary(window, lambda: None)
        self._page: TroublePage | None = None
        self._ticked: tuple[str, ...] = ()
        self._wish: Callable[[Presenter], object] | None = None
        window.before_close = self.runner.close
        window.new_wanted.connect(lambda: self._choose((), None))
        window.open_wanted.connect(lambda: self.wish(lambda presenter: presenter.open_case(None)))
        window.last_wanted.connect(lambda: self.wish(lambda presenter: presenter.open_last()))

    def start(self) -> None:
        """Show the first page, then load the rest."""
        self._boundary.install()
        offers = symptom_offers()
        if offers:
            self._page = TroublePage(offers)
            self._page.chosen.connect(self._choose)
            self._page.go_on.connect(lambda: self.wish(lambda presenter: presenter.go_on()))
            self._page.open_wanted.connect(lambda path: self.wish(lambda presenter: presenter.open_case(path)))
            self.window.pages.put("trouble", self._page)
            self._show()
        # Loading takes Python's time from the first drawing, so it begins after that: once nothing more is pending,
        # and the first drawing is pending only when the window has come up.
        QTimer.singleShot(0, lambda: QTimer.singleShot(0, self._load_rest))

    def _load_rest(self) -> None:
        self.runner.start(Job("load", lambda _watcher: self.load(), self._take_over, self._failed))

    def wish(self, what: Callable[[Presenter], object]) -> None:
        """Do this as soon as there is a presenter; of several wishes the last one counts."""
        if self.presenter is None:
            self._wish = what
            self._show()

    def _choose(self, ticked: tuple[str, ...], worst: str | None) -> None:
        if self._page is None or self.presenter is not None:
            return
        first = worst or next((s for s in self._ticked[:1] if s in ticked), None)
        self._ticked = ticked if first is None else (first, *(s for s in ticked if s != first))
        self._page.show_ticks(self._ticked)
        self._show()

    def _show(self) -> None:
        if self._page is not None:
            waits = self._wish is not None
            words = self.tr("One moment…") if waits else self.tr("&Go on")
            self.window.show_opening(Action(words, bool(self._ticked) and not waits))

    def _take_over(self, loaded: Loaded) -> None:
        kind, engine = loaded
        if self._page is not None:
            for signal in (self._page.chosen, self._page.go_on, self._page.open_wanted):
                signal.disconnect()
        for wanted in (self.window.new_wanted, self.window.open_wanted, self.window.last_wanted):
            wanted.disconnect()
        self.presenter = kind(self.window, self.runner, lambda: engine)
        self.presenter.boundary.install()
        self.presenter.take(engine)
        if self._wish is not None:
            self._wish(self.presenter)
        self.ready.emit()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, PortmendError):
            self._boundary.report(error)
        words = self.tr("Portmend can’t go on: what it knows could not be read. Installing it again mends that.")
        self.window.show_waiting(f"{words}\n\n{error}")


def load_rest() -> Loaded:
    """Everything that the first page does without. Raises RulebookError."""
    from wizard.desktop.presenter import Presenter
    from wizard.desktop.wired import WiredEngine

    return Presenter, WiredEngine()


def symptom_offers(root: Path | None = None) -> tuple[Offer, ...]:
    """What the first page offers, read from its two files alone; nothing where they are not as they should be: the
    rulebook's own reader says what is wrong."""
    home = root or resources.root()
    try:
        bones = tomllib.loads((home / "rulebook" / "symptoms.toml").read_text("utf-8"))["symptom"]
        words = tomllib.loads((home / "texts" / "en" / "symptoms.toml").read_text("utf-8"))["symptom"]
        return tuple(
            Offer(s["id"], words[s["id"]]["title"], words[s["id"]]["words"], bool(s.get("main"))) for s in bones
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return ()
