"""Cases and looks as files: opened with one clear sentence for whatever is wrong, saved whole or not at all.

Opening never changes a file. Saving writes a new file beside the old one and swaps them in one move, so
a crash, a full disk or a pulled plug leaves the old one as it was.
"""

import json
import re
from contextlib import suppress
from itertools import count
from pathlib import Path
from typing import Any

import platformdirs
from pydantic import ValidationError
from pydantic_core import ErrorDetails

from wizard.bus.errors import BadInputError, NewerDocumentError
from wizard.case.documents import Look
from wizard.case.model import Case
from wizard.store.atomic import write_whole
from wizard.store.reading import MAX_BYTES, read_document
from wizard.store.versions import CASE_STEPS, LOOK_STEPS, brought_up, kind_and_version

LOG_CUT = "-- the beginning of this log was left out: it was too large for a case --\n"
"""First line of a log that did not fit into its case."""

_MEND = "Choose a case that Portmend saved; this file was not changed."


def cases_dir() -> Path:
    """Where cases are kept when nobody names another place. It may not exist yet."""
    return platformdirs.user_data_path("portmend", appauthor=False) / "cases"


def saved_cases(folder: Path | None = None) -> tuple[Path, ...]:
    """Saved cases, the one changed last first."""
    home = folder or cases_dir()
    dated: list[tuple[float, Path]] = []
    for path in home.glob("*.json"):
        with suppress(OSError):  # gone since it was listed
            dated.append((path.stat().st_mtime, path))
    return tuple(path for _, path in sorted(dated, reverse=True))


def new_case_path(symptom: str, stamp: str) -> Path:
    """A free name for a new case among the saved ones; `symptom` may come from a foreign file and is made fit for a
    name. Two cases begun at the same moment get two names."""
    word = re.sub(r"[^a-z0-9_]+", "-", symptom.lower())[:40].strip("-") or "case"
    names = (f"{stamp}-{word}{f'-{number}' if number > 1 else ''}.json" for number in count(1))
    return next(path for name in names if not (path := cases_dir() / name).exists())


def open_case(path: Path) -> Case:
    """The case in a file. Raises BadInputError, or NewerDocumentError, with one sentence."""
    document = read_document(path)
    kind = _kind(path, document)
    if kind != "case":
        raise BadInputError(str(path), f"it is a Portmend {kind} document, not a case", "Choose a saved case.")
    return _case(path, document)


def open_case_or_look(path: Path) -> Case | Look:
    """The case or the look in a file, for comparing. Raises as `open_case` does."""
    document = read_document(path)
    kind = _kind(path, document)
    if kind == "look":
        return _look(path, document)
    if kind != "case":
        raise BadInputError(str(path), f"it is a Portmend {kind} document, neither a case nor a look", _MEND)
    return _case(path, document)


def save_case(case: Case, path: Path) -> None:
    """Write a case; its folder is made if need be. Raises BadInputError if that fails; the old file stays."""
    data = _encoded(case)
    while len(data) > MAX_BYTES and case.log:
        case = case.model_copy(update={"log": _shorter(case.log, MAX_BYTES / len(data))})
        data = _encoded(case)
    if len(data) > MAX_BYTES:
        raise BadInputError(
            str(path), "the case is too large to be opened again", "Leave out its looks or its log and save again."
        )
    write_whole(path, data)


def _kind(path: Path, document: dict[str, Any]) -> str:
    if "schema" not in document:
        raise BadInputError(str(path), "it does not say what it is (no 'schema')", _MEND)
    found = kind_and_version(document["schema"])
    if found is None:
        named = json.dumps(document["schema"])[:60]
        raise BadInputError(str(path), f"its schema {named} is none of Portmend's", _MEND)
    return found[0]


def _case(path: Path, document: dict[str, Any]) -> Case:
    _, version = kind_and_version(document["schema"]) or ("", 0)
    newest = brought_up(document, version, CASE_STEPS)
    if newest is None:
        raise NewerDocumentError(str(path), document["schema"])
    try:
        return Case.model_validate(newest)
    except ValidationError as wrong:
        raise BadInputError(str(path), _first_of(wrong), _MEND) from wrong


def _look(path: Path, document: dict[str, Any]) -> Look:
    _, version = kind_and_version(document["schema"]) or ("", 0)
    newest = brought_up(document, version, LOOK_STEPS)
    if newest is None:
        raise NewerDocumentError(str(path), document["schema"])
    try:
        return Look.model_validate(newest)
    except ValidationError as wrong:
        raise BadInputError(str(path), _first_of(wrong), _MEND) from wrong


def _first_of(wrong: ValidationError) -> str:
    """One sentence: the first field that is wrong, why, and how many more there are."""
    first, *more = wrong.errors(include_url=False, include_input=False)
    field = ".".join(str(part) for part in first["loc"]) or "the document"
    said = f"'{field}' is missing" if first["type"] == "missing" else f"'{field}' can't be used ({_why_not(first)})"
    if more:
        said += f", and {len(more)} more {'field is' if len(more) == 1 else 'fields are'} wrong"
    return said


_SHAPES = {
    "string": "text", "int": "a whole number", "float": "a number", "decimal": "a number", "bool": "true or false",
    "tuple": "a list", "list": "a list", "dict": "a group of fields in braces", "model": "a group of fields in braces",
}  # fmt: skip
"""What a field should be, by the first word of the error's type."""

_BOUNDS = {"greater_than_equal": "ge", "greater_than": "gt", "less_than_equal": "le", "less_than": "lt"}
_BOUND_WORDS = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}


def _why_not(error: ErrorDetails) -> str:
    """Why a value was refused, in plain words."""
    kind, context = error["type"], error.get("ctx", {})
    if kind == "value_error":
        return error["msg"].removeprefix("Value error, ")
    if kind in _BOUNDS:
        bound = _BOUNDS[kind]
        return f"it should be {_BOUND_WORDS[bound]} {context[bound]}"
    if kind == "literal_error":
        return f"it should be one of {str(context['expected']).replace(' or ', ', ')}"
    shape = _SHAPES.get(kind.partition("_")[0])
    return f"it should be {shape}" if shape else "it is not of the right kind"


def _encoded(case: Case) -> bytes:
    return case.model_dump_json(by_alias=True, indent=1).encode()


def _shorter(log: str, share: float) -> str:
    """The end of a log, from the start of a line: a little less than that share of its characters."""
    rest = log[len(log) - int(len(log) * share * 0.95) :]
    _, _, whole_lines = rest.partition("\n")
    return LOG_CUT + whole_lines if whole_lines else ""
