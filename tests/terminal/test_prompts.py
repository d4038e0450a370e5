"""One thing at a time, and a wrong line is no harm."""

from typing import Any

import pytest

from wizard.terminal.prompts import ask_text, choose


@pytest.mark.parametrize(
    ("typed", "move", "chosen"),
    [
        ("2", "answer", (1,)),
        (" 3 ", "answer", (2,)),
        ("", "nothing", ()),
        ("b", "back", ()),
        ("B", "back", ()),
        ("q", "quit", ()),
    ],
)
def test_a_line_is_an_answer_or_a_move(scripted: Any, typed: str, move: str, chosen: tuple[int, ...]) -> None:
    reply = choose(scripted([typed]).screen, ["one", "two", "three"], "don't know")
    assert (reply.move, reply.chosen) == (move, chosen)


@pytest.mark.parametrize("typed", ["0", "4", "-1", "1,2", "one", "1x", "²", "٣", "f", "9" * 5000, "\x1b[A"])
def test_a_line_that_can_not_be_used_is_asked_again(scripted: Any, typed: str) -> None:
    script = scripted([typed, "1"])
    reply = choose(script.screen, ["one", "two", "three"], "don't know")
    assert reply.chosen == (0,)
    assert "can't be used here" in script.text


@pytest.mark.parametrize("typed", ["1,3", "3 1", "1, 3", "1,3,1"])
def test_several_may_be_chosen_where_several_are_meant(scripted: Any, typed: str) -> None:
    assert choose(scripted([typed]).screen, ["one", "two", "three"], "none", many=True).chosen == (0, 2)


def test_a_question_mark_explains_and_asks_again(scripted: Any) -> None:
    script = scripted(["?", "2"])
    assert choose(script.screen, ["one", "two"], "none", why="Because of the fuse.").chosen == (1,)
    assert "Because of the fuse." in script.text
    assert len(script.prompts) == 2


def test_the_end_of_input_leaves(scripted: Any) -> None:
    assert choose(scripted().screen, ["one"], "none").move == "quit"
    assert ask_text(scripted().screen, "File: ").move == "quit"


def test_free_text_keeps_its_letters(scripted: Any) -> None:
    assert ask_text(scripted([" My Case.json "]).screen, "File: ").text == "My Case.json"
    assert ask_text(scripted([""]).screen, "File: ").move == "nothing"
    assert ask_text(scripted(["b"]).screen, "File: ").move == "back"
