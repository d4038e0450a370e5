"""Typical devices by kind, for set-ups told by hand and for 'does one more fit?'.

The figures are data (`resources/kinds/kinds.toml`), each with its source; this module fixes their shape and
turns one into a device. A typical device is an assumption: what a real one declares beats it.
"""

from collections.abc import Mapping
from typing import Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from wizard.budget.replug import Add
from wizard.bus.errors import RulebookError
from wizard.bus.model import MBPS, Alternate, Device, Endpoint, Hub, Interface, Speed, TransferType, Typical


class KindEndpoint(BaseModel):
    """One endpoint of a typical device; fields as in a snapshot."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    address: int = Field(ge=0, le=255)
    type: TransferType
    max_packet: int = Field(ge=0, le=1024)
    transactions: int = Field(default=1, ge=1, le=3)
    burst: int = Field(default=1, ge=1, le=16)
    interval_us: int = Field(default=0, ge=0)


class DeviceKind(BaseModel):
    """A typical device. `ma` is what it would declare, `peak_ma` what it may take for a moment at start-up,
    `need_mb_s` what its data stream moves in MB/s; `patient` says that moving it slower only takes longer, so that it
    is no need of the link. `means` is its word in the observation `device_kind`. Of a USB 3 hub, `translator` speaks
    of its USB 2 half."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    means: str
    speed: Speed
    ma: int = Field(ge=0, le=900)
    peak_ma: int | None = None
    self_powered: bool = False
    ports: int | None = None
    translator: Literal["single", "multi"] | None = None
    patient: bool = False
    class_code: int = Field(alias="class", ge=0, le=255)
    need_mb_s: float | None = None
    endpoints: tuple[KindEndpoint, ...] = ()
    source: str = Field(min_length=1)

    @model_validator(mode="after")
    def _hubs_say_how_many_sockets(self) -> Self:
        if (self.means == "hub") != (self.ports is not None):
            raise ValueError("a hub, and nothing else, has ports")
        return self

    def as_device(self, identifier: str, name: str) -> Device:
        """A device of this kind under that id; its parent follows from the id when it is plugged in."""
        return self._device(identifier, name, self.speed)

    def to_plug(self, socket: str, name: str) -> Add:
        """The change that plugs one of this kind into a socket: a USB 3 hub with both its halves."""
        is_double = self.ports is not None and self.speed not in ("low", "full", "high")
        other = self._device("usb2-half", name, "high") if is_double else None
        return Add(self.as_device("new", name), socket, other)

    def _device(self, identifier: str, name: str, speed: Speed) -> Device:
        endpoints = tuple(Endpoint.model_validate(e.model_dump()) for e in self.endpoints)
        setting = Alternate(number=0, endpoints=endpoints)
        interface = Interface.model_validate(
            {"number": 0, "class": self.class_code, "active_alternate": 0, "alternates": (setting,)}
        )
        translator = self.translator if speed == "high" else "none"
        hub = None if self.ports is None else Hub(ports=self.ports, translator=translator)
        return Device(
            id=identifier,
            hub=hub,
            speed=speed,
            mbps=MBPS[speed],
            max_power_ma=self.ma,
            self_powered=self.self_powered,
            configuration=1,
            interfaces=(interface,),
            name=name,
            typical=Typical(kind=self.id, peak_ma=self.peak_ma, need_mb_s=None if self.patient else self.need_mb_s),
        )


def load_kinds(tables: Mapping[str, Mapping[str, Any]]) -> tuple[DeviceKind, ...]:
    """All kinds in `tables` (file name → parsed table). Raises RulebookError with every problem located."""
    problems: list[str] = []
    kinds: dict[str, DeviceKind] = {}
    for file, table in tables.items():
        for index, row in enumerate(table.get("kind", ())):
            place = f"{file}, kind {row.get('id', index + 1)}"
            try:
                kind = DeviceKind.model_validate(row)
            except ValidationError as error:
                problems.extend(
                    f"{place}, {'.'.join(map(str, e['loc']))}: {e['msg'].removeprefix('Value error, ')}"
                    for e in error.errors()
                )
                continue
            if kind.id in kinds:
                problems.append(f"{place}: the id is taken already")
            kinds[kind.id] = kind
    if problems:
        raise RulebookError(tuple(problems))
    return tuple(kinds.values())
