"""The linter of rulebooks finds gaps, each named by its entry."""

from wizard.diagnosis.lint import lint_rulebook
from wizard.diagnosis.loading import load_rulebook
from wizard.diagnosis.texts import Texts

OBSERVATION = {"kind": "choice", "values": ["yes", "no"], "how": "ask", "effort_min": 1}


def problems(*, causes: list[str], observations: list[dict[str, object]], rules: list[dict[str, object]]) -> list[str]:
    book = load_rulebook(
        {
            "x.toml": {
                "symptom": [{"id": "lag"}, {"id": "dropout"}],
                "cause": [{"id": c, "source": "made up"} for c in causes],
                "observation": [{**OBSERVATION, **o} for o in observations],
                "rule": [{"id": f"r{i}", "source": "made up", **r} for i, r in enumerate(rules)],
            }
        }
    )
    found = lint_rulebook(book, Texts("en", {}))
    return [f"{p.place}: {p.text}" for p in found if not p.place.startswith("texts")]


def rule(observation: str, value: str, **speaks: str) -> dict[str, object]:
    return {"when": [{"observation": observation, "any_of": [value]}], "speaks_for": speaks}


def test_a_sound_rulebook_has_no_gap() -> None:
    rules = [rule("a", "yes", one="fair"), rule("a", "no", two="fair")]
    assert problems(causes=["one", "two"], observations=[{"id": "a"}], rules=rules) == []


def test_a_cause_without_evidence_is_found() -> None:
    found = problems(causes=["one", "lost"], observations=[{"id": "a"}], rules=[rule("a", "yes", one="fair")])
    assert found == ["cause lost: no rule speaks for it"]


def test_a_question_nobody_needs_is_found() -> None:
    found = problems(causes=["one"], observations=[{"id": "a"}, {"id": "idle"}], rules=[rule("a", "yes", one="fair")])
    assert found == ["observation idle: no rule looks at it"]


def test_a_question_nobody_can_reach_is_found() -> None:
    shut = {"id": "a", "symptoms": ["lag"], "needs": [{"symptom": ["dropout"]}]}
    found = problems(causes=["one"], observations=[shut], rules=[rule("a", "yes", one="fair")])
    assert found == ["observation a: no symptom allows this question to be asked"]


def test_two_causes_that_nothing_tells_apart_are_found() -> None:
    found = problems(
        causes=["one", "two"], observations=[{"id": "a"}], rules=[rule("a", "yes", one="fair", two="fair")]
    )
    assert found == ["causes one and two: no question can tell them apart"]


def test_missing_and_stale_texts_are_found() -> None:
    book = load_rulebook({"x.toml": {"cause": [{"id": "one", "source": "made up"}]}})
    texts = Texts("en", {"cause.one.title": "One", "cause.gone.title": "Gone"})
    found = {p.text for p in lint_rulebook(book, texts)}
    assert "cause.one.words is missing" in found
    assert "cause.one.title is missing" not in found
    assert "cause.gone.title belongs to nothing in the rulebook" in found


def test_a_clash_without_its_sentence_is_found() -> None:
    when = [{"observation": "a", "any_of": [value]} for value in ("yes", "no")]
    book = load_rulebook(
        {
            "x.toml": {
                "observation": [{**OBSERVATION, "id": "a"}],
                "clash": [{"id": "c", "when": when, "ask": "a", "source": "made up"}],
            }
        }
    )
    found = {p.text for p in lint_rulebook(book, Texts("en", {"clash.gone.why": "Gone"}))}
    assert {"clash.c.why is missing", "note.doubted is missing"} <= found
    assert "clash.gone.why belongs to nothing in the rulebook" in found
