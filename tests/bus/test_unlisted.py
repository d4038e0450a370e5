"""Which free sockets a look does not tell of: unknown is not the same as none."""

from builders import controller, device, hub, root, snapshot

from wizard.bus.model import Device, Hub, Socket
from wizard.bus.tree import BusTree
from wizard.bus.unlisted import unlisted_hubs


def bare_root() -> Device:
    """A root hub as a list of devices tells of it: no number of sockets."""
    return root().model_copy(update={"hub": Hub(translator="none")})


def test_a_root_hub_with_only_taken_sockets_and_no_count_may_hide_free_ones() -> None:
    seen = snapshot(controller(), bare_root(), Socket(id="1-1", hub="usb1"), device("1-1", "full", 100))
    assert unlisted_hubs(BusTree(seen)) == ("usb1",)


def test_a_hub_of_unknown_size_hides_its_free_sockets_too() -> None:
    seen = snapshot(controller(), root(ports=1), hub("1-1", ports=None), device("1-1.1", "full", 100))
    assert unlisted_hubs(BusTree(seen)) == ("1-1",)


def test_where_an_empty_socket_is_listed_or_the_count_is_known_nothing_is_hidden() -> None:
    listed = snapshot(controller(), bare_root(), Socket(id="1-2", hub="usb1"))
    assert unlisted_hubs(BusTree(listed)) == ()
    counted = snapshot(controller(), root(ports=1), device("1-1", "full", 100))
    assert unlisted_hubs(BusTree(counted)) == ()
