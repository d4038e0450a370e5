"""A saved case is offered by what it is about and when it was begun."""

from pathlib import Path

import pytest

from wizard.desktop.saved_words import case_words


@pytest.mark.parametrize(
    ("name", "title", "told"),
    [("2024-03-09-181500-dropout.json", "It drops out", "It drops out, 9 March 2024, 18:15"),
     ("2024-03-09-181500-lag.json", "", "9 March 2024, 18:15"),
     ("2024-99-09-181500-lag.json", "Lag", "Lag, 2024-99-09-181500-lag"),
     ("my case.json", "", "my case")],
)  # fmt: skip
def test_a_case_is_called_by_its_trouble_and_its_time_and_else_by_the_name_its_user_gave_it(name, title, told):
    assert case_words(Path(name), title) == told
