"""The shipped remedies as a user meets them: complete, safe, in plain words, with no brand."""

import re
from typing import get_args

import pytest

from wizard.diagnosis.facts import Facts
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.plan.cautions import BY_KIND, BY_TOUCH, OPEN_CASE, cautions_in, required_cautions
from wizard.plan.lint import lint_remedies
from wizard.plan.ordering import tier
from wizard.plan.steps import CautionId, Remedy, Touch

# The published list of causes that every version keeps.
CAUSES = [
    "port_power", "hub_supply", "periodic_bandwidth", "translator_bandwidth", "endpoint_limit", "controller_limit",
    "cable_fault", "cable_length", "hub_fault", "host_controller", "driver_update", "driver_missing",
    "power_saving", "radio_interference", "device_fault", "device_battery", "hub_depth", "speed_mismatch",
    "volume_fault", "drive_unassigned", "access_denied", "application", "system_load", "over_current",
    "firmware_setting", "electrical_noise",
]  # fmt: skip


def test_remedies_rulebook_and_prose_fit_together(
    remedies: tuple[Remedy, ...], rulebook: Rulebook, prose: Texts
) -> None:
    assert lint_remedies(remedies, rulebook, prose) == ()


@pytest.mark.parametrize("cause", CAUSES)
def test_every_published_cause_can_be_acted_on(cause: str, remedies: tuple[Remedy, ...]) -> None:
    assert [r.id for r in remedies if cause in r.cures]


@pytest.mark.parametrize("cause", CAUSES)
def test_every_cause_has_two_steps_and_one_of_them_costs_nothing(cause: str, remedies: tuple[Remedy, ...]) -> None:
    steps = [r for r in remedies if cause in (*r.cures, *r.may_cure)]
    assert len(steps) >= 2
    assert [r.id for r in steps if r.spend == "none" and not r.opens_case]


def test_what_erases_restarts_or_rewrites_counts_as_clearing_evidence(remedies: tuple[Remedy, ...]) -> None:
    """New firmware, another board set-up and a repair of a volume can't be looked behind any more."""
    for remedy in remedies:
        if {"firmware", "board_setup"} & set(remedy.touches) or remedy.id == "repair_volume":
            assert remedy.clears, remedy.id
    assert {"restart", "hub_power_cycle", "driver_reinstall"} <= {r.id for r in remedies if r.clears}


# A lasting fault of the device and a wrong option of the board can't be mended by moving a plug.
@pytest.mark.parametrize("cause", [c for c in CAUSES if c not in ("firmware_setting",)])
def test_something_free_can_be_tried_for_every_cause(cause: str, remedies: tuple[Remedy, ...]) -> None:
    assert [r.id for r in remedies if cause in (*r.cures, *r.may_cure) and tier(r) <= 2]


def test_every_caution_is_used_somewhere(remedies: tuple[Remedy, ...]) -> None:
    assert {c for r in remedies for c in r.cautions} == set(get_args(CautionId))


def test_fitting_a_card_asks_for_its_power_lead(remedies: tuple[Remedy, ...]) -> None:
    assert {r.id for r in remedies if "aux_power" in r.cautions} == {"add_in_card", "card_faster_slot"}


def test_an_opened_case_is_dead_before_it_is_opened(remedies: tuple[Remedy, ...]) -> None:
    shown = [cautions_in(r, Facts(symptoms=("other",))) for r in remedies if r.opens_case]
    assert shown
    for cautions in shown:
        assert set(OPEN_CASE) <= set(cautions)
        assert cautions.index("power_off") < cautions.index("mains_unplugged") < cautions.index("discharge_button")
        assert cautions.index("discharge_button") < cautions.index("esd_strap") < cautions.index("card_edge")


@pytest.mark.parametrize("remedy_id", ["assign_letter", "look_at_volume", "repair_volume", "read_foreign"])
def test_files_come_before_any_work_on_a_volume(remedy_id: str, remedies: tuple[Remedy, ...]) -> None:
    remedy = next(r for r in remedies if r.id == remedy_id)
    assert "copy_first" in remedy.cautions


def test_every_touch_and_every_kind_of_device_has_its_line(rulebook: Rulebook) -> None:
    assert set(BY_TOUCH) == set(get_args(Touch))
    assert set(BY_KIND) == set(rulebook.observation_by_id["device_kind"].values)


def test_whatever_touches_something_names_its_warnings(remedies: tuple[Remedy, ...]) -> None:
    assert [r.id for r in remedies if not required_cautions(r) <= set(r.cautions)] == []


# What takes connection or power from a device, or starts the computer anew, in the words of the steps.
INTERRUPTS = re.compile(
    r"(?i)\b(unplug|re-?plug|pull (the|its|every|out)|plug (?!and)|restart|shut the|switch (it|the device) off)"
)


def test_a_step_that_says_unplug_or_restart_warns_of_drives_and_motors(
    remedies: tuple[Remedy, ...], prose: Texts
) -> None:
    """The safety notes of the project: eject drives, and a motor may start when its controller returns."""
    reckless = []
    for remedy in remedies:
        keys = [k for k in sorted(prose.keys()) if re.fullmatch(rf"step\.{remedy.id}\.do(_\w+)?", k)]
        if any(INTERRUPTS.search(prose[k]) for k in keys):
            shown = cautions_in(remedy, Facts(symptoms=("other",)))
            if not {"eject_drive", "motor_safe"} <= set(shown):
                reckless.append(remedy.id)
    assert reckless == []


@pytest.mark.parametrize("kind", ["spacecraft", "lighting", "game_controller", "unknown"])
def test_what_may_move_or_is_not_known_warns_of_motors(kind: str, remedies: tuple[Remedy, ...]) -> None:
    facts = Facts(symptoms=("other",), observations={"device_kind": kind})
    for remedy in remedies:
        if "cable" in remedy.touches:
            assert "motor_safe" in cautions_in(remedy, facts), remedy.id


def test_an_unknown_kind_beside_a_known_one_stays_unknown(remedies: tuple[Remedy, ...]) -> None:
    facts = Facts(symptoms=("other",), observations={"device_kind": ("headset", "spacecraft")})
    reseat = next(r for r in remedies if r.id == "reseat_plug")
    assert {"eject_drive", "motor_safe"} <= set(cautions_in(reseat, facts))
    harmless = Facts(symptoms=("other",), observations={"device_kind": "headset"})
    assert cautions_in(reseat, harmless) == ()


@pytest.mark.parametrize(
    "facts",
    [
        Facts(symptoms=("drive_missing",)),
        Facts(symptoms=("other", "drive_missing"), observations={"device_kind": "unknown"}),
        Facts(symptoms=("other",), observations={"device_kind": "storage"}),
    ],
)
def test_files_come_first_in_every_step_at_a_drive(facts: Facts, remedies: tuple[Remedy, ...], prose: Texts) -> None:
    """The safety notes of the project: never format before a copy, a clicking drive is switched off."""
    for remedy in remedies:
        if {"cable", "drive"} & set(remedy.touches):
            assert "copy_first" in cautions_in(remedy, facts), remedy.id
    assert "decline" in prose["caution.copy_first.text"]


def test_no_step_tells_to_format_or_to_lift_an_earth(remedies: tuple[Remedy, ...], prose: Texts) -> None:
    for remedy in remedies:
        for key in ("do", "do_windows", "do_linux", "do_macos", "need", "need_general"):
            for sentence in (prose.get(f"step.{remedy.id}.{key}") or "").split(". "):
                low = sentence.lower()
                if any(word in low for word in ("format it", "formatting", "initialise", "lift the earth")):
                    assert any(word in low for word in ("not", "never", "decline", "cancel", "ignore")), sentence


def test_warnings_name_what_can_hurt(prose: Texts) -> None:
    """The safety notes of the project: earth, supplies, batteries, clicking drives, wrist strap, steady power."""
    for caution, words in {
        "stop_electrician": ("tingles", "licensed electrician", "earth"),
        "never_open_supply": ("Never open", "monitor"),
        "laptop_battery": ("battery", "maker's manual"),
        "copy_first": ("clicks", "Never format", "switch it off"),
        "esd_strap": ("wrist strap", "bare metal"),
        "motor_safe": ("motor may start",),
        "firmware_power": ("steady power",),
        "way_back": ("keyboard",),
        "discharge_button": ("power button",),
    }.items():
        text = prose[f"caution.{caution}.text"]
        assert [w for w in words if w not in text] == []


def test_a_repair_reads_before_it_writes(prose: Texts) -> None:
    """Without /f, -n and verifyVolume the tools write: by their own manuals."""
    assert prose["step.repair_volume.do_windows"].index("chkdsk X: (") < prose["step.repair_volume.do_windows"].index(
        " /f"
    )
    assert prose["step.repair_volume.do_linux"].index("fsck -n") < prose["step.repair_volume.do_linux"].index(
        "fsck /dev"
    )
    assert prose["step.repair_volume.do_macos"].index("verifyVolume") < prose["step.repair_volume.do_macos"].index(
        "First Aid"
    )


@pytest.mark.parametrize(
    "name",
    ["stop_backfeed", "straight_in", "other_hub_socket", "hub_power_cycle", "other_socket", "clear_over_current",
     "move_hungry", "restart", "full_power_off"],
)  # fmt: skip
def test_work_is_saved_before_a_plug_is_pulled_or_the_computer_goes_down(
    name: str, remedies: tuple[Remedy, ...]
) -> None:
    """The safety notes of the project: save work first."""
    remedy = next(r for r in remedies if r.id == name)
    assert "save_work" in cautions_in(remedy, Facts(symptoms=("dropout",)))


def test_no_step_shuts_down_or_takes_mains_without_saving_work(remedies: tuple[Remedy, ...], prose: Texts) -> None:
    facts = Facts(symptoms=("other",), observations={"device_kind": "keyboard_mouse"})
    careless = []
    for remedy in remedies:
        said = " ".join(prose.get(f"step.{remedy.id}.{key}") or "" for key in ("do", "do_windows", "do_linux"))
        down = re.search(r"(?i)shut the computer down|restart the computer|choose restart", said)
        if (down or "mains" in remedy.touches) and "save_work" not in cautions_in(remedy, facts):
            careless.append(remedy.id)
    assert careless == []
