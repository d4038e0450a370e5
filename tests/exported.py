"""Reading an exported file in a test: from values or bytes to the export, and its signs by kind and place."""

import json

from wizard.observe.exports.reading import peek, read_export


def export_of(data):
    """The export in bytes, or in values written as JSON."""
    if not isinstance(data, bytes):
        data = json.dumps(data).encode()
    sort, chunks = peek([data])
    assert sort is not None, "not taken for an export at all"
    return read_export(chunks, sort, "the file")


def kinds(data):
    """How often each kind was told of each place."""
    return {(sign.kind, sign.where): sign.count for sign in export_of(data).signs}
