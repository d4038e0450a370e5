"""The strip map: the bus as strips of sockets with cords and plugs, budgets on the strips, and what-ifs.

A widget that stands by itself. Give it a look (`show_look`), a bench when there is one (`allow_trying`), the planner's
stages when there are some (`show_stages`). It changes nothing real and knows no session.
"""

from collections.abc import Iterable, Sequence

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAccessible, QAccessibleEvent
from PySide6.QtWidgets import QHBoxLayout, QPlainTextEdit, QStackedWidget, QVBoxLayout, QWidget

from wizard.budget.what_if import Bench
from wizard.bus.errors import BadInputError
from wizard.case.documents import Look
from wizard.desktop import theme
from wizard.desktop.strip_layout import folded_at_first, lay_out, opened_to
from wizard.desktop.strip_trial_words import difference_line, stage_words
from wizard.desktop.strip_words import as_text
from wizard.desktop.trying import Stage, State, Trial, differences
from wizard.desktop.widgets.strip_bars import ToolRow
from wizard.desktop.widgets.strip_canvas import NOTCH, StripCanvas
from wizard.desktop.widgets.strip_details import LINES as DETAILS_HIGH
from wizard.desktop.widgets.strip_details import StripDetails
from wizard.desktop.widgets.strip_panels import HIGH as PANEL_HIGH
from wizard.desktop.widgets.strip_panels import StagePanel, TrialPanel
from wizard.desktop.widgets.strip_search import found_plugs
from wizard.desktop.widgets.strip_view import Spot, View
from wizard.diagnosis.texts import Texts
from wizard.report.arrange_part import socket_words

MOST_CHANGES = 3
"""Budgets named in a what-if; the bands show the rest: common practice (no source)."""


SMALLEST_UNASKED = 0.8
"""Zoom below which nothing is drawn unless asked for: text of the user's own size must stay legible."""


class StripMap(QWidget):
    """The strips of a look.

    `place_chosen` says that the user wants to know of a place: its name, and the ids at which evidence about it may
    stand; an empty set when the choice is taken back. `ticked` brings the ids of all devices ticked as misbehaving.
    """

    place_chosen = Signal(str, frozenset)
    ticked = Signal(tuple)

    def __init__(self, texts: Texts, ticking: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._texts = texts
        self.view = View(ticking=ticking)
        self._seen = State(Look().snapshot, ())
        self._trial: Trial | None = None
        self._trials: list[Trial] = []
        self._preview: State | None = None
        self._stages: Sequence[Stage] = ()
        self._stage = 0
        self._laid_for = 0.0
        self.canvas = StripCanvas(self.view)
        self.canvas.setAccessibleName(self.tr("Strips, sockets and plugs"))
        self.tools = ToolRow()
        self.trial_panel = TrialPanel()
        self.stage_panel = StagePanel()
        self.details = StripDetails(texts)
        self.listing = QPlainTextEdit()
        self.listing.setReadOnly(True)
        self.listing.setTabChangesFocus(True)
        self.listing.setAccessibleName(self.tr("What hangs where, as text"))
        self._stack = QStackedWidget()
        self._stack.addWidget(self.canvas)
        self._stack.addWidget(self.listing)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(0.35))
        self._foot = QWidget()
        foot = QHBoxLayout(self._foot)
        foot.setContentsMargins(0, 0, 0, 0)
        foot.setSpacing(theme.px(0.35))
        foot.addWidget(self.details, 3)
        foot.addWidget(self.trial_panel, 2)
        foot.addWidget(self.stage_panel, 2)
        column.addWidget(self.tools)
        column.addWidget(self._stack, 1)
        column.addWidget(self._foot)
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.timeout.connect(self._lay_out_if_needed)
        self._connect()
        self.setFocusProxy(self.canvas)

    def _connect(self) -> None:
        canvas, tools = self.canvas, self.tools
        canvas.went.connect(self._go)
        canvas.pointed.connect(self._point)
        canvas.pressed.connect(self._press)
        canvas.lifted.connect(self._lift)
        canvas.carried.connect(self._carry)
        canvas.dropped.connect(self._drop)
        canvas.put_back.connect(self._put_back)
        canvas.tick_wanted.connect(self._tick)
        canvas.search_wanted.connect(lambda: tools.search.setFocus(Qt.FocusReason.ShortcutFocusReason))
        canvas.resized.connect(lambda: self._again.start(0))
        canvas.zoomed.connect(lambda _zoom: self._again.start(120))
        tools.searched.connect(self._search)
        tools.next_wanted.connect(self._next_found)
        tools.zoom_wanted.connect(self._zoom)
        tools.folds_wanted.connect(self._fold_hubs)
        tools.text_wanted.connect(self._show_text)
        self.trial_panel.undo_wanted.connect(self._undo)
        self.trial_panel.reset_wanted.connect(self.reset)
        self.stage_panel.stepped.connect(self._step)
        self.stage_panel.left.connect(lambda: self._go_to_stage(0))

    # ---- what is shown

    def show_look(self, look: Look, subject: Iterable[str] = ()) -> None:
        """Show another look, as it was seen; whatever was tried on the one before is dropped."""
        self._seen = State(look.snapshot, look.ledger)
        self._trial, self._trials, self._stages, self._stage = None, [], (), 0
        view = self.view
        view.current = view.hover = view.chosen = view.held = view.target = view.found = None
        view.folded = folded_at_first(self._seen.picture, tuple(subject))
        self.canvas.movable = False
        self.tools.search.clear()
        self.trial_panel.hide()
        self.stage_panel.hide()
        self._show(self._seen)
        self._zoom_to_width()
        self.canvas.horizontalScrollBar().setValue(0)
        self.canvas.verticalScrollBar().setValue(0)
        self._tell()

    def allow_trying(self, bench: Bench) -> None:
        """From now on plugs can be moved about on trial, from this bench on."""
        self._trial = Trial.on(bench)
        self._trials = []
        self._seen = self._trial.state
        self.canvas.movable = True
        self._show_now()

    def show_stages(self, stages: Sequence[Stage]) -> None:
        """Offer the planner's moves one by one; none takes the offer back."""
        self._stages, self._stage = stages, 0
        self._show_now()

    @property
    def state(self) -> State:
        """What is shown now: as it was seen, as it was tried, or as the planner would have it."""
        if self._stage:
            return self._stages[self._stage].state
        return self._trial.state if self._trial is not None else self._seen

    @property
    def is_what_if(self) -> bool:
        """Whether something else than what was seen is shown."""
        return bool(self._stage or self._trials)

    def _show_now(self) -> None:
        self._show(self.state)
        self._tell_trial()
        self._tell_stage()
        self._tell()

    def _show(self, state: State) -> None:
        view = self.view
        view.picture, view.bands, view.moved = state.picture, state.bands, state.moved
        view.before = self._seen.bands if self.is_what_if else None
        view.what_if = self.is_what_if
        self._lay_out()
        self.listing.setPlainText(as_text(state.picture, state.bands))

    def _lay_out(self) -> None:
        view = self.view
        view.folded &= frozenset(view.picture.strips)
        self._laid_for = self.canvas.width_in_lines()
        view.layout = lay_out(view.picture, view.bands, view.folded, self._laid_for)
        hubs = any(s.kind == "hub" for s in view.picture.strips.values())
        self.tools.show_folds(any(view.picture.strips[k].kind == "hub" for k in view.folded), hubs)
        self.canvas.view_changed()

    def _lay_out_if_needed(self) -> None:
        if abs(self.canvas.width_in_lines() - self._laid_for) > 0.5:
            self._lay_out()

    def _zoom_to_width(self) -> None:
        """A picture a little too wide is drawn a little smaller, rather than to be scrolled sideways."""
        wide = self.view.layout.width
        share = self.canvas.width_in_lines() * self.canvas.zoom / wide if wide else 1.0
        self.canvas.set_zoom(min(max(share, SMALLEST_UNASKED), 1.0))
        self._lay_out()

    # ---- going about

    def _go(self, spot: Spot) -> None:
        self.view.current = spot
        self.canvas.viewport().update()
        self._tell()

    def _point(self, spot: Spot | None) -> None:
        if spot != self.view.hover:
            self.view.hover = spot
            self.canvas.viewport().update()
            self._tell()

    def _press(self, spot: Spot) -> None:
        if spot.part == "fold":
            self._fold(spot.key)
        elif spot.part == "tick":
            plug = self.view.picture.holes[spot.key].plug
            if plug is not None:
                self._tick(plug.key)
        else:
            self._choose(None if spot.place == self.view.chosen else spot.place)

    def _choose(self, spot: Spot | None) -> None:
        self.view.chosen = spot
        self.canvas.viewport().update()
        if spot is None:
            self.place_chosen.emit("", frozenset())
            return
        picture = self.view.picture
        if spot.part == "strip":
            strip = picture.strips[spot.key]
            self.place_chosen.emit(strip.name, frozenset(strip.places))
            return
        hole = picture.holes[spot.key]
        name = hole.plug.name if hole.plug is not None else hole.id
        ids = {*hole.halves, *(hole.plug.halves if hole.plug is not None else ())}
        own = {e.where for e in self.view.bands.at(hole.key, strip=False)}
        self.place_chosen.emit(name, frozenset(ids | own))

    def forget_choice(self) -> None:
        """No place is chosen any more."""
        if self.view.chosen is not None:
            self._choose(None)

    def _fit_foot(self) -> None:
        """The foot is higher while a panel stands in it."""
        panels = any(not panel.isHidden() for panel in (self.trial_panel, self.stage_panel))
        self._foot.setFixedHeight(theme.px(PANEL_HIGH if panels else DETAILS_HIGH))

    def _tell(self) -> None:
        """Say in words where pointer or keyboard is."""
        view = self.view
        self._fit_foot()
        spot = view.hover or view.current
        usual = self.tr("Point at a strip, a socket or a band to see what is known of it.")
        if self._trial is not None:
            usual += " " + self.tr("Drag a plug to another socket to see what would change.")
        title = self.details.tell(spot, view.picture, view.bands, self.state.tree, usual)
        if view.hover is None and view.current is not None:
            said = f"{title}. {self.details.words.text()}"
            if said != self.canvas.accessibleDescription():
                self.canvas.setAccessibleDescription(said)
                QAccessible.updateAccessibility(QAccessibleEvent(self.canvas, QAccessible.Event.DescriptionChanged))

    # ---- folding, zooming, searching, text

    def _fold(self, strip: str) -> None:
        self.view.folded ^= {strip}
        self._lay_out()
        self.canvas.show_spot(Spot("strip", strip))
        self._go(Spot("strip", strip))

    def _fold_hubs(self, fold: bool) -> None:
        hubs = {s.key for s in self.view.picture.strips.values() if s.kind == "hub" and s.holes}
        self.view.folded = frozenset(hubs) if fold else frozenset()
        self._lay_out()

    def _zoom(self, step: int) -> None:
        if step:
            self.canvas.set_zoom(self.canvas.zoom * NOTCH**step)
        else:
            self.canvas.fit()
        self.canvas.setFocus()

    def _search(self, text: str) -> None:
        found = found_plugs(self.view.picture, self.state.tree, text)
        self.view.found = None if found is None else frozenset(found)
        self.tools.show_found(None if found is None else len(found))
        if found:
            self._show_plug(found[0])
        self.canvas.viewport().update()

    def _next_found(self) -> None:
        found = found_plugs(self.view.picture, self.state.tree, self.tools.search.text())
        if found:
            here = self.view.current.key if self.view.current is not None else ""
            holes = [self.view.picture.hole_of[plug] for plug in found]
            self._show_plug(found[(holes.index(here) + 1) % len(found) if here in holes else 0])

    def _show_plug(self, plug: str) -> None:
        view = self.view
        folded = opened_to(view.picture, view.folded, plug)
        if folded != view.folded:
            view.folded = folded
            self._lay_out()
        spot = Spot("hole", view.picture.hole_of[plug])
        self.canvas.show_spot(spot, centred=True)
        self._go(spot)

    def _show_text(self, text: bool) -> None:
        self._stack.setCurrentWidget(self.listing if text else self.canvas)
        self.tools.picture_shown(not text)
        self._foot.setVisible(not text)

    # ---- ticks

    def show_ticks(self, devices: Iterable[str]) -> None:
        """Tick exactly the plugs of these devices."""
        wanted = set(devices)
        plugs = (h.plug for h in self.view.picture.holes.values())
        self.view.ticks = frozenset(p.key for p in plugs if p is not None and wanted & {p.key, *p.halves})
        self.canvas.viewport().update()

    def _tick(self, plug: str) -> None:
        self.view.ticks ^= {plug}
        self.canvas.viewport().update()
        self.ticked.emit(tuple(k for k in self.view.picture.hole_of if k in self.view.ticks))

    # ---- what if

    def _lift(self, plug: str, _hole: str) -> None:
        if self._trial is None or self._stage:
            return
        hole = self.view.picture.holes[self.view.picture.hole_of[plug]]
        if hole.hold == "built_in":
            self.trial_panel.tell(self.tr("This one is built in and can't be moved."), "", bool(self._trials))
            return
        self.view.held = plug
        self._carry(None)

    def _carry(self, hole: str | None) -> None:
        """A held plug is over a socket: show what it would do there."""
        view = self.view
        if view.held is None or self._trial is None:
            return
        plug = view.picture.plug(view.held)
        assert plug is not None
        view.target, view.refused, self._preview = hole, False, None
        head = self.tr("What if: %1").replace("%1", plug.name)
        words = self.tr("Bring it to a socket and let go, or press Space there. Escape puts it back.")
        if hole is not None and hole != view.picture.hole_of[plug.key]:
            head = self._what_if_words(plug.name, hole)
            try:
                self._preview = self._trial.moved(plug, view.picture.holes[hole]).state
                words = self._changes(self._preview)
            except BadInputError as error:
                view.refused = True
                words = self.tr("It can't go there: %1.").replace("%1", error.problem)
        shown = self._preview or self._trial.state
        view.bands = shown.bands
        view.what_if = True
        view.before = self._seen.bands if self._preview is not None or self.is_what_if else None
        self.trial_panel.tell(head, words, moved=False)
        self._fit_foot()
        self.canvas.viewport().update()

    def _what_if_words(self, name: str, hole: str) -> str:
        where = socket_words(self.view.picture.holes[hole].id, self.state.tree)
        return self.tr("What if: %1 in %2").replace("%2", where).replace("%1", name)

    def _changes(self, state: State) -> str:
        found = [d for d in differences(self._seen, state) if d.matters]
        lines = [difference_line(d, state.tree, self._seen.tree, self._texts) for d in found[:MOST_CHANGES]]
        if len(found) > MOST_CHANGES:
            lines.append(
                self.tr("%1 more changed; see the notches on the bands.").replace("%1", str(len(found) - MOST_CHANGES))
            )
        return "\n".join(lines) or self.tr("No budget that is short would change.")

    def _drop(self) -> None:
        view = self.view
        if view.held is None or self._trial is None:
            return
        plug, target = view.picture.plug(view.held), view.target
        if plug is not None and target is not None and target != view.picture.hole_of[plug.key] and not view.refused:
            before = self._trial
            self._trial = self._trial.moved(plug, view.picture.holes[target])
            self._trials.append(before)
            view.current = Spot("hole", target)
        self._put_back()
        if target is not None and view.current is not None:
            self.canvas.show_spot(view.current)

    def _put_back(self) -> None:
        """The plug is no longer held; what was tried before stays."""
        self.view.held = self.view.target = self._preview = None
        self.view.refused = False
        self._show_now()

    def _undo(self) -> None:
        if self._trials:
            self._trial = self._trials.pop()
            self._show_now()
            self.canvas.setFocus()

    def reset(self) -> None:
        """Back to what was seen."""
        if self._trials:
            self._trial = self._trials[0]
            self._trials = []
        self._put_back()
        self.canvas.setFocus()

    def _tell_trial(self) -> None:
        if not self._trials or self._trial is None:
            self.trial_panel.hide()
            return
        state = self._trial.state
        names = [p.name for k in state.moved if (p := state.picture.plug(k)) is not None]
        head = self.tr("What if: %1 moved").replace("%1", ", ".join(names) or self.tr("nothing"))
        self.trial_panel.tell(head, self._changes(state), moved=True)

    # ---- the planner's moves

    def _step(self, by: int) -> None:
        self._go_to_stage(min(max(self._stage + by, 0), len(self._stages) - 1))

    def _go_to_stage(self, number: int) -> None:
        self._stage = number
        self._trials = []
        if self._trial is not None:
            self._trial = Trial.on(self._trial.bench) if self._trial.steps == () else self._trial
        self._show_now()
        move = self._stages[number].move if self._stages else None
        if move is not None and move.device in self.view.picture.hole_of:
            self._show_plug(move.device)

    def _tell_stage(self) -> None:
        if len(self._stages) < 2:
            self.stage_panel.hide()
            return
        last = len(self._stages) - 1
        head, words = stage_words(self._stages, self._stage)
        self.stage_panel.tell(
            head, words if not self._stage else f"{words}\n{self._changes(self.state)}", self._stage, last
        )
