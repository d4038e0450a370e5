"""What may sleep, in words; and that nobody is told there was no trouble where nobody looked."""

from wizard.bus.model import Device, PowerSaving, Snapshot
from wizard.bus.sign import Sign
from wizard.case.documents import Look
from wizard.diagnosis.facts import gather_facts
from wizard.report.sleep_part import sleep_section
from wizard.report.text import render_section

MAY = PowerSaving(allowed=True, state="active", delay_ms=2000, has_slept=False)


def looked(*savings: PowerSaving | None, signs: tuple[Sign, ...] = ()) -> Look:
    devices = [Device(id="usb1", root=True, parent="0000:00:14.0", power_saving=MAY)]
    devices += [Device(id=f"1-{n}", parent="usb1", power_saving=s) for n, s in enumerate(savings, 1)]
    return Look(snapshot=Snapshot(devices=tuple(devices)), signs=signs)


def words(look: Look, log_was_read: bool = True) -> str:
    section = sleep_section(look, log_was_read)
    return "" if section is None else " ".join(render_section(section, 200).split())


def test_a_system_that_tells_nothing_gets_no_chapter() -> None:
    assert sleep_section(looked(None), log_was_read=True) is None


def test_what_may_sleep_is_told_with_when_and_what_it_does_now() -> None:
    said = words(looked(MAY, PowerSaving(allowed=False, state="active")))
    assert "1-1, " in said
    assert ": may sleep after 2 s; awake now; has not slept so far" in said
    assert "1-2" not in said
    assert "1 more device: kept awake" in said


def test_a_delay_of_less_than_nothing_means_never() -> None:
    """Linux, driver-api/usb/power-management: a negative delay prevents autosuspend."""
    said = words(looked(PowerSaving(allowed=True, state="active", delay_ms=-1000)))
    assert said.endswith("Nothing; all is kept awake.")


def test_resting_states_of_the_cable_are_told_even_where_the_device_stays_awake() -> None:
    assert "its cable may rest (U1, U2)" in words(looked(PowerSaving(allowed=False, link_states=("u1", "u2"))))


def test_sleep_that_went_wrong_stands_out() -> None:
    said = words(looked(MAY, signs=(Sign(kind="resume_failed", where="1-1", count=3),)))
    assert "1-1: failed to wake, 3 times in the log" in said
    assert "failed to sleep or wake" in words(looked(PowerSaving(allowed=True, state="error")))


def test_without_a_log_nobody_says_that_there_was_no_trouble() -> None:
    assert "no trouble" not in words(looked(MAY), log_was_read=False)
    assert "no trouble" in words(looked(MAY))


def measured(saving: PowerSaving) -> object:
    return gather_facts(("dropout",), {}, ("1-1",), looked(saving).snapshot).observations.get("power_saving")


def test_the_case_learns_whether_the_device_may_sleep() -> None:
    assert measured(MAY) == "on"
    assert measured(PowerSaving(allowed=False)) == "off"
    assert measured(PowerSaving(allowed=True, delay_ms=-1000)) == "off"
    assert measured(PowerSaving(allowed=False, link_states=("u1",))) is None
    assert measured(PowerSaving(state="active")) is None
