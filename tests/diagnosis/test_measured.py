"""What a snapshot says by itself. Devices are invented."""

import pytest

from wizard.budget.setup import Setup
from wizard.bus.model import Controller, Device, Hub, PowerSaving, Snapshot
from wizard.bus.tree import BusTree
from wizard.diagnosis.measured import measured_observations

MAY, AWAKE, RESTS = (
    PowerSaving(allowed=True),
    PowerSaving(allowed=False),
    PowerSaving(allowed=False, link_states=("l1",)),
)


@pytest.mark.parametrize(
    ("device", "hub", "told"),
    [
        (MAY, MAY, "on"),
        (MAY, AWAKE, "on"),
        (AWAKE, MAY, "off"),  # no hub sleeps above a device that is kept awake
        (AWAKE, AWAKE, "off"),
        (AWAKE, None, "off"),
        (PowerSaving(allowed=True, delay_ms=-1000), MAY, "off"),
        (RESTS, AWAKE, None),  # its cable rests all the same
        (None, MAY, "on"),
        (None, AWAKE, None),  # nobody says what the device itself may do
        (None, None, None),
    ],
)
def test_power_saving_is_on_only_where_the_device_can_be_put_to_sleep(device, hub, told):
    snapshot = Snapshot(
        controllers=(Controller(id="c", kind="xhci"),),
        devices=(
            Device(id="usb1", parent="c", root=True, hub=Hub()),
            Device(id="1-1", parent="usb1", hub=Hub(), power_saving=hub),
            Device(id="1-1.2", parent="1-1", power_saving=device),
        ),
    )
    found = measured_observations(BusTree(snapshot), ("1-1.2",), Setup())
    assert found.get("power_saving") == told
