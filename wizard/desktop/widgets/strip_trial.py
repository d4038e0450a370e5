"""Plugs in the hand: picked up, carried over sockets, put down or put back, on trial. Reckons nothing itself.

Keeps what was tried and tells it on its panel; the map shows the state that results.
"""

from PySide6.QtCore import QObject, Signal

from wizard.bus.errors import BadInputError
from wizard.desktop.strip_trial_words import changes_words, verdict_line
from wizard.desktop.trying import State, Trial, seen_from
from wizard.desktop.widgets.strip_panels import TrialPanel
from wizard.desktop.widgets.strip_view import View
from wizard.report.arrange_part import socket_words


class StripTrial(QObject):
    """What is tried by hand on one map. `changed` says that another state is to be shown, `carried` that a plug that
    is held would do something else now; `put_down` brings the key of the socket a plug was put into."""

    changed = Signal()
    carried = Signal()
    put_down = Signal(str)

    def __init__(self, view: View, panel: TrialPanel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._view, self._panel = view, panel
        self._trials: list[Trial] = []
        panel.undo_wanted.connect(self.undo)
        panel.reset_wanted.connect(self.reset)

    def begin(self, trial: Trial) -> None:
        """From now on plugs can be moved, from this state on."""
        self._trials = [trial]

    def end(self) -> None:
        """Nothing can be moved any more, and nothing was."""
        self._trials = []
        self._view.held = self._view.target = None
        self._panel.hide()

    @property
    def state(self) -> State | None:
        """How everything is plugged now on trial; None where nothing can be tried."""
        return self._trials[-1].state if self._trials else None

    @property
    def seen(self) -> State | None:
        """How everything was before anything was tried."""
        return self._trials[0].state if self._trials else None

    @property
    def tried(self) -> bool:
        """Whether a plug was moved."""
        return len(self._trials) > 1

    def lift(self, plug: str) -> None:
        """Pick a plug up."""
        view = self._view
        if not self._trials:
            return
        if view.picture.holes[view.picture.hole_of[plug]].hold == "built_in":
            self._panel.tell(self.tr("This one is built in and can't be moved."), "", "", moved=self.tried)
            self.carried.emit()
            return
        view.held = plug
        self.carry(None)

    def carry(self, hole: str | None) -> None:
        """A held plug is over a socket, or over none: tell what it would do there."""
        view = self._view
        plug = view.picture.plug(view.held or "")
        if plug is None or not self._trials:
            return
        view.target, view.refused = hole, False
        shown = self._trials[-1].state
        bands = shown.bands
        head = self.tr("What if: %1").replace("%1", plug.name)
        verdict = ""
        words = self.tr("Bring it to a socket and let go, or press Space there. Escape puts it back.")
        if hole is not None and hole != view.picture.hole_of[plug.key]:
            where = socket_words(view.picture.holes[hole].id, shown.tree)
            head = self.tr("What if: %1 in %2").replace("%2", where).replace("%1", plug.name)
            try:
                shown = self._trials[-1].moved(plug, view.picture.holes[hole]).state
                bands = seen_from(self._trials[-1].state, shown)
                verdict = verdict_line(self._trials[0].state, shown)
                words = changes_words(self._trials[0].state, shown)
            except BadInputError as error:
                view.refused = True
                words = self.tr("It can't go there: %1.").replace("%1", error.problem)
        view.bands, view.before, view.what_if = bands, self._trials[0].state.bands, True
        self._panel.tell(head, verdict, words, moved=False)
        self.carried.emit()

    def drop(self) -> None:
        """Let go of the plug that is held: it goes into the socket it is over, or back."""
        view = self._view
        plug, target = view.picture.plug(view.held or ""), view.target
        if plug is not None and target not in (None, view.picture.hole_of[plug.key]) and not view.refused:
            assert target is not None
            self._trials.append(self._trials[-1].moved(plug, view.picture.holes[target]))
            self.put_back()
            self.put_down.emit(target)
        else:
            self.put_back()

    def put_back(self) -> None:
        """Nothing is held any more; what was tried before stays."""
        self._view.held = self._view.target = None
        self._view.refused = False
        self.changed.emit()

    def undo(self) -> None:
        """Take the last move back."""
        if self.tried:
            self._trials.pop()
            self.put_back()

    def reset(self) -> None:
        """Back to what was seen."""
        del self._trials[1:]
        self.put_back()

    def tell(self) -> None:
        """Say on the panel what was tried; hide it where that is nothing."""
        if not self.tried:
            self._panel.hide()
            return
        state = self._trials[-1].state
        names = [p.name for k in state.moved if (p := state.picture.plug(k)) is not None]
        head = self.tr("What if: %1 moved").replace("%1", ", ".join(names) or self.tr("nothing"))
        start = self._trials[0].state
        self._panel.tell(head, verdict_line(start, state), changes_words(start, state), moved=True)
