"""`portmend report`: a saved case as a file for support or for one's own records."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from pathlib import Path

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.report.redaction import KINDS
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen

HELP = "write a report of a saved case: .html, .pdf, .txt or .json"


def arguments(parser: ArgumentParser) -> None:
    """What may follow `report`."""
    parser.add_argument("case", metavar="CASE.json", type=Path, help="a saved case")
    parser.add_argument("--to", metavar="FILE", type=Path, required=True, help="the ending picks the form")
    parser.add_argument(
        "--with", metavar="serials,names", dest="keep", type=_kinds, default=frozenset(),
        help="what not to leave out: serials, names or both",
    )  # fmt: skip


def run(args: Namespace, screen: Screen) -> int:
    """Write the report and say where."""
    case = wiring.open_case(args.case)
    if args.to.exists() and args.to.samefile(args.case):
        raise BadInputError(str(args.to), "the report would overwrite the case itself", "Choose another name.")
    path = wiring.write_report(wiring.load_services(), case, args.to, args.keep)
    left_out = sorted(KINDS - args.keep)
    screen.say(f"Written: {path}" + (f" (left out: {' and '.join(left_out)})" if left_out else ""))
    return DONE


def _kinds(text: str) -> frozenset[str]:
    kinds = frozenset(part.strip() for part in text.split(",") if part.strip())
    strange = sorted(kinds - KINDS)
    if strange:
        raise ArgumentTypeError(f"{strange[0]!r} is not one of {', '.join(sorted(KINDS))}")
    return kinds
