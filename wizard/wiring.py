"""The one place where everything meets: observers, budgets, rulebook, plan, store and report.

Window and terminal call only this; a test passes its own parts. Nothing here shows anything, asks
anything or keeps state between calls.
"""

from dataclasses import dataclass
from pathlib import Path

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.sign import Sign
from wizard.case.documents import Advice, CompareDocument, Look
from wizard.case.model import Case
from wizard.diagnosis.facts import Facts, gather_facts
from wizard.diagnosis.lint import Problem, lint_rulebook
from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.questions import next_question
from wizard.diagnosis.ranking import both_at_work, rank
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.observe import captured, kernel_log, live
from wizard.observe.seen import Seen, Watcher
from wizard.plan.compare import compare_looks
from wizard.plan.lint import lint_remedies
from wizard.plan.loading import load_remedies
from wizard.plan.planning import make_plan
from wizard.plan.steps import Remedy
from wizard.store import demos as demo_store
from wizard.store import resources
from wizard.store.demos import Demo


@dataclass(frozen=True)
class Services:
    """The knowledge that answers are made of. Build it once with `load_services`."""

    rulebook: Rulebook
    remedies: tuple[Remedy, ...]
    texts: Texts


def load_services(language: str = "en") -> Services:
    """Read the rulebook, remedies and texts. Raises RulebookError with every problem at once."""
    tables = resources.rulebook_tables()
    texts = Texts(language, resources.texts(language))
    return Services(load_rulebook(tables), load_remedies(tables), texts)


def lint(services: Services) -> tuple[Problem, ...]:
    """All problems of rulebook, remedies and texts taken together."""
    rulebook = services.rulebook
    return (*lint_rulebook(rulebook, services.texts), *lint_remedies(services.remedies, rulebook, services.texts))


def _look(seen: Seen, setup: Setup, log: str | None, demo: bool = False) -> Look:
    signs = read_signs(log, seen.snapshot)
    return Look(
        snapshot=seen.snapshot, ledger=build_ledger(seen.snapshot, setup), signs=signs, notes=seen.notes
    )
