"""Section 7 of the published values: the interval a device asks for, and the one it gets."""

import pytest
from builders import controller, device, root, snapshot
from published import Row, numbers, published

from wizard.budget.bus_time import BusSpeed
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import period_frames, period_microframes
from wizard.bus.endpoints import Companion, EndpointFields, read_endpoint
from wizard.bus.model import Alternate, Endpoint, Interface, Speed, System

ISOCHRONOUS, INTERRUPT = 1, 3
SLOW: tuple[BusSpeed, ...] = ("low", "full")


def asked(value: int, speed: Speed, kind: int = INTERRUPT) -> tuple[Endpoint, tuple[str, ...]]:
    """An endpoint with that bInterval, and what had to be repaired."""
    companion = Companion(0, 0, 8) if speed == "super" else None
    return read_endpoint(EndpointFields(0x81, kind, 8, value), speed, companion)


# --- what a descriptor asks for ------------------------------------------------------------------------------------


@published("bi-hs-*")
def test_interval_from_high_speed_on(row: Row) -> None:
    value = int(row.id.removeprefix("bi-hs-"))
    speeds: tuple[Speed, ...] = ("high", "super")
    for speed in speeds:
        for kind in (INTERRUPT, ISOCHRONOUS):
            endpoint, told = asked(value, speed, kind)
            assert (endpoint.interval_us, told) == (row.value, ())


@published("bi-hs")
def test_interval_from_high_speed_on_doubles_with_each_step(row: Row) -> None:
    """Formula and range stand in the name of the row, the unit beside its value."""
    (unit_us,) = numbers(row.unit)
    for value in range(1, 17):
        assert asked(value, "high")[0].interval_us == unit_us * 2 ** (value - 1)
    assert asked(17, "high")[1]


@published("bi-fs-*")
def test_interval_of_an_interrupt_endpoint_in_frames(row: Row) -> None:
    for speed in SLOW:
        endpoint, told = asked(int(row.id.removeprefix("bi-fs-")), speed)
        assert (endpoint.interval_us, told) == (row.value, ())


@published("bi-fs", "bi-ls")
def test_range_of_an_interrupt_endpoint_in_frames(row: Row) -> None:
    speed: Speed = "low" if row.id == "bi-ls" else "full"
    shortest, longest = row.value
    assert longest == 255  # all that fits the descriptor's byte
    for value in row.value:
        endpoint, told = asked(value, speed)
        assert (endpoint.interval_us, told) == (value * 1000, ())
    if speed == "full":
        assert asked(shortest - 1, speed)[1]


@published("bi-fsiso-*")
def test_interval_of_a_full_speed_stream(row: Row) -> None:
    endpoint, told = asked(int(row.id.removeprefix("bi-fsiso-")), "full", ISOCHRONOUS)
    assert (endpoint.interval_us, told) == (row.value, ())


@published("bi-fsiso")
def test_range_of_a_full_speed_stream(row: Row) -> None:
    shortest, longest = row.value
    for value in (shortest, longest):
        endpoint, told = asked(value, "full", ISOCHRONOUS)
        assert (endpoint.interval_us, told) == (1000 * 2 ** (value - 1), ())
    assert asked(shortest - 1, "full", ISOCHRONOUS)[1]
    assert asked(longest + 1, "full", ISOCHRONOUS)[1]


@published("bi-default")
def test_what_linux_puts_in_place_of_an_impossible_interval(row: Row) -> None:
    endpoints: tuple[tuple[tuple[Speed, ...], int], ...] = (
        (("high", "super"), INTERRUPT),
        (("low", "full"), INTERRUPT),
        (("high",), ISOCHRONOUS),
        (("full",), ISOCHRONOUS),
    )
    for (speeds, kind), text in zip(endpoints, row.value, strict=True):
        milliseconds, taken = numbers(text)
        for speed in speeds:
            endpoint, told = asked(0, speed, kind)
            assert endpoint.interval_us == milliseconds * 1000
            assert told == (f"has the impossible interval value 0; {taken:g} taken",)


# --- what a host makes of it -----------------------------------------------------------------------------------------


@published("bi-xhci-*")
def test_interval_a_slow_device_gets_on_xhci(row: Row) -> None:
    for speed in SLOW:
        endpoint, _ = asked(int(row.id.removeprefix("bi-xhci-")), speed)
        assert period_frames(endpoint, speed, "xhci") * 1000 == row.value


@published("bi-win-fs")
def test_interval_a_full_speed_device_gets_on_older_controllers(row: Row) -> None:
    """Ranges of bInterval stand in the name of the row."""
    ranges = row.name.removeprefix("Windows FS period ").split("/")
    for text, frames in zip(ranges, row.value, strict=True):
        for value in {int(end) for end in text.split("-")}:
            assert period_frames(asked(value, "full")[0], "full", "uhci") == frames
            assert period_frames(asked(value, "full")[0], "full", "ohci") == frames


@published("bi-win-ls")
def test_interval_a_low_speed_device_gets_on_older_controllers_under_windows(row: Row) -> None:
    """Ranges of bInterval stand in the name of the row."""
    ranges = row.name.rsplit(" ", 1)[1].split("/")
    for text, milliseconds in zip(ranges, row.value, strict=True):
        for value in {max(1, int(end)) for end in text.split("-")}:
            assert period_frames(asked(value, "low")[0], "low", "ehci", "windows") == milliseconds


@published("bi-win-hs")
def test_interval_a_high_speed_device_gets_on_older_controllers_under_windows(row: Row) -> None:
    """The first six values of bInterval, and the range from 7 on, whose two figures are the same."""
    for value, microframes in zip((1, 2, 3, 4, 5, 6, 16), row.value, strict=True):
        assert period_microframes(asked(value, "high")[0], "ehci", "windows") == microframes


def test_the_system_of_the_snapshot_decides_how_often_it_polls() -> None:
    """A slow mouse that asks for 1 ms gets 8 ms from Windows' older stack (row bi-win-ls), and 1 ms from Linux."""
    endpoint, _ = asked(1, "low")
    pointer = Interface(number=0, class_code=3, alternates=(Alternate(number=0, endpoints=(endpoint,)),))
    means = []
    for os in ("windows", "linux"):
        seen = snapshot(
            controller(kind="uhci"), root(speed="full"), device("1-1", "low", interfaces=(pointer,)),
            system=System(os=os),
        )  # fmt: skip
        entry = next(e for e in build_ledger(seen) if e.budget == "periodic_time_active")
        means.append(entry.mean_frame_exact_us)
    assert means[0] is not None
    assert means[1] == pytest.approx(8 * means[0])


@published("bi-mouse8")
def test_a_slow_mouse_is_polled_125_times_a_second(row: Row) -> None:
    value, milliseconds = (int(n) for n in numbers(row.value))
    endpoint, _ = asked(value, "low")
    pointer = Interface(number=0, class_code=3, alternates=(Alternate(number=0, endpoints=(endpoint,)),))
    mouse = device("1-1", "low", interfaces=(pointer,))
    latency = next(e for e in build_ledger(snapshot(controller(), root(), mouse)) if e.budget == "latency")
    assert latency.used is not None
    assert latency.typical is not None
    assert round(2 * (latency.used - latency.typical)) == milliseconds  # half of the interval lies between them
