"""Writes the values of one record in the crew's units, for its words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from dipbook.quantities import write, write_level, write_number
from dipbook.records import Dip, Record

SI = {"volume": "m3", "rate": "m3/min", "mass": "kg", "density": "kg/m3", "length": "m", "flow": "m3/min",
      "frequency": "1/min", "level": "m", "duration": "min", "temperature": "degC", "pressure": "kPa", "speed": "m/h"}
"""Units of last resort: the rig names none and nobody typed one."""


class Pen:
    """Writes the values of one record in the crew's units."""

    def __init__(self, record: Record, units: Mapping[str, str], zone: str, decimal: str) -> None:
        self.record = record
        self.units = units
        self.zone = ZoneInfo(zone)
        self.decimal = decimal

    def clock(self, t_ms: object) -> str:
        """``02:15``, with the date where it differs from the record's own."""
        if not isinstance(t_ms, int | float):
            return "?"
        local = self._local(t_ms)
        same_day = local.date() == self._local(self.record.t_ms).date()
        return local.strftime("%H:%M" if same_day else "%Y-%m-%d %H:%M")

    def text(self, key: str) -> str:
        """A payload's value as words, "" where there is none. key: of the field."""
        value = self.record.payload.get(key)
        return "" if value is None else str(value)

    def quantity(self, key: str, name: str, dimension: str) -> str:
        """The value in the rig's unit; as typed where the rig names no unit for the dimension; "" if not given."""
        value = self.record.payload.get(key)
        if value is None:
            return ""
        symbol = self.units.get(dimension) or self._derived(dimension)
        if symbol:
            return write(float(value), symbol, decimal=self.decimal)
        if said := self.typed(name):
            return said
        return write(float(value), SI[dimension], decimal=self.decimal)

    def volume(self) -> str:
        """The volume that is booked, in the rig's unit."""
        return self.quantity("volume_m3", "volume", "volume")

    def rate(self) -> str:
        """As typed where somebody did: a small rate may vanish in the rig's unit."""
        return self.typed("rate") or self.quantity("rate_m3_s", "rate", "rate")

    def length(self, key: str, name: str) -> str:
        """A length in the rig's unit. key, name: of the field."""
        return self.quantity(key, name, "length")

    def typed(self, name: str) -> str:
        """What was typed in the field ``name``, with the unit that a bare number took; "" if nothing was."""
        typed = self.record.payload.get("typed")
        return str(typed.get(name) or "") if isinstance(typed, Mapping) else ""

    def level(self, key: str, name: str) -> str:
        """What the stick said, as typed; in the rig's unit where nobody typed it. key, name: of the field."""
        value = self.record.payload.get(key)
        if value is None:
            return ""
        return self.typed(name) or write_level(float(value), self.units.get("level") or "m", self.decimal)

    def percent(self, key: str) -> str:
        """A percentage, "" if not given. key: of the field."""
        value = self.record.payload.get(key)
        return "" if value is None else f"{float(value):g} %".replace(".", self.decimal)

    def readings(self, key: str, name: str) -> str:
        """Volumes minute by minute as typed, else in the rig's unit with a digit more than usual. key, name: of the
        field."""
        values = self.record.payload.get(key)
        if not values:
            return ""
        if said := self.typed(name):
            return " ".join(said.split())
        symbol = self.units.get("volume", "m3")
        digits = 3 if symbol == "m3" else 2
        numbers = ["-" if v is None else write_number(float(v), symbol, digits=digits, decimal=self.decimal)
                   for v in values]
        return f"{'; '.join(numbers)} {symbol}"

    def told(self) -> str:
        """``, told D. Example: “hold”`` of the fields "told" and "answer", "" without both."""
        told, answer = self.text("told"), self.text("answer")
        said = f", told {told}" if told else ""
        return f"{said}, answer: {answer}" if answer else said

    def until(self) -> str:
        """``, until 02:30``, "" for an instant."""
        end = self.record.payload.get("end_ms")
        return f", until {self.clock(end)}" if end is not None and end != self.record.t_ms else ""

    def dip(self, dip: Dip) -> str:
        """One tank's dip as the person wrote it, else in the rig's units."""
        if dip.unchanged:
            said = "same as before"
        elif dip.as_typed:
            said = dip.as_typed
        elif dip.level_m is not None:
            said = write_level(dip.level_m, self.units["level"], self.decimal)
        elif dip.volume_m3 is not None:
            said = write(dip.volume_m3, self.units["volume"], decimal=self.decimal)
        else:
            said = "?"
        return f"{dip.tank} {said}" + (f" ({dip.flag})" if dip.flag else "")

    def _derived(self, dimension: str) -> str:
        if dimension == "rate" and "volume" in self.units:
            return f"{self.units['volume']}/min"
        return ""

    def _local(self, t_ms: float) -> datetime:
        return datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(self.zone)
