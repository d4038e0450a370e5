"""What can't be read from a bus and is told instead: supplies, limits, cables, and wishes for a re-plug."""

from typing import Annotated, Literal

from pydantic import Field

from wizard.bus.document import Document

Amount = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Count = Annotated[int, Field(ge=0)]


Offer = Literal["standard", "standard_usb3", "charging", "charger_only", "type_c_1500", "type_c_3000"]
"""Kinds of socket by what they may feed: the ports of Battery Charging 1.2 and the levels of Type-C."""


class Cable(Document):
    """A cable run as told by the user: metres and wire gauge of its power pair."""

    m: float | None = None
    awg: int | None = None


class Setup(Document):
    """What can't be read from a bus and was told instead. Keys are ids of the snapshot.

    `supplies_ma` is the rating of a hub's own supply, `measured_ma` what a meter shows for a device, `peak_ma` what
    it takes for a moment at start-up, `group_ma` the rating of a feed that several sockets share, `offers` the kind
    of a socket that may feed more than the default, `controller_age` whether a controller is older or later,
    `hub_power` how a hub is fed that does not say it itself, `need_mb_s` what a device's data stream needs in MB/s
    (decimal).
    """

    supplies_ma: dict[str, Amount] = Field(default_factory=dict)
    measured_ma: dict[str, Amount] = Field(default_factory=dict)
    peak_ma: dict[str, Amount] = Field(default_factory=dict)
    group_ma: dict[str, Amount] = Field(default_factory=dict)
    offers: dict[str, Offer] = Field(default_factory=dict)
    need_mb_s: dict[str, Amount] = Field(default_factory=dict)
    endpoint_limit: dict[str, Count] = Field(default_factory=dict)
    slot_limit: dict[str, Count] = Field(default_factory=dict)
    cables: dict[str, Cable] = Field(default_factory=dict)
    controller_age: dict[str, Literal["old", "recent"]] = Field(default_factory=dict)
    hub_power: dict[str, Literal["bus", "self"]] = Field(default_factory=dict)
    pinned: tuple[str, ...] = ()
    apart: tuple[tuple[str, str], ...] = ()
    together: tuple[tuple[str, str], ...] = ()
    reach: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    needs: dict[str, str] = Field(default_factory=dict)
