"""'Does one more fit?' in words: what is not known is told, of free sockets and of limits."""

from builders import controller, device, hub, root, snapshot

from wizard.budget.fit import does_it_fit
from wizard.budget.replug import Add
from wizard.budget.what_if import Bench
from wizard.bus.model import Hub, Socket
from wizard.bus.tree import BusTree
from wizard.report.fit_part import fit_answer, fit_section
from wizard.report.text import render_section


def test_no_free_socket_known_is_not_told_as_none_free() -> None:
    bare = root().model_copy(update={"hub": Hub(translator="none")})
    taken = snapshot(controller(), bare, Socket(id="1-1", hub="usb1"), device("1-1", "full", 100))
    fit = does_it_fit(Bench.of(taken), lambda socket: Add(device("x", "full", 100), socket))
    assert fit_answer(fit) == "Not known: this look does not tell which sockets are free."


def test_where_all_sockets_are_counted_and_taken_the_answer_is_no() -> None:
    full = snapshot(controller(), root(ports=1), Socket(id="1-1", hub="usb1"), device("1-1", "full", 100))
    fit = does_it_fit(Bench.of(full), lambda socket: Add(device("x", "full", 100), socket))
    assert fit_answer(fit) == "No: no suitable socket is free."


def test_a_socket_with_a_limit_that_nobody_knows_is_marked_where_it_stands() -> None:
    sockets = (Socket(id="1-1.1", hub="1-1"), Socket(id="1-2", hub="usb1"))
    seen = snapshot(controller(), root(ports=2), hub("1-1"), *sockets)
    fit = does_it_fit(Bench.of(seen), lambda socket: Add(device("x", "low", 100), socket))
    text = " ".join(render_section(fit_section(fit, "A thing", "made up", BusTree(seen), {}), 400).split())
    assert "- socket 1-2 - socket 1-1.1 of " in text
    assert text.count("but not all limits there are known") == 1
    assert text.index("but not all limits there are known") > text.index("1-1.1 of ")
