"""Drawings that help to answer: each is there, is one of ours, has words, and comes with its question."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from wizard import wiring
from wizard.diagnosis.lint import lint_drawings, lint_rulebook
from wizard.diagnosis.questions import make_question
from wizard.store import resources

NAMES = resources.drawing_names()
ACCENT = "#2b7fc4"
"""The one fixed colour: at least 4 to 1 against white and against the dark theme's ground (own choice)."""


@pytest.fixture(scope="module")
def services() -> wiring.Services:
    return wiring.load_services()


def test_every_drawing_is_named_by_a_question_and_every_name_is_drawn(services: wiring.Services) -> None:
    assert lint_drawings(services.rulebook, NAMES) == ()


def test_a_missing_and_an_unused_drawing_are_gaps(services: wiring.Services) -> None:
    there = [*(name for name in NAMES if name != "cable_swap"), "cable_swop"]
    problems = {problem.place: problem.text for problem in lint_drawings(services.rulebook, there)}
    assert set(problems) == {"observation other_cable", "drawing cable_swop"}
    assert "did you mean 'cable_swop'" in problems["observation other_cable"]


def test_a_drawing_without_words_is_a_gap(services: wiring.Services) -> None:
    texts = {key: services.texts[key] for key in sorted(services.texts.keys()) if key != "drawing.alone.alt"}
    problems = lint_rulebook(services.rulebook, type(services.texts)("en", texts))
    assert [problem.text for problem in problems] == ["drawing.alone.alt is missing"]


def test_a_question_brings_its_drawing_and_its_words(services: wiring.Services) -> None:
    question = make_question(services.rulebook.observation_by_id["socket_generation"], services.texts)
    assert question.drawing == "usb3_socket"
    assert "five smaller ones" in (question.drawing_words or "")
    plain = make_question(services.rulebook.observation_by_id["onset"], services.texts)
    assert (plain.drawing, plain.drawing_words) == (None, None)


@pytest.mark.parametrize("name", NAMES)
def test_a_drawing_is_plain_lines_that_take_the_colour_of_the_page(name: str) -> None:
    text = resources.drawing(name).read_text("utf-8")
    tree = ElementTree.fromstring(text)
    kinds = {element.tag.rpartition("}")[2] for element in tree.iter()}
    assert kinds <= {"svg", "title", "path", "rect", "circle", "text"}
    assert set(re.findall(r"#[0-9a-fA-F]{3,8}", text)) <= {ACCENT}
    assert tree.get("stroke") == "currentColor"
