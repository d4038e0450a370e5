"""Which device is which from one look to the next, as a person who moved the plugs would say it."""

from builders import device, hub, root
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.model import Device
from wizard.plan.identity import pair_devices


def unit(identifier: str, serial: str | None = None, **more: object) -> Device:
    plain = {"vid": "1209", "pid": "0001", "release": "1.00", "name": "Fader bank"}
    return device(identifier, "full", 100, **{**plain, "serial": serial, **more})


def moves(before: list[Device], after: list[Device]) -> tuple[set[tuple[str, str]], set[str], set[str]]:
    pairs, gone, new = pair_devices(before, after)
    return {(a.id, b.id) for a, b in pairs}, {d.id for d in gone}, {d.id for d in new}


def test_a_serial_number_is_followed_to_its_new_place() -> None:
    before, after = [unit("1-1", "A"), unit("1-2", "B")], [unit("1-1", "B"), unit("1-2", "A")]
    assert moves(before, after) == ({("1-1", "1-2"), ("1-2", "1-1")}, set(), set())


def test_equal_devices_without_serial_stay_where_a_place_is_taken_again() -> None:
    before, after = [unit("1-1"), unit("1-2")], [unit("1-2"), unit("1-3")]
    assert moves(before, after) == ({("1-2", "1-2"), ("1-1", "1-3")}, set(), set())


def test_equal_devices_with_one_serial_are_told_apart_by_place() -> None:
    """Cheap makers give a whole batch one serial number."""
    before, after = [unit("1-1", "0"), unit("1-2", "0")], [unit("1-2", "0"), unit("1-1", "0")]
    assert moves(before, after) == ({("1-1", "1-1"), ("1-2", "1-2")}, set(), set())


def test_an_exchanged_unit_is_another_device() -> None:
    assert moves([unit("1-1", "A")], [unit("1-1", "B")]) == (set(), {"1-1"}, {"1-1"})


def test_a_serial_left_out_of_a_document_does_not_make_two_devices() -> None:
    assert moves([unit("1-1")], [unit("1-3", "A")]) == ({("1-1", "1-3")}, set(), set())


def test_new_firmware_does_not_make_a_new_device() -> None:
    assert moves([unit("1-1")], [unit("1-1", release="2.00", name="Fader bank 2")]) == ({("1-1", "1-1")}, set(), set())


def test_another_model_in_the_same_place_is_another_device() -> None:
    assert moves([unit("1-1")], [unit("1-1", pid="0002")]) == (set(), {"1-1"}, {"1-1"})


def test_a_device_that_tells_nothing_is_known_by_its_place() -> None:
    mute = device("1-1", "low")
    assert moves([mute], [mute]) == ({("1-1", "1-1")}, set(), set())
    assert moves([mute], [device("1-2", "low")]) == (set(), {"1-1"}, {"1-2"})


def test_a_device_that_could_not_be_read_this_time_is_still_itself_in_its_place() -> None:
    blocked = unit("1-1", vid=None, pid=None, name=None)
    assert moves([unit("1-1", "A")], [blocked]) == ({("1-1", "1-1")}, set(), set())
    assert moves([unit("1-1", "A")], [device("1-2")]) == (set(), {"1-1"}, {"1-2"})


def test_root_hubs_are_no_devices_of_the_user() -> None:
    assert moves([root(1), hub("1-1")], [root(2)]) == (set(), {"1-1"}, set())


PLACES = st.sampled_from(["1-1", "1-2", "1-3", "1-4.1", "1-4.2", "2-1"])
UNITS = st.builds(
    unit,
    PLACES,
    st.sampled_from([None, None, "A", "B"]),
    vid=st.sampled_from(["1209", None]),
    pid=st.sampled_from(["0001", "0002"]),
    release=st.sampled_from(["1.00", "2.00"]),
)
LOOKS = st.lists(UNITS, max_size=6, unique_by=lambda d: d.id)


@given(LOOKS)
def test_a_look_is_itself(devices: list[Device]) -> None:
    assert moves(devices, devices) == ({(d.id, d.id) for d in devices}, set(), set())


@given(LOOKS, LOOKS)
def test_every_device_is_in_one_place_of_the_answer(before: list[Device], after: list[Device]) -> None:
    pairs, gone, new = pair_devices(before, after)
    assert sorted([a.id for a, _ in pairs] + [d.id for d in gone]) == sorted(d.id for d in before)
    assert sorted([b.id for _, b in pairs] + [d.id for d in new]) == sorted(d.id for d in after)
    for a, b in pairs:
        assert a.pid == b.pid
        assert a.vid == b.vid or (None in (a.vid, b.vid) and a.id == b.id)
    assert all(a.serial == b.serial for a, b in pairs if a.serial and b.serial)


@given(LOOKS, LOOKS)
def test_looking_backwards_turns_everything_round(before: list[Device], after: list[Device]) -> None:
    forth, gone, new = moves(before, after)
    back, gone_back, new_back = moves(after, before)
    assert {(b, a) for a, b in back} == forth
    assert (gone_back, new_back) == (new, gone)


@given(LOOKS, LOOKS)
def test_order_of_the_lists_changes_nothing(before: list[Device], after: list[Device]) -> None:
    assert moves(before, after) == moves(before[::-1], after[::-1])
