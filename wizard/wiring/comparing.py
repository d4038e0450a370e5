"""Two looks side by side, and whether a fix held."""

from pathlib import Path

from wizard.bus.errors import BadInputError
from wizard.case.documents import CompareDocument, Look
from wizard.case.model import Case
from wizard.plan.compare import compare_looks
from wizard.plan.verdict import Verdict, looks_taken, sentences
from wizard.plan.verdict import verdict as verdict_on
from wizard.store import cases as case_store
from wizard.wiring.advising import facts_of
from wizard.wiring.looking import look_of
from wizard.wiring.services import Services


def compare(before: Look, after: Look) -> CompareDocument:
    """Two looks side by side."""
    found = compare_looks(before.snapshot, after.snapshot, before.ledger, after.ledger, before.signs, after.signs)
    return CompareDocument.model_validate(found.model_dump(by_alias=True))


def compare_files(before: Path, after: Path) -> CompareDocument:
    """Two saved looks or cases side by side. Raises BadInputError for either."""
    return compare(*open_looks(before, after))


def open_looks(before: Path, after: Path) -> tuple[Look, Look]:
    """Two saved looks, or those of two cases. Raises BadInputError for either, also where a case holds none."""
    return _open_look(before), _open_look(after)


def _open_look(path: Path) -> Look:
    found = case_store.open_case_or_look(path)
    if isinstance(found, Case) and found.snapshot is None:
        raise BadInputError(
            str(path), "this case holds no look, so there is nothing to compare", "Choose a case or look with one."
        )
    return found if isinstance(found, Look) else look_of(found)


def verdict(case: Case, before: Look, after: Look) -> Verdict:
    """Whether the fix held: what the user said at the last check, and the two looks together.

    Only budgets of the subject count as the trouble; what else is over is not what the user came with.
    """
    outcome = case.rechecks[-1].outcome if case.rechecks else None
    looks = looks_taken(before.snapshot, after.snapshot)
    return verdict_on(outcome, compare(before, after), trouble(case, before), case.subject, looks)


def trouble(case: Case, before: Look) -> tuple[tuple[str, str], ...]:
    """Budgets of the subject that were over in the first look, each with its place."""
    return tuple((e.budget, e.where) for e in facts_of(case, before).ledger if e.state == "over")


def verdict_words(services: Services, judged: Verdict) -> tuple[str, ...]:
    """The reasons of a verdict in words."""
    return sentences(judged, services.texts)
