"""What we rely on in the Qt binding itself."""

import sys

import pytest
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from Python 3.12 on (PEP 683)")
def test_the_binding_does_not_use_up_none(qtbot: QtBot) -> None:
    """PySide6 6.12.0 gave up one reference at every call that returns nothing, until the program crashed."""
    label = QLabel()
    qtbot.addWidget(label)
    before = sys.getrefcount(None)
    for _ in range(1000):
        label.setText("x")
    assert sys.getrefcount(None) > before - 500
