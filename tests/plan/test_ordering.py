"""What a tired person should do first: the order of a plan, by cause and by what was tried."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.rulebook import Condition, Rulebook
from wizard.plan.loading import load_remedies
from wizard.plan.ordering import MOST, first_remedy, is_open, order_remedies, stage, tier, tried
from wizard.plan.steps import Remedy
from wizard.store import resources

NOTHING = gather_facts(("other",), {})


def made(name: str, *cures: str, **more: object) -> Remedy:
    plain = {"effort_min": 3, "spend": "none", "risk": "low"}
    return Remedy.model_validate({"id": name, "cures": cures, **plain, **more})


def ids(remedies: tuple[Remedy, ...]) -> list[str]:
    return [r.id for r in remedies]


END = made("end", last_resort=True)


@pytest.mark.parametrize(
    ("remedy", "expected"),
    [
        (made("a", "x", touches=("cable",)), 0),
        (made("a", "x", touches=("settings",)), 1),
        (made("a", "x", touches=("driver",)), 1),
        (made("a", "x", risk="data"), 2),
        (made("a", "x", spend="low", touches=("driver",)), 3),
        (made("a", "x", spend="medium"), 4),
        (made("a", "x", spend="high"), 4),
        (made("a", "x", touches=("case",), opens_case=True), 5),
        (made("a", "x", touches=("firmware",)), 6),
        (made("a", "x", touches=("firmware", "board_setup")), 7),
        (END, 8),
    ],
)
def test_tiers_go_from_harmless_to_invasive(remedy: Remedy, expected: int) -> None:
    assert tier(remedy) == expected


def test_less_invasive_comes_first_whatever_it_promises() -> None:
    board = made("board", "a", touches=("board_setup",))
    card = made("card", "a", "b", opens_case=True, touches=("case",), spend="medium")
    hub = made("hub", "a", spend="low")
    plug = made("plug", "b")
    order = order_remedies((END, board, card, hub, plug), {"a": 0.8, "b": 0.2}, NOTHING)
    assert ids(order) == ["plug", "hub", "card", "board", "end"]


def test_a_leading_causes_own_free_cure_precedes_odds_and_ends_that_are_quicker() -> None:
    quick = made("quick", "b", effort_min=0.5)
    own = made("own", "a", effort_min=10, touches=("settings",))
    assert ids(order_remedies((quick, own), {"a": 0.8, "b": 0.2}, NOTHING)) == ["own", "quick"]


def test_among_comparable_ones_the_harmless_goes_first_then_the_quicker() -> None:
    setting = made("setting", "a", effort_min=1, touches=("settings",))
    slow = made("slow", "b", effort_min=10)
    quick = made("quick", "c", effort_min=2)
    shares = {"a": 0.4, "b": 0.3, "c": 0.3}
    assert ids(order_remedies((setting, slow, quick), shares, NOTHING)) == ["quick", "slow", "setting"]


def test_what_speaks_to_too_little_is_left_out() -> None:
    """Four in a hundred is the least; two better ones are there, so nothing has to fill up."""
    remedies = (made("a", "a"), made("b", "b"), made("c", "c"))
    assert ids(order_remedies(remedies, {"a": 0.6, "b": 0.37, "c": 0.03}, NOTHING)) == ["a", "b"]


def test_small_doubts_that_add_up_do_not_sell_a_card() -> None:
    card = made("card", "b", "c", "d", opens_case=True, touches=("case",), spend="medium")
    shares = {"a": 0.88, "b": 0.04, "c": 0.04, "d": 0.04}
    assert ids(order_remedies((made("own", "a"), card, END), shares, NOTHING)) == ["own", "end"]


def test_a_remedy_that_those_before_make_superfluous_is_left_out() -> None:
    """After two that end it in four of five cases each, 0.6 × 0.2 × 0.2 is left for a third to end now and then."""
    remedies = (made("first", "a"), made("second", "a"), made("third", may_cure=("a",)), made("other", "b"))
    order = ids(order_remedies(remedies, {"a": 0.6, "b": 0.4}, NOTHING))
    assert order == ["first", "other", "second"]
    alone = ids(order_remedies((*remedies[:1], *remedies[2:]), {"a": 0.6, "b": 0.4}, NOTHING))
    assert alone == ["first", "other", "third"]


CABLE_IF_HUB = made("a", "x", only_if=(Condition(observation="hub_between", any_of=("one",)),))
NO_HUB = made("a", "x", not_if=(Condition(observation="hub_between", any_of=("one",)),))
SURELY = made("a", "x", surely_if=(Condition(observation="hub_between", any_of=("one",)),))


@pytest.mark.parametrize(
    ("remedy", "value", "expected"),
    [
        (CABLE_IF_HUB, "one", True),
        (CABLE_IF_HUB, "none", False),
        (CABLE_IF_HUB, "unknown", True),
        (NO_HUB, "one", False),
        (NO_HUB, "none", True),
        (NO_HUB, "unknown", True),
        (SURELY, "one", True),
        (SURELY, "unknown", False),
    ],
)
def test_conditions_pass_what_is_not_known_unless_it_must_be(remedy: Remedy, value: str, expected: bool) -> None:
    assert is_open(remedy, gather_facts(("other",), {"hub_between": value}), None) is expected


def test_a_step_of_another_system_is_left_out() -> None:
    linux = made("a", "x", systems=("linux",))
    assert is_open(linux, NOTHING, "linux")
    assert not is_open(linux, NOTHING, "windows")
    assert is_open(linux, NOTHING, "other")
    assert is_open(linux, NOTHING, None)


@pytest.mark.parametrize(
    ("result", "expected"),
    [
        ("cures", ["tried", "a", "end"]),
        ("helps", ["a", "tried", "end"]),
        ("same", ["a", "end", "tried"]),
        ("worse", ["a", "end"]),
    ],
)
def test_what_was_tried_moves_a_step(result: str, expected: list[str]) -> None:
    """Proven first; tried in vain back, so far back here that only the fill keeps it; made it worse: out."""
    a, attempt = made("a", "a"), made("tried", "b", tried_as="other_cable")
    facts = gather_facts(("other",), {"other_cable": result})
    order = ids(order_remedies((a, attempt, END), {"a": 0.7, "b": 0.3}, facts))
    assert [i for i in order if i != "end"] == [i for i in expected if i != "end"]


def test_marked_steps_stay_behind_the_open_ones_for_their_undo() -> None:
    remedies = (made("a", "a"), made("b", "b"), made("c", "c"), made("d", "d"), END)
    shares = {"a": 0.4, "b": 0.3, "c": 0.2, "d": 0.1}
    marks = {"a": "did_not_help", "b": "skipped", "c": "done"}
    assert ids(order_remedies(remedies, shares, NOTHING, marks=marks)) == ["d", "b", "end", "a", "c"]


def test_a_failed_step_makes_its_cause_less_likely() -> None:
    """By Bayes' rule: 0.6 × (1 − 0.8) against 0.4 is 0.12 to 0.4."""
    remedies = (made("a", "a"), made("again", "a"), made("b", "b"))
    shares = {"a": 0.6, "b": 0.4}
    assert ids(order_remedies(remedies, shares, NOTHING))[0] == "a"
    assert ids(order_remedies(remedies, shares, NOTHING, marks={"a": "did_not_help"}))[0] == "b"


@pytest.mark.parametrize(
    ("cause", "first"),
    [
        ("translator_bandwidth", "own_translator"),
        ("periodic_bandwidth", "spread_controllers"),
        ("hub_supply", "hub_supply_plug"),
        ("port_power", "other_socket"),
        ("cable_fault", "other_cable"),
        ("cable_length", "shorter_run"),
        ("hub_fault", "straight_in"),
        ("hub_depth", "fewer_hubs"),
        ("power_saving", "power_saving_off"),
        ("radio_interference", "receiver_away"),
        ("device_battery", "fresh_battery"),
        ("driver_update", "driver_rollback"),
        ("driver_missing", "driver_install"),
        ("drive_unassigned", "assign_letter"),
        ("over_current", "clear_over_current"),
        ("system_load", "lighten_load"),
        ("application", "close_other_program"),
        ("electrical_noise", "separate_leads"),
        ("endpoint_limit", "unplug_unneeded"),
        ("controller_limit", "spread_controllers"),
    ],
)
def test_the_first_step_is_the_leading_causes_own_cure(
    cause: str, first: str, remedies: tuple[Remedy, ...], rulebook: Rulebook
) -> None:
    shares = {c.id: 0.2 / (len(rulebook.causes) - 1) for c in rulebook.causes} | {cause: 0.8}
    assert ids(order_remedies(remedies, shares, NOTHING))[0] == first


CAUSE_IDS = st.sampled_from(
    ["cable_fault", "hub_supply", "volume_fault", "firmware_setting", "device_fault", "endpoint_limit", "power_saving"]
)
SHARES = st.dictionaries(CAUSE_IDS, st.floats(0, 1), max_size=7)
ANSWERS = st.fixed_dictionaries(
    {},
    optional={
        "hub_between": st.sampled_from(["none", "one", "chain", "unknown"]),
        "device_kind": st.sampled_from(["storage", "audio", "keyboard_mouse", "machine_controller"]),
        "host_kind": st.sampled_from(["desktop", "laptop", "single_board"]),
        "other_cable": st.sampled_from(["cures", "helps", "same", "worse"]),
        "power_saving_off": st.sampled_from(["cures", "same"]),
        "medium": st.just(["bad_blocks"]),
    },
)
MARKS = st.dictionaries(
    st.sampled_from(["other_cable", "straight_in", "power_saving_off", "collect_report", "add_in_card", "gone_since"]),
    st.sampled_from(["done", "helped", "did_not_help", "skipped", "later_word"]),
)

# Not a fixture: a failing example shows its arguments, and these are long.
SHIPPED = load_remedies(resources.rulebook_tables())


@given(SHARES, ANSWERS, st.sampled_from(["windows", "linux", "macos", "other", None]), MARKS)
def test_a_plan_is_whole_whatever_was_found(
    shares: dict[str, float],
    answers: dict[str, object],
    platform: str | None,
    marks: dict[str, str],
) -> None:
    facts: Facts = gather_facts(("dropout",), answers)
    order = order_remedies(SHIPPED, shares, facts, platform, marks)
    assert order
    assert len(set(ids(order))) == len(order)
    assert order == order_remedies(SHIPPED, dict(reversed(shares.items())), facts, platform, marks)
    unmarked = [r for r in order if r.id not in marks]
    assert len(unmarked) <= MOST
    assert [stage(r) for r in unmarked] == sorted(stage(r) for r in unmarked)
    assert first_remedy(SHIPPED, shares, facts, platform, marks) == order[0].id


@given(SHARES, ANSWERS)
def test_what_wipes_evidence_away_comes_after_what_gathers_it(
    shares: dict[str, float], answers: dict[str, object]
) -> None:
    """But for what was seen to end the trouble: then nothing is left to be found out."""
    facts = gather_facts(("dropout",), answers)
    order = [r for r in order_remedies(SHIPPED, shares, facts) if not tried(r, facts, "cures", "works")]
    gathering = [i for i, r in enumerate(order) if r.gathers]
    clearing = [i for i, r in enumerate(order) if r.clears]
    assert not gathering or not clearing or max(gathering) < min(clearing)


def test_a_step_about_a_hub_counts_half_while_nobody_knows_of_one() -> None:
    at_hub = made("at_hub", "a", effort_min=1, not_if=(Condition(observation="hub_between", any_of=("none",)),))
    plain = made("plain", "a", effort_min=2)
    assert ids(order_remedies((at_hub, plain), {"a": 1.0}, NOTHING)) == ["plain", "at_hub"]
    known = gather_facts(("other",), {"hub_between": "one"})
    assert ids(order_remedies((at_hub, plain), {"a": 1.0}, known)) == ["at_hub", "plain"]


@given(SHARES, ANSWERS)
def test_a_case_is_opened_only_after_everything_gentler(shares: dict[str, float], answers: dict[str, object]) -> None:
    order = order_remedies(SHIPPED, shares, gather_facts(("dropout",), answers))
    opening = [i for i, r in enumerate(order) if r.opens_case]
    gentle = [i for i, r in enumerate(order) if tier(r) < tier(next(r for r in SHIPPED if r.opens_case))]
    assert not opening or max(gentle) < min(opening)
