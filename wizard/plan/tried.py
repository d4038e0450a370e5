"""What became of steps, as results of the tests that they are. Knows no case and asks nothing."""

from collections.abc import Iterable, Mapping

from wizard.diagnosis.rulebook import Rulebook
from wizard.plan.steps import Remedy

_RESULTS: Mapping[str, tuple[str, ...]] = {"helped": ("cures", "works"), "did_not_help": ("same", "fails")}
_EASED = ("helps", "works")


def results_of_marks(
    remedies: Iterable[Remedy], rulebook: Rulebook, marks: Mapping[str, str], outcomes: Iterable[str | None] = ()
) -> dict[str, str]:
    """Observation → result, for every marked step that is a test by another name. `outcomes` are what the user said at
    the checks: where it was better at best, a step that helped has not cured. A step that helped outweighs another
    one of the same test that did not."""
    said = set(outcomes)
    only_better = "better" in said and "gone" not in said
    found: dict[str, str] = {}
    marked = [r for r in remedies if r.tried_as is not None and marks.get(r.id) in _RESULTS]
    for remedy in sorted(marked, key=lambda r: marks[r.id] == "helped"):
        name = remedy.tried_as or ""
        words = _EASED if only_better and marks[remedy.id] == "helped" else _RESULTS[marks[remedy.id]]
        known = rulebook.observation_by_id[name].values if name in rulebook.observation_by_id else ()
        result = next((word for word in words if word in known), None)
        if result is not None:
            found[name] = result
    return found
