"""Slugs: what heavy mud in the pipe lifts out while it falls, and when it may.

A slug of volume Vs and density ρs stands on mud of density ρm. When the pumps stop it falls until both sides weigh the
same: Ldry = (Vs/c)(ρs − ρm)/ρm of the bore is empty then, and c·Ldry = Vs(ρs/ρm − 1) has come back with the returns
(balance of the columns; Lapeyrouse, Formulas and Calculations for Drilling, Production and Workover, 2nd ed., ch. 2).
It holds while the whole slug is in the pipe. Where the string is described by parts ``dipbook.mud.hanging`` goes
through its bores.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isnan, nan

from dipbook.findings import Finding
from dipbook.mud.hanging import empty
from dipbook.mud.mixing import ImpossibleError
from dipbook.mud.tapered import bores
from dipbook.records import Record
from dipbook.well import String


@dataclass(slots=True)
class Fall:
    """What a slug lifts out besides its own volume.

    t_ms: when it was in the pipe [UTC ms]. slug_m3: its volume. left_m3: what it still lifts out. lasts_ms: over what
    time, 0 at once. ends_ms: when it has fallen, once it falls. chased_m3: pumped behind it, NaN where the flow isn't
    known. heavier: (ρs − ρm)/ρm [-].
    """

    t_ms: int
    slug_m3: float
    left_m3: float
    lasts_ms: int
    ends_ms: int = 0
    chased_m3: float = 0.0
    heavier: float = nan

    def through(self, string: String | None, bit_m: float) -> None:
        """It falls through a string of several bores, where that is known: ``left_m3`` is what it empties there.
        string: in the hole, None not described. bit_m: bit depth [m], NaN unknown."""
        if string is None or isnan(bit_m + self.chased_m3) or bit_m <= 0.0:
            return
        try:
            pipe = bores(string, bit_m)
        except ImpossibleError:
            return
        empties = empty(self.slug_m3, self.chased_m3, self.heavier, pipe)
        self.left_m3 = self.left_m3 if isnan(empties) else empties

    def whole(self, bit_m: float, bore: float) -> bool:
        """True if the whole slug is in the pipe, as far as the log tells. bit_m: how deep the bit is [m], NaN unknown.
        bore: of the pipe, per length [m3/m]."""
        if isnan(bit_m):
            return self.chased_m3 == 0.0
        return self.slug_m3 + self.chased_m3 <= bore * bit_m


def slugs(records: Iterable[Record]) -> tuple[list[Fall], list[Finding]]:
    """What the slugs among ``records`` lift out, and findings on those that lift out nothing or at once."""
    falls: list[Fall] = []
    findings: list[Finding] = []
    for r in records:
        if r.kind != "slug":
            continue
        p = r.payload
        volume, heavy, light = p.get("volume_m3"), p.get("density_kg_m3"), p.get("mud_density_kg_m3")
        end = p.get("end_ms")
        t = r.t_ms if end is None else int(end)
        if volume is None or heavy is None or not light:
            findings.append(Finding("A slug was pumped and its volume or a density isn't known: what it lifts out "
                                    "isn't booked and reads as a gain.", code="slug_unknown", t_ms=t))
        elif heavy <= light:
            findings.append(Finding("A slug was pumped that isn't heavier than the mud in the pipe: nothing falls, and "
                                    "nothing more comes back than was pumped.", code="slug_not_heavier", t_ms=t))
        else:
            seconds = p.get("return_s")
            if seconds is None:
                findings.append(Finding("It isn't said over what time the slug falls: what it lifts out is booked at "
                                        "once, and reads as a loss until it is back.", code="slug_at_once", t_ms=t))
            falls.append(Fall(t, float(volume), float(volume) * (float(heavy) / float(light) - 1.0),
                              round((seconds or 0.0) * 1000.0), heavier=float(heavy) / float(light) - 1.0))
    return falls, findings
