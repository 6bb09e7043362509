"""Limits that a person sets aside for a while: shelved, or out of service. What they watch is followed all the same."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from dipbook.alarms.step import Aside, RefusedError
from dipbook.errors import EntryError
from dipbook.limits import NOT_SHELVABLE, Limit, kind_words
from dipbook.watch.events import Act, LimitsChanged
from dipbook.watch.state import Slot, Watch
from dipbook.watch.track import Track

MINUTE_MS = 60_000


def setting_aside(watch: Watch, act: Act, code: str) -> Mapping[int, Track]:
    """Set a limit aside, or take it up again. Returns the tracks by the slot's place.

    watch: told of the time before the act. act: what a person does. code: its event, one of SHV, UNS, OOS+, OOS-.
    Raises EntryError (also RefusedError) where it can't be done.
    """
    found = {order: slot for order, slot in enumerate(watch.slots) if slot.limit.name == act.limit}
    if not found:
        raise EntryError(f"There is no limit called {act.limit} that is watched: nothing to {act.action}."
                         if act.limit else f"Say which limit to {act.action}.")
    if not act.by.strip():
        raise EntryError("Say who does this.")
    if not act.note.strip():
        raise EntryError("Say why.")
    tracks: dict[int, Track] = {}
    for order, slot in found.items():
        if code in ("UNS", "OOS-") and len(found) > 1 and not slot.alarm.set_aside:
            continue  # of the two sides of a limit on trips, the one that is set aside
        aside = {"SHV": _shelf, "OOS+": _out}[code](slot, act) if code in ("SHV", "OOS+") else None
        tracks[order] = Track(watch, slot, order, seq=act.seq)
        tracks[order].take(code, act.at_ms, act.at_ms, tracks[order].last, cause="", by=act.by.strip(),
                           note=act.note.strip(), aside=aside)
    if not tracks:
        raise RefusedError(f"{act.limit} is not set aside.", "NORM", code)
    return tracks


def _shelf(slot: Slot, act: Act) -> Aside:
    limit, had = slot.in_force or slot.limit, slot.alarm.aside
    if limit.kind in NOT_SHELVABLE:
        raise RefusedError(f"Not shelved: a warning of {kind_words(limit.kind)} can't be. Its sound alone can be "
                           "silenced for 30 s.", slot.alarm.code, "SHV")
    if limit.shelve_ms is None:
        raise RefusedError(f"Not shelved: nobody has set for how long {limit.name} may be shelved. That is set with "
                           "the limit.", slot.alarm.code, "SHV")
    since = had.t_ms if had is not None and slot.alarm.code == "SHLVD" else act.at_ms
    longest = since + limit.shelve_ms
    until = longest if act.until_ms is None and act.once else act.until_ms
    if until is None:
        raise EntryError("Say until when it is shelved.")
    if until <= act.at_ms:
        raise EntryError("Not shelved: the time at which it ends is past.")
    if until > longest:
        again = "" if since == act.at_ms else " since it was shelved"
        raise EntryError(f"Not shelved: {limit.name} may be shelved for {limit.shelve_ms / MINUTE_MS:g} min at "
                         f"most{again}, as set by {limit.set_by}.")
    return Aside(since, act.by.strip(), act.note.strip(), until, act.once)


def _out(slot: Slot, act: Act) -> Aside:
    if not act.instead.strip():
        raise EntryError("Say what is watched instead, and by whom.")
    if slot.alarm.code == "OOSRV":
        raise RefusedError("It is out of service already.", "OOSRV", "OOS+")
    return Aside(act.at_ms, act.by.strip(), act.note.strip(), instead=act.instead.strip())


def taken_up_again(track: Track, event: LimitsChanged) -> None:
    """After a change of limits: one that was withdrawn is no longer set aside unless its warning stands, and a shelf
    ends where nobody lets the limit be shelved any more, or sooner where they let it less long.

    track: of a limit, with the new ones in its slot. event: the change.
    """
    slot, alarm = track.slot, track.alarm
    if not alarm.set_aside or alarm.aside is None:
        return
    limit: Limit | None = slot.in_force
    leave = "UNS" if alarm.code == "SHLVD" else "OOS-"
    if limit is None:
        if not alarm.is_open:
            track.take(leave, event.at_ms, event.at_ms, track.last, cause="limit withdrawn", by=event.by)
        return
    if alarm.code != "SHLVD":
        return
    if limit.shelve_ms is None:
        track.take(leave, event.at_ms, event.at_ms, track.last, cause="it may no longer be shelved", by=event.by)
    elif alarm.aside.until_ms is not None and alarm.aside.until_ms > alarm.aside.t_ms + limit.shelve_ms:
        sooner = replace(alarm.aside, until_ms=alarm.aside.t_ms + limit.shelve_ms)
        track.take("SHV", event.at_ms, event.at_ms, track.last, cause="limit changed", by=event.by, aside=sooner)
