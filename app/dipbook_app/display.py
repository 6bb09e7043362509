"""Numbers and times as this crew reads them: the one place where SI and UTC become what is on the screen."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from dipbook.quantities import UNIT_SETS, UNKNOWN, from_unit, to_unit, write_level, write_number
from dipbook.rig.model import Rig

MOST_DIGITS = 4
"""Decimals of an uncertainty that is small."""
MINUS = "−"
RATE_OF = {"bbl": "bbl/min", "m3": "m3/min", "L": "L/min", "gal[US]": "gal[US]/min", "ft3": "m3/min"}
MINUTE_MS = 60_000
HOUR_MS = 3_600_000
DAY_MS = 86_400_000
STAND_STEP_M3 = 0.004
"""The last place of a stand's volume is worth no more than this [m3]: little beside the 100 litres that one takes."""
EIGHTHS = 8
INCH_M = 0.0254
"""By definition."""
_DECIMAL_INCHES = re.compile(r"(?<![\d.,/])(\d+)[.,](\d+) in\b")


def shown_unit(symbol: str) -> str:
    """A unit as the crew reads it: ``gal/min``, ``lb/gal``, ``m³``. It is read back as the same unit.

    symbol: as it is stored, ``gal[US]/min``.
    """
    return symbol.replace("gal[US]", "gal").replace("lbm", "lb").replace("m3", "m³").replace("ft3", "ft³")


def shown_words(words: str) -> str:
    """Words from the core with their units as the crew reads them. words: a sentence, or a quantity."""
    words = re.sub(r"\blbm\b", "lb", words.replace("gal[US]", "gal"))
    return re.sub(r"(\d |/)(m|ft)3\b", r"\1\2³", words)


def shown_sticks(words: str) -> str:
    """Words with sticks of decimal inches as sticks are read: ``84.00 in`` as ``84 in``, ``63.50 in`` as ``63 1/2 in``.

    One that is no whole eighth stays as it was typed. words: of dips.
    """
    def as_read(found: re.Match[str]) -> str:
        inches = float(f"{found[1]}.{found[2]}")
        return write_level(inches * INCH_M, "in") if (inches * EIGHTHS).is_integer() else found[0]

    return _DECIMAL_INCHES.sub(as_read, words)


class DisplayUnits:
    """How to write this rig's quantities. Values are SI, times UTC ms; None and NaN are written as unknown."""

    def __init__(self, rig: Rig, unit_set: str = "") -> None:
        """rig: gives zone, decimal sign and units; unit_set: a name of UNIT_SETS instead of the rig's own units."""
        self.rig = rig
        self.unit_set = unit_set if unit_set in UNIT_SETS else ""
        self.decimal = rig.decimal
        self._zone = ZoneInfo(rig.zone)
        self.volume_unit = self._unit("volume", "m3")
        self.level_unit = self._unit("level", "m")
        self.length_unit = self._unit("length", "m")
        self.flow_unit = self._unit("flow", "L/min")
        self.rate_unit = self._unit("rate", RATE_OF.get(self.volume_unit, "m3/min"))

    def _unit(self, dimension: str, otherwise: str) -> str:
        if self.unit_set:
            chosen = UNIT_SETS[self.unit_set].get(dimension)
            if chosen is not None:
                return str(chosen[0])
        return self.rig.units.get(dimension, otherwise)

    # --- quantities ---------------------------------------------------------------------------------------------

    def number(self, value: float | None, symbol: str, *, sign: bool = False) -> str:
        """A value in a unit, without the unit. value: SI; sign: write + too."""
        return write_number(value, symbol, decimal=self.decimal, sign=sign)

    def volume(self, value_m3: float | None) -> str:
        """A volume [m3] with its unit: ``512.4 bbl``."""
        return self._with_unit(self.number(value_m3, self.volume_unit), self.volume_unit)

    def signed_volume(self, value_m3: float | None) -> str:
        """A difference of volume [m3] with its sign and unit: ``+1.3 bbl``."""
        return self._with_unit(self.number(value_m3, self.volume_unit, sign=True), self.volume_unit)

    def volume_number(self, value_m3: float | None, *, sign: bool = False) -> str:
        """A volume [m3] without its unit, for columns headed by it."""
        return self.number(value_m3, self.volume_unit, sign=sign)

    def in_volume_unit(self, value_m3: float) -> float:
        """A volume [m3] as a number in the screen's unit, for an axis."""
        return to_unit(value_m3, self.volume_unit)

    def in_volume_units(self, values_m3: Any) -> NDArray[np.float64]:
        """The same for a column of volumes [m3]."""
        return np.asarray(to_unit(np.asarray(values_m3, dtype=np.float64), self.volume_unit), dtype=np.float64)

    def plus_minus(self, u_m3: float | None) -> str:
        """An uncertainty (k=1) [m3] as shown, at k=2: ``± 0.9``."""
        if u_m3 is None or math.isnan(u_m3):
            return "± unknown"
        said, digits = self.volume_number(2 * u_m3), 0
        while u_m3 > 0 and not said.strip("0.,") and digits < MOST_DIGITS:  # a small tank's: not nothing
            digits += 1
            said = write_number(2 * u_m3, self.volume_unit, digits=digits, decimal=self.decimal)
        return f"± {said}"

    def stand_number(self, value_m3: float | None, *, sign: bool = False) -> str:
        """A volume of the size of one stand's steel [m3] without its unit: to a few litres, ``0.71``."""
        return write_number(value_m3, self.volume_unit, digits=self._stand_digits, decimal=self.decimal, sign=sign)

    def stand_volume(self, value_m3: float | None) -> str:
        """The same with its unit: ``0.71 bbl``."""
        return self._with_unit(self.stand_number(value_m3), self.volume_unit)

    def stand_signed(self, value_m3: float | None) -> str:
        """The same with its sign: ``+0.21 bbl``."""
        return self._with_unit(self.stand_number(value_m3, sign=True), self.volume_unit)

    def stand_plus_minus(self, u_m3: float | None) -> str:
        """An uncertainty (k=1) [m3] beside such a volume, at k=2: ``± 0.20``."""
        if u_m3 is None or math.isnan(u_m3):
            return "± unknown"
        said = self.stand_number(2 * u_m3)
        return f"± {said}" if said.strip("0.,") or not u_m3 else self.plus_minus(u_m3)

    @property
    def _stand_digits(self) -> int:
        """Decimals that tell a few litres apart: bbl 2, m3 3, ft3 1, gallons and litres none."""
        return max(0, math.ceil(math.log10(float(from_unit(1.0, self.volume_unit)) / STAND_STEP_M3)))

    @property
    def length_word(self) -> str:
        """The unit of depth as written on the screen."""
        return shown_unit(self.length_unit)

    def depth_text(self, value_m: float | None) -> str:
        """A depth [m] to be typed for a person, in the screen's unit and fine enough to count on from; "" unknown."""
        if value_m is None or not math.isfinite(value_m):
            return ""
        text = write_number(value_m, self.length_unit, digits=2, decimal=self.decimal)
        return text.rstrip("0").rstrip(self.decimal)

    def level(self, value_m: float | None) -> str:
        """A level [m]: ``5' 3 1/2"`` or ``161 cm``."""
        return write_level(value_m, self.level_unit, self.decimal)

    @property
    def dip_units(self) -> dict[str, str]:
        """"level" and "volume" -> the unit that a bare number of a dip is read in: the one that is shown."""
        level = self.level_unit if self.unit_set or "level" in self.rig.units else ""
        return {"level": level, "volume": self.volume_unit}

    def length(self, value_m: float | None) -> str:
        """A depth or length [m] with its unit."""
        return self._with_unit(self.number(value_m, self.length_unit), self.length_unit)

    def flow(self, value_m3_s: float | None) -> str:
        """A pump rate [m3/s] with its unit."""
        return self._with_unit(self.number(value_m3_s, self.flow_unit), self.flow_unit)

    def rate(self, value_m3_s: float | None) -> str:
        """A rate of gain, loss or transfer [m3/s] with its unit."""
        return self._with_unit(self.number(value_m3_s, self.rate_unit), self.rate_unit)

    def quantity(self, value: float | None, dimension: str, otherwise: str, digits: int | None = None) -> str:
        """Any quantity with its unit. value: SI. otherwise: the unit where neither crew nor rig names one."""
        symbol = self._unit(dimension, otherwise)
        return self._with_unit(write_number(value, symbol, digits=digits, decimal=self.decimal), symbol)

    @property
    def volume_word(self) -> str:
        """The unit of volume as written on the screen."""
        return shown_unit(self.volume_unit)

    def _with_unit(self, number: str, symbol: str) -> str:
        return number if number == UNKNOWN else f"{number} {shown_unit(symbol)}"

    # --- times --------------------------------------------------------------------------------------------------

    def local(self, t_ms: int) -> datetime:
        """The rig's time of a moment [UTC ms]."""
        return datetime.fromtimestamp(t_ms / 1000, UTC).astimezone(self._zone)

    def time(self, t_ms: int | None) -> str:
        """The rig's clock at a moment [UTC ms]: ``02:15``."""
        return UNKNOWN if t_ms is None else f"{self.local(t_ms):%H:%M}"

    def clock(self, t_ms: int) -> str:
        """The same with seconds, for the clock."""
        return f"{self.local(t_ms):%H:%M:%S}"

    def date(self, t_ms: int) -> str:
        """The rig's date: ``14 Mar 2026``."""
        local = self.local(t_ms)
        return f"{local.day} {local:%b %Y}"

    def time_near(self, t_ms: int, now_ms: int) -> str:
        """The time, with its day when that isn't today's: ``02:15`` or ``13 Mar 22:15``."""
        then, now = self.local(t_ms), self.local(now_ms)
        return f"{then:%H:%M}" if then.date() == now.date() else f"{then.day} {then:%b} {then:%H:%M}"

    def offset(self, t_ms: int) -> str:
        """The rig's offset in force: ``UTC−06:00``."""
        delta = self.local(t_ms).utcoffset()
        minutes = 0 if delta is None else round(delta.total_seconds() / 60)
        return f"UTC{MINUS if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"

    def span(self, span_ms: int | None) -> str:
        """A length of time: ``under 1 min``, ``12 min``, ``3 h 05 min``, ``2 d 4 h``."""
        if span_ms is None:
            return UNKNOWN
        if span_ms < MINUTE_MS:
            return "under 1 min"
        if span_ms < HOUR_MS:
            return f"{span_ms // MINUTE_MS} min"
        if span_ms < DAY_MS:
            hours, rest = divmod(span_ms, HOUR_MS)
            return f"{hours} h {rest // MINUTE_MS:02d} min" if rest >= MINUTE_MS else f"{hours} h"
        days, rest = divmod(span_ms, DAY_MS)
        return f"{days} d {rest // HOUR_MS} h"
