"""From tables to remedies, with every misspelling located. Whether they fit the rulebook is for `lint`."""

from wizard.bus.errors import RulebookError
from wizard.diagnosis.loading import Tables, read_entries
from wizard.plan.steps import Remedy


def load_remedies(tables: Tables) -> tuple[Remedy, ...]:
    """The `[[remedy]]` entries of all tables (file name → parsed table), in the order of the data.

    Raises RulebookError with every problem found.
    """
    problems: list[str] = []
    remedies = tuple(remedy for _, remedy in read_entries(tables, "remedy", Remedy, problems))
    if problems:
        raise RulebookError(tuple(problems))
    return remedies
