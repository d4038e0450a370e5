"""The versions of our documents, and the steps from each to the next. Imports nothing of ours on purpose:
a step must keep working when the models have moved on.

`CASE_STEPS[0]` turns `portmend/case/1` into `portmend/case/2`, and so on; each takes and returns the bare
JSON object. There is only version 1 today, so there are no steps yet.
"""

import re
from collections.abc import Callable
from typing import Any

MigrationStep = Callable[[dict[str, Any]], dict[str, Any]]

CASE_STEPS: tuple[MigrationStep, ...] = ()
LOOK_STEPS: tuple[MigrationStep, ...] = ()

_SCHEMA = re.compile(r"portmend/([a-z]+)/([1-9]\d{0,5})", re.ASCII)


def kind_and_version(schema: object) -> tuple[str, int] | None:
    """`("case", 1)` for `"portmend/case/1"`; None for anything that is no schema of ours."""
    found = _SCHEMA.fullmatch(schema) if isinstance(schema, str) else None
    return (found[1], int(found[2])) if found else None


def brought_up(document: dict[str, Any], version: int, steps: tuple[MigrationStep, ...]) -> dict[str, Any] | None:
    """The document in the newest version, which is `len(steps) + 1`; None if it is newer than that."""
    if version > len(steps) + 1:
        return None
    for step in steps[version - 1 :]:
        document = step(document)
    return document
