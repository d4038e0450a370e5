"""Renders the strip map in its states to PNG files in a folder: `python tests/screens_map.py FOLDER [WORD]`
(with the project installed, as the set-up does).

For looking at. Shows it alone (small, huge, hostile, narrow; held, tried, searched, far away) and on the pages of the
window that have it. Uses the demos and invented machines; saves nothing. With a word only the pictures whose name
contains it are kept. Needs no display.
"""

import os
import sys
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from bench.bench_ledger import made
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from screens import HOSTILE, MODES, Mode, Stage

from wizard import wiring
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.case.documents import Look
from wizard.desktop import theme
from wizard.desktop.app import application
from wizard.desktop.pages.findings import FindingsPage
from wizard.desktop.pages.plan import PlanPage
from wizard.desktop.session import Source
from wizard.desktop.trying import Trial
from wizard.desktop.widgets.strip_map import StripMap
from wizard.diagnosis.texts import Texts
from wizard.store import resources


def settle() -> None:
    """Let everything be laid out and drawn."""
    QTest.qWait(160)


class Alone:
    """One map in one mode, without a window around it."""

    def __init__(self, mode: Mode) -> None:
        self.map = StripMap(Texts("en", resources.texts("en")), ticking=True)
        self.map.resize(round(mode.width * 0.78), round(mode.height * 0.72))
        self.map.show()

    def show(self, snapshot: Snapshot, setup: Setup | None = None) -> None:
        """Show a bus, ready to be tried on."""
        self.map.show_look(Look(snapshot=snapshot, ledger=build_ledger(snapshot, setup or Setup())))
        self.map.allow_trying(Trial.of(snapshot, setup or Setup()))
        settle()

    def key(self, *keys: Qt.Key) -> None:
        """Press keys on the canvas."""
        for key in keys:
            QTest.keyClick(self.map.canvas, key)
        settle()

    def states(self) -> Iterator[str]:
        """Go through the states worth a picture, naming each."""
        for name in wiring.demo_names():
            demo = wiring.load_demo(name)
            self.show(demo.before, demo.setup)
            yield name
        yield from self._tried()
        yield from self._sizes()

    def _tried(self) -> Iterator[str]:
        demo = wiring.load_demo("puppet-theatre")
        self.show(demo.before, demo.setup)
        self.map.tools.search.setText("fader")
        yield "searched"
        self.map.tools.search.clear()
        self.key(Qt.Key.Key_T, Qt.Key.Key_Space, Qt.Key.Key_Left)
        yield "held"
        self.key(Qt.Key.Key_Space)
        yield "dropped"
        self.map.reset()
        self.map.tools.text.setChecked(True)
        yield "as-text"
        self.map.tools.text.setChecked(False)

    def _sizes(self) -> Iterator[str]:
        few = made(1, 3)
        self.show(few)
        yield "three"
        named = (d if d.root else d.model_copy(update={"name": HOSTILE}) for d in few.devices)
        self.show(few.model_copy(update={"devices": tuple(named)}))
        yield "hostile"
        self.show(Snapshot())
        yield "nothing"
        self.show(made(8, 127))
        yield "huge"
        self.map.tools.folds_wanted.emit(False)
        self.map.fit()
        yield "huge-all"


def on_pages(stage: Stage) -> Iterator[str]:
    """The pages of the window that have the map, with a demo that has an arrangement."""
    stage.signal("trouble", "chosen", ("lag",), None)
    stage.go()
    stage.signal("look", "look_wanted", Source("demo", "puppet-theatre"), "")
    yield "look"
    stage.go()
    stage.go()
    stage.window.press_secondary()
    stage.rest()
    findings = stage.window.pages["findings"]
    assert isinstance(findings, FindingsPage)
    findings.drawer.button.click()
    settle()
    yield "findings"
    strip_map = findings.drawer.map
    assert strip_map is not None
    strip_map.tools.search.setText("hub")
    QTest.keyClick(strip_map.canvas, Qt.Key.Key_Return)
    QTest.keyClick(strip_map.canvas, Qt.Key.Key_Escape)
    settle()
    yield "findings-chosen"
    findings.drawer.button.click()
    stage.go()
    plan = stage.window.pages["plan"]
    assert isinstance(plan, PlanPage)
    plan.drawer.button.click()
    settle()
    yield "plan"
    assert plan.drawer.map is not None
    plan.drawer.map.stage_panel.forward.click()
    settle()
    yield "plan-move"


def main(folder: Path, word: str = "") -> None:
    """Take all the pictures."""
    folder.mkdir(parents=True, exist_ok=True)
    app = application(["portmend"])
    base = QFont(app.font())
    for mode in MODES:
        font = QFont(base)
        font.setPointSizeF(base.pointSizeF() * mode.text)
        app.setFont(font)
        theme.apply(app, mode.dark)
        alone = Alone(mode)
        for state in alone.states():
            if word in f"{mode.name}-map-{state}":
                alone.map.grab().save(str(folder / f"{mode.name}-map-{state}.png"))
        alone.map.deleteLater()
        if word in f"{mode.name}-page-":
            stage = Stage(app, mode, base)
            for state in on_pages(stage):
                QApplication.processEvents()
                stage.window.grab().save(str(folder / f"{mode.name}-page-{state}.png"))
            stage.window.close()
            stage.window.deleteLater()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "")
