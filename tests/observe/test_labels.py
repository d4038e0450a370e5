"""Every device has a name a person understands."""

import pytest

from wizard.bus.model import Interface
from wizard.observe.labels import label, root_label

KEYS = Interface(number=0, class_code=3, subclass=1, protocol=1)
POINTER = Interface(number=1, class_code=3, subclass=1, protocol=2)
STREAM = Interface(number=2, class_code=1, subclass=2, protocol=0)


@pytest.mark.parametrize(
    ("product", "class_code", "interfaces", "ports", "words"),
    [
        ("Pier Camera", 0xEF, (STREAM,), None, "Pier Camera"),
        (None, 9, (), 4, "hub with 4 sockets"),
        (None, 9, (), None, "hub"),
        (None, 0, (KEYS,), None, "keyboard"),
        (None, 0, (KEYS, POINTER), None, "keyboard and mouse"),
        ("", 0, (STREAM, Interface(number=3, class_code=3)), None, "sound device"),
        (None, 0, (Interface(number=0, class_code=8),), None, "drive"),
        (None, 0xE0, (), None, "wireless adapter"),
        (None, 0x77, (), None, "unknown device"),
        (None, None, (), None, "unknown device"),
        (None, 0, (), None, "unknown device"),
    ],
)
def test_a_device_is_called_by_its_product_or_its_sort(product, class_code, interfaces, ports, words):
    assert label(product, class_code, interfaces, ports) == words


def test_a_product_text_as_long_as_a_page_is_cut():
    assert len(label("x" * 126, 0, (), None)) == 80


def test_a_root_hub_is_called_the_sockets_of_the_pc():
    assert root_label("usb3") == "sockets of the PC (bus 3)"
