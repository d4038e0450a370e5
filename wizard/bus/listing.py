"""What the operating system's own list says of a device: the words a person sees in its device list.

Windows and macOS keep such a list beside the bus itself. It names places in the system's own way; signs from
exported logs use the same names, so an entry is what joins a sign to a device of the snapshot.
"""

from wizard.bus.document import Document


class Driver(Document):
    """The driver in use, in the system's words: who made it, which version, of which day; None where not told."""

    name: str | None = None
    version: str | None = None
    date: str | None = None
    provider: str | None = None


class Listing(Document):
    """One entry of the system's list of devices.

    `instance_id` is the entry's own name (Windows: device instance id), `location` the name of the socket it is in
    (Windows: location path; macOS: location id). `problem` is Windows' problem code, 0 for none. `container` is what
    all entries of one physical device share, `parts` the ids of further entries that belong to it (its interfaces, its
    disk). `description` is the system's wording, untrusted and maybe localised.
    """

    instance_id: str | None = None
    location: str | None = None
    container: str | None = None
    status: str | None = None
    problem: int | None = None
    description: str | None = None
    driver: Driver | None = None
    parts: tuple[str, ...] = ()

    def names(self) -> tuple[str, ...]:
        """What a sign may call it, in lower case: instance ids are compared without regard to case (Microsoft,
        Device Instance IDs)."""
        return tuple(name.casefold() for name in (self.instance_id, self.location, *self.parts) if name)
