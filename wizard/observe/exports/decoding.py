"""From the bytes of an exported file to text: byte order marks, UTF-16, old code pages. Never fails.

Windows PowerShell 5 writes UTF-16 with a mark for `>`, PowerShell 7 UTF-8; older tools write the code page of the
country, which nothing in the file names.
"""

import codecs

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16: it begins the same
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_LOOKED_AT = 4096
_WESTERN = "cp1252"  # the code page of most of Europe and America; where it is wrong, only accents suffer


def text_of(data: bytes) -> str:
    """The text in the bytes; what can't be decoded becomes `�`, and NUL characters are dropped."""
    encoding = encoding_of(data)
    for mark, name in _MARKS:
        if name == encoding and data.startswith(mark):
            data = data[len(mark) :]
            break
    if encoding == "utf-8":
        try:
            return data.decode("utf-8").replace("\0", "")
        except UnicodeDecodeError as fault:
            whole = len(data) - fault.start > 3  # a character cut at the end of a chunk is no foreign code page
            encoding = _WESTERN if whole else "utf-8"
    return data.decode(encoding, errors="replace").replace("\0", "")


def encoding_of(data: bytes) -> str:
    """Which encoding the first bytes speak of: a mark, or the zero bytes of UTF-16 without one; else UTF-8."""
    for mark, name in _MARKS:
        if data.startswith(mark):
            return name
    head = data[:_LOOKED_AT]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if len(head) >= 4 and max(even, odd) * 4 > len(head):
        return "utf-16-be" if even > odd else "utf-16-le"
    return "utf-8"
