"""The one place where everything meets: observers, budgets, rulebook, plan, store and report.

Window and terminal call only this; a test passes its own parts. Nothing here shows anything, asks
anything or keeps state between calls. Each module below holds one stretch of the way.
"""

from wizard.wiring.advising import advise, arrangements, facts_of, with_arrangements
from wizard.wiring.cases import (
    Source,
    demo_case,
    demo_names,
    last_case,
    load_demo,
    new_case,
    open_case,
    save_case,
    this_platform,
)
from wizard.wiring.comparing import compare, compare_files, open_looks, verdict, verdict_words
from wizard.wiring.looking import look_captured, look_demo, look_live, look_of, read_log, read_signs
from wizard.wiring.reports import REPORT_SECONDS, report_material, report_text, write_report
from wizard.wiring.services import Services, lint, load_services

__all__ = [
    "REPORT_SECONDS",
    "Services",
    "Source",
    "advise",
    "arrangements",
    "compare",
    "compare_files",
    "demo_case",
    "demo_names",
    "facts_of",
    "last_case",
    "lint",
    "load_demo",
    "load_services",
    "look_captured",
    "look_demo",
    "look_live",
    "look_of",
    "new_case",
    "open_case",
    "open_looks",
    "read_log",
    "read_signs",
    "report_material",
    "report_text",
    "save_case",
    "this_platform",
    "verdict",
    "verdict_words",
    "with_arrangements",
    "write_report",
]
