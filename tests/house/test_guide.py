"""The worked example of DEVELOPERS.md, followed to the letter: whoever copies it gets a working cause."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from wizard.bus.errors import RulebookError
from wizard.diagnosis.facts import gather_facts
from wizard.diagnosis.lint import lint_rulebook
from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.ranking import rank
from wizard.diagnosis.rulebook import Rulebook
from wizard.diagnosis.texts import Texts
from wizard.plan.lint import lint_remedies
from wizard.plan.loading import load_remedies
from wizard.plan.steps import Remedy
from wizard.store.resources import rulebook_tables, texts

Pieces = dict[str, str]


@pytest.fixture(scope="session")
def pieces(checkout: Path) -> Pieces:
    """File -> what the guide adds to it."""
    guide = (checkout / "DEVELOPERS.md").read_text("utf-8")
    blocks = re.findall(r"```toml\n# (resources/\S+)\n(.*?)```", guide, re.DOTALL)
    assert len(blocks) == len({file for file, _ in blocks}) == 8
    return dict(blocks)


def taught(checkout: Path, folder: Path, pieces: Pieces) -> tuple[Rulebook, tuple[Remedy, ...], Texts]:
    """The knowledge after PIECES were added to a copy of the files."""
    shutil.copytree(checkout / "resources", folder / "resources")
    for file, added in pieces.items():
        with (folder / file).open("a", encoding="utf-8") as target:
            target.write(f"\n{added}")
    tables = rulebook_tables(folder / "resources" / "rulebook")
    words = Texts("en", texts("en", folder / "resources" / "texts"))
    return load_rulebook(tables), load_remedies(tables), words


def gaps(knowledge: tuple[Rulebook, tuple[Remedy, ...], Texts]) -> set[str]:
    """What the linters say, each as one line."""
    book, remedies, words = knowledge
    problems = (*lint_rulebook(book, words), *lint_remedies(remedies, book, words))
    return {f"{problem.place}: {problem.text}" for problem in problems}


def test_all_pieces_together_leave_no_gap(checkout: Path, tmp_path: Path, pieces: Pieces) -> None:
    assert gaps(taught(checkout, tmp_path, pieces)) == set()


@pytest.mark.parametrize(
    ("left_out", "said"),
    [
        ("resources/rulebook/steps.toml", "cause charging_socket: no remedy cures it"),
        ("resources/texts/en/causes.toml", "texts en: cause.charging_socket.title is missing"),
        ("resources/texts/en/observations.toml", "texts en: observation.socket_mark.text is missing"),
        ("resources/texts/en/rules.toml", "texts en: rule.socket_marked_battery.why is missing"),
        ("resources/texts/en/steps.toml", "texts en: step.data_socket.do is missing"),
    ],
)
def test_each_piece_is_asked_for(checkout: Path, tmp_path: Path, pieces: Pieces, left_out: str, said: str) -> None:
    rest = {file: added for file, added in pieces.items() if file != left_out}
    assert said in gaps(taught(checkout, tmp_path, rest))


def test_the_rule_is_asked_for(checkout: Path, tmp_path: Path, pieces: Pieces) -> None:
    rules = ("resources/rulebook/rules_device.toml", "resources/texts/en/rules.toml")
    rest = {file: added for file, added in pieces.items() if file not in rules}
    found = gaps(taught(checkout, tmp_path, rest))
    assert "cause charging_socket: no rule speaks for it" in found
    # The remedy looks at the answer, a rule does not yet.
    assert "observation socket_mark: no rule looks at it" in found


@pytest.mark.parametrize(
    ("left_out", "said"),
    [
        ("resources/rulebook/causes.toml", "unknown cause 'charging_socket'"),
        ("resources/rulebook/observations.toml", "unknown observation 'socket_mark'"),
    ],
)
def test_a_word_that_nothing_knows_is_refused(
    checkout: Path, tmp_path: Path, pieces: Pieces, left_out: str, said: str
) -> None:
    rest = {file: added for file, added in pieces.items() if file != left_out}
    with pytest.raises(RulebookError, match=said):
        taught(checkout, tmp_path, rest)


def test_the_new_cause_leads_where_its_evidence_is(checkout: Path, tmp_path: Path, pieces: Pieces) -> None:
    book, _, words = taught(checkout, tmp_path, pieces)
    told = {"socket_mark": "battery", "seen_by_system": "nothing"}
    findings = rank(book, words, gather_facts(symptoms=("device_missing",), observations=told))
    assert findings[0].id == "charging_socket"
    assert findings[0].for_[0].on == "socket_mark"


def test_the_message_that_the_guide_quotes_is_the_one_that_comes(checkout: Path, tmp_path: Path) -> None:
    guide = (checkout / "DEVELOPERS.md").read_text("utf-8")
    quoted = re.search(r"```\n(rules_hub\.toml, .*)\n```", guide)
    assert quoted
    shutil.copytree(checkout / "resources" / "rulebook", tmp_path / "rulebook")
    rules = tmp_path / "rulebook" / "rules_hub.toml"
    text = rules.read_text("utf-8")
    broken = re.sub(r'(id = "hub_drops"\nwhen = \[\{ observation = ")hub_between', r"\1hub_betwen", text)
    assert broken != text
    rules.write_text(broken, "utf-8")
    with pytest.raises(RulebookError) as refused:
        load_rulebook(rulebook_tables(tmp_path / "rulebook"))
    assert refused.value.problems == (quoted[1],)
