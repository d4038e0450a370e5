"""The snapshot as a document: it keeps what it does not know and refuses what can't be."""

import pytest
from pydantic import ValidationError

from wizard.bus.model import Alternate, Device, Endpoint, Interface, Snapshot


def test_unknown_fields_survive_a_round_trip() -> None:
    document = {"devices": [{"id": "1-1", "colour": "green"}], "weather": {"sky": "clear"}}
    again = Snapshot.model_validate_json(Snapshot.model_validate(document).model_dump_json(by_alias=True))
    assert again.model_extra == {"weather": {"sky": "clear"}}
    assert again.devices[0].model_extra == {"colour": "green"}


def test_class_is_written_under_its_published_name() -> None:
    device = Device.model_validate({"id": "1-1", "interfaces": [{"number": 0, "class": 3}]})
    assert device.model_dump(by_alias=True)["interfaces"][0]["class"] == 3


def test_other_writers_may_say_only_that_it_is_a_hub() -> None:
    assert Device.model_validate({"id": "1-1", "hub": True}).hub is not None
    assert Device.model_validate({"id": "1-1", "hub": False}).hub is None


def test_vendor_ids_may_come_as_numbers() -> None:
    assert Device.model_validate({"id": "1-1", "vid": 0x1D6B}).vid == "1d6b"


def test_two_devices_with_one_id_are_refused() -> None:
    with pytest.raises(ValidationError, match="two devices have the id '1-1'"):
        Snapshot.model_validate({"devices": [{"id": "1-1"}, {"id": "1-1"}]})


def test_a_snapshot_can_not_be_changed() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        Device(id="1-1").vid = "1d6b"  # type: ignore[misc]  # the point of the test


def test_the_current_setting_is_zero_where_the_system_does_not_tell() -> None:
    """USB 2.0 §9.2.3: alternate setting zero is the default."""
    settings = (Alternate(number=0), Alternate(number=1, endpoints=(Endpoint(address=1, type="bulk", max_packet=64),)))
    assert Interface(number=0, alternates=settings).current() == settings[0]
    assert Interface(number=0, alternates=settings, active_alternate=1).current() == settings[1]
    assert Interface(number=0, alternates=settings, active_alternate=7).current() is None
