"""A report as one self-contained page: no script, no outside address, every string escaped.

The page forbids itself everything but its own style sheet, which is allowed by its hash, so that even a
string that slipped through could neither run nor fetch anything.
"""

import base64
import hashlib
from collections.abc import Iterator
from html import escape

from wizard.report.blocks import Block, Item, Listing, Material, Para, Part, Section, Table
from wizard.report.clean import one_line

_STYLE = """
:root { color-scheme: light dark; --ink: #1d2228; --paper: #fdfdfb; --quiet: #5a636e; --line: #cdd2d8;
  --warn-ink: #7a2600; --warn-paper: #fff1e6; --good-ink: #1c5532; }
@media (prefers-color-scheme: dark) { :root { --ink: #e6e8ea; --paper: #17191c; --quiet: #a2abb5;
  --line: #3b4249; --warn-ink: #ffc49c; --warn-paper: #3a2415; --good-ink: #9fd8b4; } }
body { font: 16px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper); max-width: 60rem;
  margin: 0 auto; padding: 1.5rem; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; } h2 { font-size: 1.25rem; margin-top: 2.2rem; border-bottom: 1px solid var(--line); }
h3 { font-size: 1.05rem; margin-bottom: .3rem; }
p { margin: .4rem 0; } ul { padding-left: 1.2rem; margin: .4rem 0; } nav a { margin-right: 1rem; }
.quiet { color: var(--quiet); } .good { color: var(--good-ink); }
.warning { color: var(--warn-ink); background: var(--warn-paper); }
p.warning { border-left: .3rem solid; padding: .3rem .7rem; }
.label { font-weight: 600; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .92rem; }
th, td { text-align: left; vertical-align: top; padding: .25rem .6rem .25rem 0; border-bottom: 1px solid var(--line); }
td { overflow-wrap: break-word; } th, td:first-child { white-space: nowrap; }
ul.deep { list-style: none; padding-left: 0; }
.d1 { margin-left: 1.4rem; } .d2 { margin-left: 2.8rem; } .d3 { margin-left: 4.2rem; } .d4 { margin-left: 5.6rem; }
.d5 { margin-left: 7rem; } .d6 { margin-left: 8.4rem; } .d7 { margin-left: 9.8rem; } .d8 { margin-left: 11.2rem; }
section section { break-inside: avoid; }
@media print { :root { --ink: #000; --paper: #fff; --quiet: #333; --line: #999; --warn-ink: #000;
  --warn-paper: #fff; --good-ink: #000; } body { max-width: none; padding: 0; font-size: 10pt; }
  table { font-size: 8.5pt; } nav { display: none; } h2, h3 { break-after: avoid; } tr, li { break-inside: avoid; } }
"""

_DEEPEST = 8


def render_html(material: Material) -> str:
    """The whole page."""
    digest = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    links = "\n".join(f'<a href="#{_text(s.id)}">{_text(s.title)}</a>' for s in material.sections)
    return "\n".join(
        (
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{escape(policy, quote=True)}">',
            '<meta name="referrer" content="no-referrer">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{_text(material.title)}</title>",
            f"<style>{_STYLE}</style>",
            "</head>",
            "<body>",
            f"<h1>{_text(material.title)}</h1>",
            f'<p class="quiet">{_text(material.subtitle)}</p>',
            f"<nav>\n{links}\n</nav>",
            *(_section(section) for section in material.sections),
            "</body>",
            "</html>",
            "",
        )
    )


def _section(section: Section) -> str:
    body = "\n".join(_blocks(section.blocks))
    return f'<section id="{_text(section.id)}">\n<h2>{_text(section.title)}</h2>\n{body}\n</section>'


def _blocks(blocks: tuple[Block, ...]) -> Iterator[str]:
    for block in blocks:
        if isinstance(block, Part):
            body = "\n".join(_blocks(block.blocks))
            yield f"<section>\n<h3>{_text(block.title)}</h3>\n{body}\n</section>"
        elif isinstance(block, Para):
            yield _paragraph(block)
        elif isinstance(block, Listing):
            yield _listing(block)
        else:
            yield _table(block)


def _paragraph(para: Para) -> str:
    label = f'<span class="label">{_text(para.label)}:</span> ' if para.label else ""
    return f"<p{_class(para.tone)}>{label}{_text(para.text)}</p>"


def _listing(listing: Listing) -> str:
    items = "\n".join(f"<li{_class(_item_class(item))}>{_text(item.text)}</li>" for item in listing.items)
    deep = _class("deep" if any(item.depth for item in listing.items) else "plain")
    return f"<ul{deep}>\n{items}\n</ul>"


def _item_class(item: Item) -> str:
    depth = f"d{min(item.depth, _DEEPEST)}" if item.depth else ""
    tone = "" if item.tone == "plain" else item.tone
    return f"{depth} {tone}".strip() or "plain"


def _table(table: Table) -> str:
    head = "".join(f'<th scope="col">{_text(cell)}</th>' for cell in table.head)
    rows = "\n".join(
        f"<tr{_class(row.tone)}>{''.join(f'<td>{_text(cell)}</td>' for cell in row.cells)}</tr>" for row in table.rows
    )
    return f'<div class="scroll"><table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table></div>'


def _class(name: str) -> str:
    return "" if name == "plain" else f' class="{name}"'


def _text(text: str) -> str:
    return escape(one_line(text), quote=True)
