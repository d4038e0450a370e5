"""From tables to a rulebook: every problem of every file at once, each with its place and the nearest right word.

Knows the layout of the tables (lists named after the kind of entry), not where they come from.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from wizard.budget.entry import BUDGETS
from wizard.bus.errors import RulebookError
from wizard.bus.sign import KINDS
from wizard.diagnosis.rulebook import TEST_RESULTS, Cause, Clash, Condition, Observation, Rule, Rulebook, Symptom

Tables = Mapping[str, Mapping[str, Any]]

ENTRY_KINDS = ("symptom", "cause", "observation", "rule", "clash", "remedy")
"""Lists that a file may hold; remedies are loaded by the plan."""

RAW_KIND = re.compile(r"windows_(?:problem|event)_[0-9]{1,5}")
"""Signs under the number that Windows itself gives, which rules may speak of where the number says more than the kind
it stands for."""

Entry = TypeVar("Entry", bound=BaseModel)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint in brackets naming the nearest known word, or nothing."""
    near = get_close_matches(word, sorted(known), n=1, cutoff=0.6)
    return f" (did you mean {near[0]!r}?)" if near else ""


def read_entries(tables: Tables, kind: str, model: type[Entry], problems: list[str]) -> Iterator[tuple[str, Entry]]:
    """Entries of one kind in all files with the place of each; what does not fit goes to `problems`."""
    seen: dict[str, str] = {}
    for file, table in tables.items():
        rows = table.get(kind, [])
        if not isinstance(rows, list):
            problems.append(f"{file}: {kind!r} must be a list of tables: write [[{kind}]]")
            continue
        for index, row in enumerate(rows):
            name = row.get("id", f"number {index + 1}") if isinstance(row, Mapping) else f"number {index + 1}"
            place = f"{file}, {kind} {name}"
            try:
                entry = model.model_validate(row)
            except ValidationError as error:
                problems.extend(f"{place}, {line}" for line in _lines(error, model))
                continue
            if name in seen:
                problems.append(f"{place}: the id is taken already, by {seen[name]}")
                continue
            seen[str(name)] = place
            yield place, entry


def _lines(error: ValidationError, model: type[BaseModel]) -> Iterator[str]:
    for item in error.errors():
        where = ".".join(str(part) for part in item["loc"])
        if item["type"] == "extra_forbidden":
            word = str(item["loc"][-1])
            known = {*model.model_fields, *Condition.model_fields}
            yield f"{where}: unknown word {word!r}{did_you_mean(word, known)}"
        else:
            message = item["msg"].removeprefix("Value error, ")
            yield f"{where}: {message}" if where else message


def check_condition(
    condition: Condition, place: str, observations: Mapping[str, Observation], symptoms: Iterable[str]
) -> Iterator[str]:
    """Words of a condition that nothing else knows."""
    if condition.observation is not None:
        yield from _check_observed(condition, place, observations)
    if condition.ledger is not None and condition.ledger not in BUDGETS:
        yield f"{place}: unknown budget {condition.ledger!r}{did_you_mean(condition.ledger, BUDGETS)}"
    for kind in condition.sign:
        if kind not in KINDS and not RAW_KIND.fullmatch(kind):
            yield f"{place}: unknown kind of sign {kind!r}{did_you_mean(kind, KINDS)}"
    known = set(symptoms)
    for symptom in condition.symptom:
        if symptom not in known:
            yield f"{place}: unknown symptom {symptom!r}{did_you_mean(symptom, known)}"


def _check_observed(condition: Condition, place: str, observations: Mapping[str, Observation]) -> Iterator[str]:
    wanted = condition.observation or ""
    observation = observations.get(wanted)
    if observation is None:
        yield f"{place}: unknown observation {wanted!r}{did_you_mean(wanted, observations)}"
        return
    if condition.any_of and observation.kind == "number":
        yield f"{place}: {wanted!r} is a number: use at_least or at_most"
        return
    if not condition.any_of and observation.kind != "number":
        yield f"{place}: {wanted!r} is not a number: use any_of"
        return
    allowed = {*observation.values, *(TEST_RESULTS if observation.how == "test" else ())}
    for value in condition.any_of:
        if value not in allowed:
            yield f"{place}: {wanted!r} has no value {value!r}{did_you_mean(value, allowed)}"


def _check_rule(rule: Rule, place: str, book: Rulebook) -> Iterator[str]:
    causes = book.cause_by_id
    for cause in (*rule.speaks_for, *rule.speaks_against):
        if cause not in causes:
            yield f"{place}: unknown cause {cause!r}{did_you_mean(cause, causes)}"
    symptoms = [s.id for s in book.symptoms]
    for index, condition in enumerate(rule.when):
        yield from check_condition(condition, f"{place}, when.{index}", book.observation_by_id, symptoms)


def _check_observation(entry: Observation, place: str, book: Rulebook) -> Iterator[str]:
    symptoms = [s.id for s in book.symptoms]
    for symptom in entry.symptoms:
        if symptom not in symptoms:
            yield f"{place}: unknown symptom {symptom!r}{did_you_mean(symptom, symptoms)}"
    for index, condition in enumerate(entry.needs):
        yield from check_condition(condition, f"{place}, needs.{index}", book.observation_by_id, symptoms)


def _check_cause(entry: Cause, place: str, book: Rulebook) -> Iterator[str]:
    symptoms = {"default", *(s.id for s in book.symptoms)}
    for symptom in entry.prior:
        if symptom not in symptoms:
            yield f"{place}, prior: unknown symptom {symptom!r}{did_you_mean(symptom, symptoms)}"


def _check_clash(entry: Clash, place: str, book: Rulebook) -> Iterator[str]:
    symptoms = [s.id for s in book.symptoms]
    conditions = (
        *((f"when.{i}", c) for i, c in enumerate(entry.when)),
        *((f"unless.{i}", c) for i, c in enumerate(entry.unless)),
    )
    for part, condition in conditions:
        yield from check_condition(condition, f"{place}, {part}", book.observation_by_id, symptoms)
    observation = book.observation_by_id.get(entry.ask)
    if observation is not None and observation.how == "measure":
        yield f"{place}, ask: {entry.ask!r} is measured and can't be asked again"


def load_rulebook(tables: Tables) -> Rulebook:
    """The rulebook in `tables` (file name → parsed table). Raises RulebookError with every problem found."""
    problems = [
        f"{file}: unknown list {word!r}{did_you_mean(word, ENTRY_KINDS)}"
        for file, table in tables.items()
        for word in table
        if word not in ENTRY_KINDS
    ]
    symptoms = list(read_entries(tables, "symptom", Symptom, problems))
    causes = list(read_entries(tables, "cause", Cause, problems))
    observations = list(read_entries(tables, "observation", Observation, problems))
    rules = list(read_entries(tables, "rule", Rule, problems))
    clashes = list(read_entries(tables, "clash", Clash, problems))
    book = Rulebook(
        symptoms=tuple(e for _, e in symptoms),
        causes=tuple(e for _, e in causes),
        observations=tuple(e for _, e in observations),
        rules=tuple(e for _, e in rules),
        clashes=tuple(e for _, e in clashes),
    )
    for place, cause in causes:
        problems.extend(_check_cause(cause, place, book))
    for place, observation in observations:
        problems.extend(_check_observation(observation, place, book))
    for place, rule in rules:
        problems.extend(_check_rule(rule, place, book))
    for place, clash in clashes:
        problems.extend(_check_clash(clash, place, book))
    if problems:
        raise RulebookError(tuple(problems))
    return book
