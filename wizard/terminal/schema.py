"""`portmend schema`: the JSON Schema of a document, for whoever reads or writes one."""

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping

from pydantic import BaseModel

from wizard.bus.drive import DriveDocument
from wizard.bus.model import Snapshot
from wizard.bus.pace import PaceDocument
from wizard.bus.watching import WatchSummary
from wizard.case.documents import Advice, CompareDocument, FitDocument, Look
from wizard.case.model import Case
from wizard.terminal.judging import DONE
from wizard.terminal.screen import Screen

HELP = "the JSON Schema of a document"

DOCUMENTS: Mapping[str, type[BaseModel]] = {
    "advice": Advice,
    "case": Case,
    "compare": CompareDocument,
    "drive": DriveDocument,
    "fit": FitDocument,
    "look": Look,
    "pace": PaceDocument,
    "snapshot": Snapshot,
    "watch": WatchSummary,
}


def arguments(parser: ArgumentParser) -> None:
    """What may follow `schema`."""
    parser.add_argument("name", metavar="NAME", choices=sorted(DOCUMENTS), help=", ".join(sorted(DOCUMENTS)))


def run(args: Namespace, screen: Screen) -> int:
    """Print the schema: what a reader accepts, under the names used in files."""
    schema = DOCUMENTS[args.name].model_json_schema(by_alias=True)
    screen.document({"$schema": "https://json-schema.org/draft/2020-12/schema", **schema})
    return DONE
