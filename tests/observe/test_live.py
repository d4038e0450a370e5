"""Looking at this computer: the right reader for the system, and no bus is a normal case."""

import platform

import pytest

from wizard.bus.model import Snapshot
from wizard.observe import libusb, linux, live
from wizard.observe.seen import Seen, Watcher


@pytest.mark.parametrize(
    ("system", "module"), [("Linux", linux), ("Windows", libusb), ("Darwin", libusb), ("FreeBSD", libusb)]
)
def test_each_system_has_its_reader(monkeypatch, system, module):
    used = []
    monkeypatch.setattr(platform, "system", lambda: system)
    for reader in (linux, libusb):
        monkeypatch.setattr(reader, "look", lambda *_, of=reader: used.append(of) or Seen(Snapshot()))
    live.look(Watcher())
    assert used == [module]


def test_this_computer_can_be_looked_at_with_or_without_a_bus():
    seen = live.look()
    assert seen.snapshot.system.os is not None
    assert seen.snapshot.devices or seen.notes
