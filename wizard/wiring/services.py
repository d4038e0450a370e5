"""The knowledge that answers are made of: rulebook, remedies, typical devices and texts."""

from dataclasses import dataclass

from wizard.budget.kinds import DeviceKind, load_kinds
from wizard.diagnosis.lint import Problem, lint_drawings, lint_rulebook
from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.plan.lint import lint_remedies
from wizard.plan.loading import load_remedies
from wizard.plan.steps import Remedy
from wizard.store import resources


@dataclass(frozen=True)
class Services:
    """The knowledge that answers are made of. Build it once with `load_services`."""

    rulebook: Rulebook
    remedies: tuple[Remedy, ...]
    kinds: tuple[DeviceKind, ...]
    texts: Texts


def load_services(language: str = "en") -> Services:
    """Read rulebook, remedies, typical devices and texts. Raises RulebookError with every problem at once."""
    tables = resources.rulebook_tables()
    return Services(
        load_rulebook(tables),
        load_remedies(tables),
        load_kinds(resources.kind_tables()),
        Texts(language, resources.texts(language)),
    )


def lint(services: Services) -> tuple[Problem, ...]:
    """All gaps of rulebook, remedies, texts and drawings taken together."""
    book = services.rulebook
    return (
        *lint_rulebook(book, services.texts),
        *lint_drawings(book, resources.drawing_names()),
        *lint_remedies(services.remedies, book, services.texts),
    )
