"""Long painting must not use up Python's None, whatever the Qt binding does."""

import subprocess
import sys

import pytest

SCRIPT = """
import sys
from PySide6.QtWidgets import QApplication, QLabel
from wizard.desktop.none_guard import keep_none_alive
keep_none_alive()
keep_none_alive()
app = QApplication([])
label = QLabel()
for _ in range(200_000):
    label.setText("x")
print("alive")
"""


def test_a_process_that_calls_qt_very_often_ends_as_it_should():
    done = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, timeout=120)
    assert (done.stdout, done.returncode) == ("alive\n", 0), done.stderr


@pytest.mark.skipif(sys.version_info < (3, 12), reason="None is not immortal before Python 3.12")
def test_nothing_is_done_where_none_is_immortal():
    from wizard.desktop.none_guard import keep_none_alive

    assert keep_none_alive() is False
