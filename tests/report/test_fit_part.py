"""'Does one more fit?' in words, where the look does not tell which sockets are free."""

from builders import controller, device, root, snapshot

from wizard.budget.fit import does_it_fit
from wizard.budget.replug import Add
from wizard.budget.what_if import Bench
from wizard.bus.model import Hub, Socket
from wizard.report.fit_part import fit_answer


def test_no_free_socket_known_is_not_told_as_none_free() -> None:
    bare = root().model_copy(update={"hub": Hub(translator="none")})
    taken = snapshot(controller(), bare, Socket(id="1-1", hub="usb1"), device("1-1", "full", 100))
    fit = does_it_fit(Bench.of(taken), lambda socket: Add(device("x", "full", 100), socket))
    assert fit_answer(fit) == "Not known: this look does not tell which sockets are free."


def test_where_all_sockets_are_counted_and_taken_the_answer_is_no() -> None:
    full = snapshot(controller(), root(ports=1), Socket(id="1-1", hub="usb1"), device("1-1", "full", 100))
    fit = does_it_fit(Bench.of(full), lambda socket: Add(device("x", "full", 100), socket))
    assert fit_answer(fit) == "No: no suitable socket is free."
