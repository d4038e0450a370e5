"""Icons are ours, can be drawn, and follow the palette."""

import xml.etree.ElementTree as ET

import pytest
from PySide6.QtGui import QColor, QImage

from wizard.desktop import theme
from wizard.desktop.icons import picture
from wizard.store import resources

NAMES = sorted(p.stem for p in (resources.root() / "icons").glob("*.svg"))


@pytest.mark.parametrize("name", NAMES)
def test_every_icon_says_what_it_shows_and_draws_something(qapp, name):
    tree = ET.parse(resources.icon(name)).getroot()
    title = tree.find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert title.text
    drawn = picture(name, "#123456", 24).toImage()
    shades = {drawn.pixelColor(x, y).alpha() for x in range(drawn.width()) for y in range(drawn.height())}
    assert max(shades) > 200


@pytest.mark.parametrize("name", [n for n in NAMES if n != "portmend"])
def test_every_icon_takes_the_colour_it_is_given(qapp, name):
    colours = [theme.LIGHT.over, theme.DARK.room]
    for wanted in colours:
        drawn: QImage = picture(name, wanted, 48).toImage()
        solid = [drawn.pixelColor(x, y) for x in range(96) for y in range(96) if drawn.pixelColor(x, y).alpha() == 255]
        assert solid
        assert {c.name() for c in solid} == {QColor(wanted).name()}
