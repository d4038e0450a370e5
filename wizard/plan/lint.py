"""Whether remedies, rulebook and prose fit together: every cause can be acted on, every risk has its warning."""

from collections import Counter
from collections.abc import Iterator
from string import Formatter
from typing import get_args

from wizard.diagnosis.lint import Problem
from wizard.diagnosis.loading import check_condition, did_you_mean
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.plan.cautions import required_cautions
from wizard.plan.numbers import CAUSES_OF, COMMAND_GAPS, NEED_GAPS, NOUNS, PLACE_GAPS, REASON_GAPS, STATES
from wizard.plan.steps import CautionId, Remedy, System
from wizard.plan.verdict import REASONS

ARRANGEMENTS = ("arrangement", "arrangement_purchase", "arrangement_opens_case")
"""The planner's options, where they stand among the steps."""

_SAID = ("do", "why", "undo", "check")
_BY_SYSTEM = ("do", "undo", "check")
_COMMON = ("per_frame", "per_microframe", "proven", "helped", "again")


def lint_remedies(remedies: tuple[Remedy, ...], rulebook: Rulebook, texts: Texts) -> tuple[Problem, ...]:
    """All gaps, in the order of the remedies."""
    return (
        *_ids_twice(remedies),
        *(problem for remedy in remedies for problem in _lint_one(remedy, rulebook)),
        *_causes_without_remedy(remedies, rulebook),
        *_no_way_out(remedies),
        *_texts(remedies, texts),
    )


def _ids_twice(remedies: tuple[Remedy, ...]) -> Iterator[Problem]:
    for name, count in Counter(r.id for r in remedies).items():
        if count > 1:
            yield Problem(f"remedy {name}", f"the id is given {count} times")


def _lint_one(remedy: Remedy, rulebook: Rulebook) -> Iterator[Problem]:
    place = f"remedy {remedy.id}"
    causes = rulebook.cause_by_id
    for cause in (*remedy.cures, *remedy.may_cure):
        if cause not in causes:
            yield Problem(place, f"unknown cause {cause!r}{did_you_mean(cause, causes)}")
    symptoms = [s.id for s in rulebook.symptoms]
    for where, condition in remedy.conditions():
        for text in check_condition(condition, where, rulebook.observation_by_id, symptoms):
            yield Problem(place, text)
    yield from (Problem(place, text) for text in (*_test_problems(remedy, rulebook), *_caution_problems(remedy)))


def _test_problems(remedy: Remedy, rulebook: Rulebook) -> Iterator[str]:
    if remedy.tried_as is None:
        return
    known = rulebook.observation_by_id
    if remedy.tried_as not in known:
        yield f"tried_as: unknown observation {remedy.tried_as!r}{did_you_mean(remedy.tried_as, known)}"
    elif known[remedy.tried_as].how != "test":
        yield f"tried_as: {remedy.tried_as!r} is no test"


def _caution_problems(remedy: Remedy) -> Iterator[str]:
    cautions = set(remedy.cautions)
    missing = required_cautions(remedy) - cautions
    if missing:
        yield f"it lacks the cautions {', '.join(sorted(missing))}"
    if remedy.opens_case != ("case" in remedy.touches):
        yield "opens_case and touching the case go together"
    if remedy.risk == "data" and not cautions & {"copy_first", "eject_drive"}:
        yield "it risks data without copy_first or eject_drive"
    if remedy.risk == "injury" and not cautions:
        yield "it risks injury without any caution"


def _causes_without_remedy(remedies: tuple[Remedy, ...], rulebook: Rulebook) -> Iterator[Problem]:
    cured = {cause for remedy in remedies for cause in remedy.cures}
    for cause in rulebook.causes:
        if cause.id not in cured:
            yield Problem(f"cause {cause.id}", "no remedy cures it")


def _no_way_out(remedies: tuple[Remedy, ...]) -> Iterator[Problem]:
    if not any(r.last_resort for r in remedies):
        yield Problem("remedies", "there is no last_resort: a plan could be empty")


def _texts(remedies: tuple[Remedy, ...], texts: Texts) -> Iterator[Problem]:
    place = f"texts {texts.language}"
    wanted = {f"step.{r.id}.{part}" for r in remedies for part in _SAID}
    wanted |= {f"caution.{caution}.{form}" for caution in get_args(CautionId) for form in ("text", "short")}
    wanted.add("caution.copy_first.unseen")
    wanted |= {f"step.{name}.{part}" for name in ARRANGEMENTS for part in _SAID}
    wanted |= {f"reason.{budget}.{state}" for budget in CAUSES_OF for state in STATES}
    wanted |= {f"reason.{name}" for name in _COMMON} | {f"verdict.{name}" for name in REASONS}
    wanted |= {"step_name.device", "step_name.hub", "step_name.subject", "place.translator"} | {
        f"place.{noun}" for noun in NOUNS
    }
    for key in sorted(wanted):
        if not (texts.get(key) or "").strip():
            yield Problem(place, f"{key} is missing")
    optional = {f"step.{r.id}.{part}_{system}" for r in remedies for part in _BY_SYSTEM for system in get_args(System)}
    optional |= {f"step.{r.id}.{part}" for r in remedies for part in ("need", "need_more", "need_general")}
    ours = ("step.", "step_name.", "caution.", "reason.", "verdict.", "place.")
    all_keys = texts.keys()
    for key in sorted(k for k in all_keys if k.startswith(ours)):
        if key not in wanted | optional:
            yield Problem(place, f"{key} belongs to no remedy")
        for problem in _gap_problems(texts[key], _gaps_of(key)):
            yield Problem(place, f"{key}: {problem}")


def _gaps_of(key: str) -> frozenset[str]:
    if key.startswith("reason."):
        return REASON_GAPS
    if key.startswith("step."):
        return NEED_GAPS if key.endswith((".need", ".need_more")) else COMMAND_GAPS
    if key == "place.translator":
        return PLACE_GAPS
    return frozenset()


def _gap_problems(template: str, allowed: frozenset[str]) -> Iterator[str]:
    try:
        gaps = [name for _, name, _, _ in Formatter().parse(template) if name is not None]
    except ValueError as slip:
        yield f"its gaps can't be read ({slip})"
        return
    for name in gaps:
        if name not in allowed:
            yield f"there is no gap {name!r} here{did_you_mean(name, allowed)}"
