"""What could not be read is said in sentences a person understands."""

from wizard.bus.model import Device, Snapshot, Unreadable
from wizard.observe.notes import notes_on


def test_a_clean_look_needs_no_note():
    assert notes_on(Snapshot(devices=(Device(id="1-1", name="keyboard"),))) == ()


def test_a_busy_hub_is_named_once_with_advice_to_look_again():
    troubles = tuple(Unreadable(where=f"1-4/{name}", reason="blocked") for name in ("product", "serial"))
    (note,) = notes_on(Snapshot(devices=(Device(id="1-4", name="desk hub", unreadable=troubles),)))
    assert note.startswith("desk hub (1-4) did not answer in time.")
    assert note.count("1-4") == 1
    assert "Look again in two minutes" in note


def test_many_places_are_counted_instead_of_listed():
    devices = tuple(
        Device(id=f"1-{n}", name="drive", unreadable=(Unreadable(where=f"1-{n}", reason="vanished"),))
        for n in range(1, 9)
    )
    (note,) = notes_on(Snapshot(devices=devices))
    assert note.startswith("drive (1-1), drive (1-2), drive (1-3) and 5 more: unplugged")


def test_each_reason_has_its_own_sentence_and_a_place_without_name_is_told_by_its_id():
    troubles = (
        Unreadable(where="0000:00:14.0/vendor", reason="permission"),
        Unreadable(where="1-2/over_current_count", reason="garbled"),
        Unreadable(where="1-3", reason="too_large"),
        Unreadable(where="1-5", reason="failed"),
    )
    notes = notes_on(Snapshot(unreadable=troubles))
    assert len(notes) == 4
    assert any(note.startswith("0000:00:14.0: ") for note in notes)
