"""How often a plan holds, among its first steps, what ended a real trouble.

    python tests/bench/score_fixes.py CASES.jsonl   (with Portmend installed in that Python)

One JSON object a line: `id` and `full` (the case with all that is known of it). Which remedies amount to what ended a
trouble stands in `tests/reference/fixes.toml`, made by hand. A trouble for which no remedy of ours would do counts as
missed. Changes nothing; knows no remedy by name.
"""

from __future__ import annotations

import argparse
import json
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from wizard import wiring
from wizard.case.model import Case

MAP = Path(__file__).resolve().parent.parent / "reference" / "fixes.toml"

FIRST = 5
"""Steps that a person is expected to try: the project's own target."""

Fixes = Mapping[str, Sequence[str]]
"""By trouble, the remedies each of which amounts to what ended it."""


@dataclass(frozen=True)
class Result:
    """How one trouble fared: its remedies and the steps of its plan in order."""

    id: str
    fixes: tuple[str, ...]
    steps: tuple[str, ...]

    @property
    def place(self) -> int | None:
        """Where the first remedy that counts stands, from 1; None if the plan has none."""
        return next((i for i, step in enumerate(self.steps, 1) if step in self.fixes), None)

    @property
    def hit(self) -> bool:
        """Whether it is among the first steps."""
        return self.place is not None and self.place <= FIRST


def read_fixes(path: Path = MAP) -> Fixes:
    """The map. Raises OSError, KeyError or ValueError for a file that is none."""
    fixes: dict[str, list[str]] = tomllib.loads(path.read_text("utf-8"))["fixes"]
    return fixes


def score(services: wiring.Services, rows: Iterable[str], fixes: Fixes) -> tuple[Result, ...]:
    """The plan of each trouble against the map. Raises KeyError or ValueError for a line that is none, or one
    that the map does not know."""
    results = []
    for text in rows:
        row: dict[str, Any] = json.loads(text)
        plan = wiring.advise(services, Case.model_validate(row["full"])).plan
        results.append(Result(row["id"], tuple(fixes[row["id"]]), tuple(step.id for step in plan.steps)))
    return tuple(results)


def lines(results: Sequence[Result]) -> Iterator[str]:
    """The share, then every miss with the plan it got."""
    hits = sum(r.hit for r in results)
    whole = max(1, len(results))
    first = sum(r.place == 1 for r in results)
    yield f"among the first {FIRST} steps: {hits}/{len(results)} = {100 * hits / whole:.0f} %   (first step: {first})"
    for result in results:
        if result.hit:
            continue
        if not result.fixes:
            yield f"  {result.id}: no remedy of ours would do; the plan: {', '.join(result.steps)}"
        else:
            where = "not in the plan" if result.place is None else f"at {result.place}"
            yield f"  {result.id}: {'/'.join(result.fixes)} {where}; the plan: {', '.join(result.steps)}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the share and the misses; 0 done, 2 if the file can't be read."""
    parser = argparse.ArgumentParser(description="How often a plan holds what ended a real trouble.")
    parser.add_argument("cases", type=Path)
    given = parser.parse_args(arguments)
    services = wiring.load_services()
    try:
        rows = [line for line in given.cases.read_text("utf-8").splitlines() if line.strip()]
        results = score(services, rows, read_fixes())
    except (OSError, ValueError, KeyError) as problem:
        sys.stderr.write(f"{given.cases} can't be read as cases that the map knows: {type(problem).__name__}\n")
        return 2
    for line in lines(results):
        sys.stdout.write(f"{line}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
