"""Looking at this computer: the right reader for the system, and no bus is a normal case."""

import platform

import pytest

from wizard.bus.model import Snapshot
from wizard.observe import libusb, linux, live
from wizard.observe.macos import look as macos_look
from wizard.observe.seen import Seen, Watcher
from wizard.observe.windows import look as windows_look

READERS = {"Linux": (linux, "look"), "Windows": (windows_look, "look"), "Darwin": (macos_look, "look")}


@pytest.mark.parametrize("system", [*READERS, "FreeBSD"])
def test_each_system_has_its_reader(monkeypatch, system):
    used = []
    monkeypatch.setattr(platform, "system", lambda: system)
    for name, (module, attribute) in {**READERS, "FreeBSD": (libusb, "look")}.items():
        monkeypatch.setattr(module, attribute, lambda *_, of=name: used.append(of) or Seen(Snapshot()))
    live.look(Watcher())
    assert used == [system]


def test_this_computer_can_be_looked_at_with_or_without_a_bus():
    seen = live.look()
    assert seen.snapshot.system.os is not None
    assert seen.snapshot.devices or seen.notes
