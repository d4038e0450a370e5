"""The strip map: the bus as strips of sockets with cords and plugs, budgets on the strips, and what-ifs.

A widget that stands by itself. Give it a look (`show_look`), a trial when there is one (`allow_trying`), the planner's
stages when there are some (`show_stages`). It changes nothing real and knows no session.
"""

from collections.abc import Iterable, Sequence

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAccessible, QAccessibleEvent, QResizeEvent
from PySide6.QtWidgets import QPlainTextEdit, QStackedWidget, QVBoxLayout, QWidget

from wizard.case.documents import Look
from wizard.desktop import theme
from wizard.desktop.strip_layout import empty_ones, fitting_zoom, folded_at_first, lay_out, opened_to, opened_to_strip
from wizard.desktop.strip_trial_words import changes_words, stage_words, verdict_line
from wizard.desktop.strip_words import as_text
from wizard.desktop.trying import Stage, State, Trial
from wizard.desktop.widgets.strip_bars import ToolRow
from wizard.desktop.widgets.strip_canvas import LEAST, NOTCH, StripCanvas
from wizard.desktop.widgets.strip_foot import StripFoot
from wizard.desktop.widgets.strip_search import found_plugs, overdrawn
from wizard.desktop.widgets.strip_trial import StripTrial
from wizard.desktop.widgets.strip_view import Spot, View
from wizard.diagnosis.texts import Texts

SMALLEST_UNASKED = 0.8
"""Zoom below which nothing is drawn unless asked for: text of the user's own size must stay legible."""

HIGH_ENOUGH = 22.0
"""Height of the map in lines of text from which the keys are told below it: common practice (no source)."""


class StripMap(QWidget):
    """The strips of a look.

    `place_chosen` says that the user wants to know of a place: its name, and the ids at which evidence about it may
    stand; an empty set when the choice is taken back. `ticked` brings the ids of all devices ticked as misbehaving.
    """

    place_chosen = Signal(str, frozenset)
    ticked = Signal(tuple)

    def __init__(self, texts: Texts, ticking: bool = False, small: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._texts = texts
        self.view = View(ticking=ticking)
        self._seen = State(Look().snapshot, ())
        self._stages: Sequence[Stage] = ()
        self._stage = 0
        self._laid_for = 0.0
        self._last: frozenset[str] = frozenset()
        self.canvas = StripCanvas(self.view)
        self.canvas.setAccessibleName(self.tr("Strips, sockets and plugs"))
        self.tools = ToolRow()
        self._foot = StripFoot(texts, small)
        self.details, self.trial_panel, self.stage_panel = self._foot.details, self._foot.trial, self._foot.stage
        self.trial = StripTrial(self.view, self.trial_panel, self)
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
        canvas.lifted.connect(lambda plug, _hole: None if self._stage else self.trial.lift(plug))
        canvas.carried.connect(self.trial.carry)
        canvas.dropped.connect(self.trial.drop)
        canvas.put_back.connect(self.trial.put_back)
        self.trial.changed.connect(self._show_now)
        self.trial.carried.connect(self._carried)
        self.trial.put_down.connect(self._put_down)
        canvas.tick_wanted.connect(self._tick)
        canvas.fit_wanted.connect(self.fit)
        canvas.search_wanted.connect(lambda: tools.search.setFocus(Qt.FocusReason.ShortcutFocusReason))
        canvas.resized.connect(lambda: self._again.start(0))
        canvas.zoomed.connect(lambda _zoom: self._again.start(120))
        tools.searched.connect(self._search)
        tools.next_wanted.connect(self._next_found)
        tools.overdrawn_wanted.connect(self._next_overdrawn)
        tools.zoom_wanted.connect(self._zoom)
        tools.folds_wanted.connect(self._fold_hubs)
        tools.text_wanted.connect(self._show_text)
        for button in (self.trial_panel.undo, self.trial_panel.reset):
            button.clicked.connect(canvas.setFocus)
        self.stage_panel.stepped.connect(self._step)
        self.stage_panel.left.connect(lambda: self._go_to_stage(0))

    # ---- what is shown

    def show_look(self, look: Look, subject: Iterable[str] = ()) -> None:
        """Show another look, as it was seen; whatever was tried on the one before is dropped."""
        self._seen = State(look.snapshot, look.ledger)
        self.trial.end()
        self._stages, self._stage = (), 0
        self._last = empty_ones(self._seen.picture)  # and stays so, lest strips change places while plugs are tried
        view = self.view
        view.current = view.hover = view.chosen = view.found = None
        view.folded = folded_at_first(self._seen.picture, tuple(subject))
        self.canvas.movable = False
        self.tools.search.clear()
        self.stage_panel.hide()
        self._show(self._seen)
        self._zoom_to_width()
        self.canvas.horizontalScrollBar().setValue(0)
        self.canvas.verticalScrollBar().setValue(0)
        self._tell()

    def allow_trying(self, trial: Trial) -> None:
        """From now on plugs can be moved about on trial, from this state on."""
        self.trial.begin(trial)
        self._seen = trial.state
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
        return self.trial.state or self._seen

    @property
    def is_what_if(self) -> bool:
        """Whether something else than what was seen is shown."""
        return bool(self._stage) or self.trial.tried

    def _show_now(self) -> None:
        self._show(self.state)
        self.trial.tell()
        self._tell_stage()
        self._tell()

    def _show(self, state: State) -> None:
        view = self.view
        view.picture, view.bands, view.moved = state.picture, state.bands, state.moved
        view.before = self._seen.bands if self.is_what_if else None
        view.what_if = self.is_what_if
        self._lay_out()
        self.tools.show_overdrawn(len(overdrawn(view.picture, view.bands)))
        self._fill_listing()

    def _lay_out(self) -> None:
        view = self.view
        view.folded &= frozenset(view.picture.strips)
        self._laid_for = self.canvas.width_in_lines()
        view.layout = lay_out(view.picture, view.bands, view.folded, self._laid_for, self._last)
        hubs = any(s.kind == "hub" for s in view.picture.strips.values())
        self.tools.show_folds(any(view.picture.strips[k].kind == "hub" for k in view.folded), hubs)
        self.canvas.view_changed()

    def _lay_out_if_needed(self) -> None:
        if abs(self.canvas.width_in_lines() - self._laid_for) > 0.5:
            self._lay_out()
        kept = self.view.current if self.canvas.hasFocus() else self.view.chosen
        if kept is not None:
            self.canvas.show_spot(kept)

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

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The foot gives way to the strips."""
        super().resizeEvent(event)
        self._foot.fit(self.height())

    def _tell(self) -> None:
        """Say in words where pointer or keyboard is."""
        view = self.view
        self._foot.fit(self.height())
        spot = view.hover or view.current
        usual = self.tr("Point at anything in the picture to see what is known of it.")
        if self.trial.state is not None:
            usual += " " + self.tr("Drag a plug to another socket to see what would change.")
        usual += " " + self.tr("Two lines in a socket: USB 3; one: USB 2.")
        if self.height() > theme.px(HIGH_ENOUGH):
            usual += "\n" + self.tr("By keyboard: the arrow keys go about, Space takes a plug and puts it down.")
            usual += " " + self.tr("T ticks the device there as one that misbehaves.") if view.ticking else ""
        title = self.details.tell(spot, view.picture, view.bands, self.state.tree, usual)
        if view.hover is None and view.current is not None:
            self._say(f"{title}. {self.details.words.text()}")

    def _say(self, words: str) -> None:
        """To whoever is read to."""
        if words != self.canvas.accessibleDescription():
            self.canvas.setAccessibleDescription(words)
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
            self.fit()
        self.canvas.setFocus()

    def fit(self) -> None:
        """Everything at once, as large as that can be."""
        view, canvas = self.view, self.canvas
        room = canvas.maximumViewportSize()
        lines = (room.width() / canvas.em, room.height() / canvas.em)
        zoom = fitting_zoom(view.picture, view.bands, view.folded, lines, LEAST, self._last)
        canvas.set_zoom(zoom)
        self._lay_out()

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

    def _next_overdrawn(self) -> None:
        """To the next place where something is overdrawn, round and round."""
        view = self.view
        spots = overdrawn(view.picture, view.bands)
        if not spots:
            return
        spot = spots[(spots.index(view.current) + 1) % len(spots) if view.current in spots else 0]
        plug = view.picture.holes[spot.key].plug if spot.part == "hole" else None
        if plug is not None:
            self._show_plug(plug.key)
            return
        view.folded = opened_to_strip(view.picture, view.folded, spot.key) if spot.part == "strip" else view.folded
        self._lay_out()
        self.canvas.show_spot(spot, centred=True)
        self._go(spot)

    def _show_plug(self, plug: str) -> None:
        view = self.view
        folded = opened_to(view.picture, view.folded, plug)
        if folded != view.folded:
            view.folded = folded
            self._lay_out()
        spot = Spot("hole", view.picture.hole_of[plug])
        self.canvas.show_spot(spot, centred=True)
        self._go(spot)

    def _fill_listing(self) -> None:
        if self.tools.text.isChecked():
            self.listing.setPlainText(as_text(self.state.picture, self.state.bands))

    def _show_text(self, text: bool) -> None:
        self._fill_listing()
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

    def _carried(self) -> None:
        panel = self.trial_panel
        self._say(". ".join(t.text() for t in (panel.head, panel.verdict, panel.words) if t.text()))
        self._foot.fit(self.height())
        self.canvas.viewport().update()

    def _put_down(self, hole: str) -> None:
        self._go(Spot("hole", hole))
        self.canvas.show_spot(Spot("hole", hole))

    def reset(self) -> None:
        """Back to what was seen."""
        self._stage = 0
        self.trial.reset()

    # ---- the planner's moves

    def _step(self, by: int) -> None:
        self._go_to_stage(min(max(self._stage + by, 0), len(self._stages) - 1))

    def _go_to_stage(self, number: int) -> None:
        if self.trial.tried:
            self.trial.reset()
        self._stage = number
        self._show_now()
        move = self._stages[number].move if self._stages else None
        if move is not None and move.device in self.view.picture.hole_of:
            self._show_plug(move.device)

    def _tell_stage(self) -> None:
        if len(self._stages) < 2:
            self.stage_panel.hide()
            return
        last = len(self._stages) - 1
        head, words = stage_words(self._stages, self._stage, self._texts)
        self.stage_panel.tell(
            head,
            verdict_line(self._stages[0].state, self.state) if self._stage else "",
            words if not self._stage else f"{words}\n{changes_words(self._stages[0].state, self.state)}",
            self._stage,
            last,
        )
