"""JSON as tools really write it: arrays, one object, objects one a line, noise before, the end missing."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.errors import BadInputError
from wizard.observe.exports.json_values import start_of_json, values_in


def read(text):
    start = start_of_json(text)
    assert start is not None
    values, cut = values_in(text, start, "file")
    return [(v.value, v.line) for v in values], cut


def test_members_of_an_array_come_with_the_line_they_begin_on():
    assert read('[\n  {"a": 1},\n  {"b": 2}\n]\n') == ([({"a": 1}, 2), ({"b": 2}, 3)], False)


def test_objects_one_a_line_and_a_single_object_are_read_alike():
    assert read('{"a": 1}\n{"b": 2}\n') == ([({"a": 1}, 1), ({"b": 2}, 2)], False)
    assert read('  {"a": 1}') == ([({"a": 1}, 1)], False)


def test_warnings_before_the_json_are_passed_over():
    text = "2025-03-13 10:19:45.178 tool[88:94] Something: failed 0xe00002be\n" * 3 + '{\n "a": []\n}'
    assert read(text) == ([({"a": []}, 4)], False)


def test_a_file_cut_off_gives_what_came_before_the_cut():
    assert read('[{"a": 1}, {"b": ') == ([({"a": 1}, 1)], True)
    assert read('[{"a": 1}') == ([({"a": 1}, 1)], True)


@pytest.mark.parametrize("text", ['{"a": ', '[{"a" 1}]', '{"a": ' + "[" * 200_000])
def test_nothing_readable_is_said_in_one_sentence(text):
    with pytest.raises(BadInputError, match="broken or cut off"):
        values_in(text, 0, "events.json")


@pytest.mark.parametrize(
    "text",
    [
        "[   12.345678] usb 1-1: new high-speed USB device",
        "[309410.459322][  T336] usb 1-1: reset\n[309411.956190][T16132] usb 1-1: reset",
        "[12, 13] is no record",
        "<6>[ 12.3] {not json}",
        "",
    ],
)
def test_kernel_logs_are_not_taken_for_json(text):
    assert start_of_json(text) is None


def test_a_very_long_first_name_is_still_json():
    assert read(json.dumps([{"\U00010000" * 500: 0}])) == ([({"\U00010000" * 500: 0}, 1)], False)


@given(st.lists(st.dictionaries(st.text(min_size=1), st.integers() | st.text() | st.none(), min_size=1), min_size=1))
def test_whatever_was_written_is_read_back(records):
    assert [value for value, _ in read(json.dumps(records))[0]] == records
    assert [value for value, _ in read("\n".join(map(json.dumps, records)))[0]] == records
