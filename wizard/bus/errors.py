"""The one family of exceptions. Each takes facts and says in one sentence what is wrong and how to mend it.

Expected trouble while looking (a device that can't be read) is a value in the snapshot, not an exception.
"""


class PortmendError(Exception):
    """Base of all our own exceptions; `str()` gives one sentence for a person."""


class BadInputError(PortmendError):
    """A file or call can't be used: `subject` is what (a path, an option), `problem` why, `mend` what to do."""

    def __init__(self, subject: str, problem: str, mend: str) -> None:
        self.subject = subject
        self.problem = problem
        self.mend = mend
        super().__init__(f"{subject}: {problem}. {mend}")


class NewerDocumentError(BadInputError):
    """A document written by a newer version."""

    def __init__(self, subject: str, schema: str) -> None:
        self.schema = schema
        super().__init__(
            subject,
            f"it was saved as {schema!r} by a newer version of Portmend",
            "Update Portmend and open it again; the file was not changed.",
        )


class RulebookError(PortmendError):
    """The rulebook does not load; `problems` are located sentences, all of them."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        super().__init__("The rulebook has problems: " + "; ".join(problems))


class CancelledError(PortmendError):
    """The user stopped the work; nothing went wrong."""

    def __init__(self, work: str) -> None:
        self.work = work
        super().__init__(f"{work} was stopped")
