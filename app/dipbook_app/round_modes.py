"""The three ways to key a round: all tanks, the short round, and catching up from paper. No widgets."""

from __future__ import annotations

from collections.abc import Collection
from math import isnan, nan

from dipbook.entries.dipping import Before
from dipbook.records import ROUND, Dip
from dipbook.rig.model import Rig
from dipbook.situation import Situation
from dipbook.tanks.uncertainty import tank_uncertainty
from dipbook_app.round_sheet import before, listed

FULL, SHORT, PAST = "full", "short", "past"
DRAFTS = {FULL: "round", SHORT: "short round", PAST: "catch up"}
"""The draft that each keeps what is typed in: one in progress waits while another is keyed."""
SHORT_ROLES = ("suction", "trip")


def tanks_of(mode: str, rig: Rig) -> tuple[str, ...]:
    """The tanks that have a row, in gauging order. mode: FULL, SHORT or PAST."""
    return tuple(tank.name for tank in rig.tanks if mode != SHORT or tank.role in SHORT_ROLES)


def mode_words(mode: str, rig: Rig, waiting: Collection[str] = ()) -> str:
    """What the page says of a mode, "" where nothing is to be said. waiting: the modes in which a round is in progress.
    """
    if mode == FULL:
        return " ".join(words for other, words in ((SHORT, "A short round is begun and waits: Ctrl+B."), (
            PAST, "A round from paper is begun and waits: Ctrl+L.")) if other in waiting)
    kept = " The round of all tanks is kept." if FULL in waiting else ""
    if mode == PAST:
        return f"Catch up from paper: round after round, in any order, each with the times it was gauged at.{kept}"
    rest = [tank.name for tank in rig.tanks if tank.role not in SHORT_ROLES]
    others = f"{listed(rest)} stay at their last dips" if len(rest) > 1 else f"{listed(rest)} stays at its last dip"
    return f"Short round: suction and trip tanks only.{f' {others}, and the balance is partial.' if rest else ''}{kept}"


def befores_at(situation: Situation, t_ms: int | None) -> dict[str, Before]:
    """What the log knows of each tank before a round of the past, not of what was gauged after it. t_ms: of the round
    [UTC ms], None where it isn't known yet, and then nothing is before it."""
    if t_ms is None:
        return {}
    newest = {view.name: view.t_ms for view in situation.tanks}
    older: dict[str, Dip] = {}
    for record in situation.records:
        if record.kind != ROUND or record.uid in situation.superseded:
            continue
        for dip in record.dips:
            if dip.t_ms <= t_ms and (dip.tank not in older or older[dip.tank].t_ms <= dip.t_ms):
                older[dip.tank] = dip
    found: dict[str, Before] = {}
    for tank in situation.rig.tanks:
        last = newest.get(tank.name)
        if last is not None and last <= t_ms:
            found[tank.name] = before(situation, tank.name)
        elif tank.name in older:
            found[tank.name] = _before_of(older[tank.name], situation.rig)
    return found


def _before_of(dip: Dip, rig: Rig) -> Before:
    """A dip as the one before: what was logged on the tank since, up to the past, isn't worked out here."""
    tank = rig.tank(dip.tank)
    if dip.level_m is None and dip.volume_m3 is None:
        return Before(t_ms=dip.t_ms, booked_m3=nan)
    level = float(tank.level(dip.volume_m3) if dip.level_m is None else tank.level_of_dip(dip.level_m))
    volume = float(tank.volume(level)) if dip.volume_m3 is None else dip.volume_m3
    u = None if tank.dip_error_m is None else float(tank_uncertainty(tank, level, half_width_m=dip.resolution_m))
    return Before(None if isnan(level) else level, None if isnan(volume) else volume, u, dip.t_ms, nan)
