"""The window as a program, each time in a process of its own: start, close, the start check, every page off screen."""

import subprocess
import sys

START = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from wizard.desktop import app
app.application(["portmend"])
QTimer.singleShot(1500, QApplication.closeAllWindows)
sys.exit(app.run_window(sys.argv[1:]))
"""

STUCK = """
import sys, threading
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from wizard.desktop import app
from wizard.desktop.window import Window
from wizard.desktop.wired import WiredEngine

def look_live(self, watcher, log):
    print("looking", flush=True)
    threading.Event().wait(60)

def press():
    window = next(w for w in QApplication.topLevelWidgets() if isinstance(w, Window))
    window.pages["trouble"].chosen.emit(("lag",), None)
    window.press_primary()
    window.press_primary()

WiredEngine.look_live = look_live
app.application(["portmend"])
QTimer.singleShot(1500, press)
QTimer.singleShot(2500, QApplication.closeAllWindows)
sys.exit(app.run_window([]))
"""


def run(script, *argv):
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", script, *argv], capture_output=True, text=True, timeout=120, check=False
    )


def test_the_window_opens_and_closes_without_a_word():
    done = run(START)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_a_case_named_at_the_start_that_is_not_there_does_no_harm(tmp_path):
    done = run(START, str(tmp_path / "none.json"))
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_the_start_check_says_seconds_and_memory():
    done = run("import sys\nfrom wizard.desktop.app import run_start_check\nsys.exit(run_start_check(print))")
    assert done.returncode == 0
    assert done.stdout.startswith("The window was ready after ")
    assert "MB" in done.stdout or "unknown" in done.stdout


def test_every_page_can_be_built_off_screen_in_a_process_without_a_display():
    done = run("from wizard.desktop.app import build_every_page\nprint(build_every_page())")
    assert (done.returncode, done.stdout) == (0, "[]\n"), done.stderr


def test_closing_while_a_look_is_stuck_ends_the_process():
    done = run(STUCK)
    assert (done.returncode, done.stdout, done.stderr) == (0, "looking\n", "")
