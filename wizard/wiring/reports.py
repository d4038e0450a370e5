"""The report of a case, in every form, redacted unless asked otherwise."""

from pathlib import Path

from wizard.bus.errors import BadInputError
from wizard.case.model import Case
from wizard.report.blocks import Material
from wizard.report.html import render_html
from wizard.report.material import material_of
from wizard.report.redaction import redact
from wizard.report.text import render_text
from wizard.store import resources
from wizard.store.atomic import write_whole
from wizard.wiring.advising import advise, arrangements, with_arrangements
from wizard.wiring.comparing import trouble
from wizard.wiring.looking import look_of
from wizard.wiring.services import Services

REPORT_SECONDS = 5.0
"""How long a report waits for the planner: common practice (no source)."""


def report_material(services: Services, case: Case, keep: frozenset[str] = frozenset()) -> Material:
    """The report of a case, with serial numbers and names left out unless `keep` holds "serials" or "names"."""
    shown = redact(case, keep)
    advice = with_arrangements(advise(services, shown), arrangements(shown, REPORT_SECONDS))
    look = look_of(shown)
    return material_of(shown, look, advice, services.texts, keep, trouble(shown, look))


def report_text(services: Services, case: Case, keep: frozenset[str] = frozenset()) -> str:
    """The report as plain text."""
    return render_text(report_material(services, case, keep))


def write_report(services: Services, case: Case, path: Path, keep: frozenset[str] = frozenset()) -> Path:
    """Write a report in the form the ending names: .html, .pdf, .txt or .json. Raises BadInputError for any other,
    and for a folder that does not exist."""
    if not path.parent.is_dir():
        raise BadInputError(str(path), f"there is no folder {str(path.parent)!r}", "Make it, or name another.")
    form = path.suffix.lower()
    if form == ".html":
        content = render_html(report_material(services, case, keep)).encode()
    elif form == ".pdf":
        # Only who wants a PDF waits for its library to load.
        from wizard.report.pdf import render_pdf

        content = render_pdf(report_material(services, case, keep), resources.fonts())
    elif form == ".txt":
        content = report_text(services, case, keep).encode()
    elif form == ".json":
        content = redact(case, keep).model_dump_json(by_alias=True, indent=1).encode()
    else:
        raise BadInputError(str(path), f"a report can't end in {form!r}", "Use .html, .pdf, .txt or .json.")
    write_whole(path, content)
    return path
