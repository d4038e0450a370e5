"""The remedies, rulebook and prose that are shipped, and findings made to measure."""

from collections.abc import Callable

import pytest

from wizard.diagnosis.advice import Finding
from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.plan.loading import load_remedies
from wizard.plan.steps import Remedy
from wizard.store import resources

Findings = Callable[..., tuple[Finding, ...]]


@pytest.fixture(scope="session")
def rulebook() -> Rulebook:
    return load_rulebook(resources.rulebook_tables())


@pytest.fixture(scope="session")
def remedies() -> tuple[Remedy, ...]:
    return load_remedies(resources.rulebook_tables())


@pytest.fixture(scope="session")
def prose() -> Texts:
    return Texts("en", resources.texts("en"))


@pytest.fixture(scope="session")
def found(rulebook: Rulebook) -> Findings:
    """Findings with the shares named; the other causes share the rest evenly."""

    def make(**shares: float) -> tuple[Finding, ...]:
        others = [c.id for c in rulebook.causes if c.id not in shares]
        rest = (1 - sum(shares.values())) / len(others)
        return tuple(Finding(id=c, share=s) for c, s in {**shares, **dict.fromkeys(others, rest)}.items())

    return make
