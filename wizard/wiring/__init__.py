"""The one place where everything meets: observers, budgets, rulebook, plan, store and report.

Window and terminal call only this; a test passes its own parts. Nothing here shows anything, asks
anything or keeps state between calls. Each module below holds one stretch of the way.
"""

from wizard.store.logs import open_log
from wizard.wiring.advising import advise, arrangements, facts_of, with_arrangements
from wizard.wiring.capturing import Capture, CaptureMachine, capture
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
from wizard.wiring.drives import DriveMachine, drive, drive_devices
from wizard.wiring.fitting import (
    MOST_TO_FIT,
    Described,
    FitDocument,
    Host,
    HubMade,
    KindChoice,
    bus_of_case,
    describe,
    described_of,
    fit,
    fit_answer_section,
    kind_choices,
    known_kind,
    look_described,
    plug_kind,
)
from wizard.wiring.labelling import label_section, socket_labels
from wizard.wiring.looking import lists_devices, look_captured, look_demo, look_live, look_of, read_log, read_signs
from wizard.wiring.pacing import PACE_SECONDS, PaceMachine, pace, pace_devices
from wizard.wiring.pacing_window import window_pace
from wizard.wiring.reports import REPORT_SECONDS, report_material, report_text, write_report
from wizard.wiring.services import Services, lint, load_services
from wizard.wiring.watching import watch, with_watch

__all__ = [
    "MOST_TO_FIT",
    "PACE_SECONDS",
    "REPORT_SECONDS",
    "Capture",
    "CaptureMachine",
    "Described",
    "DriveMachine",
    "FitDocument",
    "Host",
    "HubMade",
    "KindChoice",
    "PaceMachine",
    "Services",
    "Source",
    "advise",
    "arrangements",
    "bus_of_case",
    "capture",
    "compare",
    "compare_files",
    "demo_case",
    "demo_names",
    "describe",
    "described_of",
    "drive",
    "drive_devices",
    "facts_of",
    "fit",
    "fit_answer_section",
    "kind_choices",
    "known_kind",
    "label_section",
    "last_case",
    "lint",
    "lists_devices",
    "load_demo",
    "load_services",
    "look_captured",
    "look_demo",
    "look_described",
    "look_live",
    "look_of",
    "new_case",
    "open_case",
    "open_log",
    "open_looks",
    "pace",
    "pace_devices",
    "plug_kind",
    "read_log",
    "read_signs",
    "report_material",
    "report_text",
    "save_case",
    "socket_labels",
    "this_platform",
    "verdict",
    "verdict_words",
    "watch",
    "window_pace",
    "with_arrangements",
    "with_watch",
    "write_report",
]
