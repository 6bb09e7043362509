"""What the fields of an entry that moves mud have to do with each other, and the volumes that follow from them."""

from __future__ import annotations

from math import isnan

from dipbook import mud
from dipbook.entries.fields import Given, error
from dipbook.entries.plausible import half_step
from dipbook.entries.sticks import Stick, outside, two_u, worked_out
from dipbook.findings import Finding
from dipbook.quantities import write

DONE, RUNNING = "done", "running"
ANNOUNCED, ANSWERED = "announced", "answered"


def moved(given: Given) -> list[Finding]:
    """Transfer and discard: the state against what is known of the amount. given: the entry."""
    findings = []
    si = given.si
    if "from" in si and si.get("from") == si.get("to"):
        findings.append(_same_tank(given))
    if si.get("state") == RUNNING:
        if "volume_m3" in si:
            findings.append(error("the volume is known when it is stopped: leave it out while it runs", "volume",
                                  "running_with_volume"))
    elif "volume_m3" not in si and not ("rate_m3_s" in si and given.end_ms is not None):
        if "rate_m3_s" in si:
            findings.append(error("a rate needs an end, or the state running", "end", "rate_without_end"))
        elif si.get("state") == DONE:
            findings.append(error("say how much was moved: a volume, or a rate and an end", "volume", "missing"))
    return findings


def slug(given: Given) -> list[Finding]:
    """Whether anything falls, and over what time. given: the entry."""
    slug_density, mud_density = given.si.get("density_kg_m3"), given.si.get("mud_density_kg_m3")
    if slug_density is None or mud_density is None:
        return []
    if slug_density <= mud_density:
        return [Finding(f"the slug isn't heavier than the mud in the pipe ({given.said('density', 'density_kg_m3')} "
                        f"against {given.said('mud_density', 'mud_density_kg_m3')}): nothing falls, and nothing more "
                        "comes back than was pumped", code="nothing_falls", column="density")]
    if "return_s" not in given.si:
        return [Finding("it isn't said over what time the mud falls: what that brings back is booked at once when the "
                        "slug is in", code="falls_at_once", column="return")]
    return []


def salt(given: Given) -> list[Finding]:
    """What dissolving takes, from the table. given: the entry; its volume is put in."""
    si = given.si
    if not {"salt", "mass_kg", "into_m3"} <= si.keys():
        return []
    name, had = si["salt"], si.get("had_percent", 0.0)
    most = mud.most_percent(name)
    if had > most:
        return [error(f"the table of {name} ends at {most:g} % by weight, near saturation: {had:g} % can't be in it",
                      "had", "beyond_table")]
    try:
        volume = mud.volume_increase(name, si["mass_kg"], si["into_m3"], had)
    except mud.SaltError as refusal:
        return [error(f"that would be {refusal.percent:.1f} % of {name} by weight, and the table ends at {most:g} %, "
                      "near saturation: log here what dissolves, and the rest as an addition by mass and density",
                      "mass", "beyond_table")]
    given.values.put("volume", "volume_m3", volume, "")
    percent = mud.percent_after(name, si["mass_kg"], si["into_m3"], had)
    return [Finding(f"{_volume(volume, given)} more, by the table of {name} in water at 20 °C, and {percent:.1f} % by "
                    "weight in the end. Of mud with solids count only the water as what it goes into",
                    code="salt_by_table", severity="note", column="mass")]


def trap_dump(given: Given) -> list[Finding]:
    """The volume between two sticks. given: the entry; its volume is put in."""
    sticks = _before_and_after(given, "from")
    if isinstance(sticks, list):
        return sticks
    before, after = sticks
    if after.volume_m3 >= before.volume_m3:
        return [error(f"nothing was dumped by these sticks: {_volume(before.volume_m3, given)} before, "
                      f"{_volume(after.volume_m3, given)} after. Check both, and which is which", "after", "wrong_way")]
    given.values.put("volume", "volume_m3", before.volume_m3 - after.volume_m3, "")
    return [Finding(f"{_volume(before.volume_m3 - after.volume_m3, given)} by the sticks", code="by_sticks",
                    severity="note", column="after")]


def boat(given: Given) -> list[Finding]:
    """One way; booked by the own sticks, or as typed; the ticket beside it.

    given: the entry; its volume is put in where it follows from the sticks.
    """
    si = given.si
    if "from" in si and "to" in si:
        return [error("a boat brings mud or takes it: give the tank under to or under from, not under both", "from",
                      "both_ways")]
    way = "to" if "to" in si else "from"
    given_sticks = [name for name, key in (("before", "before_m"), ("after", "after_m")) if key in si]
    if len(given_sticks) == 1:
        other = "after" if given_sticks == ["before"] else "before"
        return [error(f"the stick {given_sticks[0]} tells nothing without the one {other}", other, "missing")]
    trusted = 0.0
    if given_sticks:
        sticks = _before_and_after(given, way)
        if isinstance(sticks, list):
            return sticks
        before, after = sticks
        volume = (after.volume_m3 - before.volume_m3) * (1 if way == "to" else -1)
        if volume <= 0:
            return [error(f"by these sticks the tank {'lost' if way == 'to' else 'gained'} mud: "
                          f"{_volume(before.volume_m3, given)} before, {_volume(after.volume_m3, given)} after. Check "
                          "both, and which is which", "after", "wrong_way")]
        trusted = two_u(before, after)
        room = 0.01 * volume if isnan(trusted) else trusted
        if "volume_m3" not in si:
            given.values.put("volume", "volume_m3", volume, "")
        elif abs(si["volume_m3"] - volume) > room + half_step(given.values, "volume_m3"):
            return [error(f"the volume is {_volume(si['volume_m3'], given)} but the sticks make it "
                          f"{_volume(volume, given)}: leave one of them out", "volume", "disagree")]
    return _ticket(given, trusted)


def notice(given: Given) -> list[Finding]:
    """Announced until it is answered. given: the entry; the state that follows from the answer is put in."""
    si = given.si
    if "from" in si and si.get("from") == si.get("to"):
        return [_same_tank(given)]
    state = si.get("state", ANNOUNCED)
    if state == ANSWERED and "answer" not in si:
        return [error("say what the answer was", "answer", "missing")]
    if state == ANNOUNCED:
        given.values.put("state", "state", ANSWERED if "answer" in si else ANNOUNCED,
                         "" if "answer" in si else given.values.typed.get("state", ""))
    return []


def _ticket(given: Given, trusted_m3: float) -> list[Finding]:
    """A ticket that the booked volume, its uncertainty and the hose don't explain.

    trusted_m3: 2u of the sticks, 0 where there are none, NaN where it isn't known.
    """
    si = given.si
    if "ticket_m3" not in si or "volume_m3" not in si:
        return []
    hose = si.get("hose_m3", 0.0)
    apart = abs(si["ticket_m3"] - si["volume_m3"])
    digits = half_step(given.values, "ticket_m3")
    if given.values.typed.get("volume"):
        digits += half_step(given.values, "volume_m3")
    if apart <= hose + digits + (0.0 if isnan(trusted_m3) else trusted_m3):
        return []
    left = f", of which {_volume(hose, given)} may be in the hose" if hose else ""
    unknown = ". How far the sticks can be trusted isn't known: no dip error is set" if isnan(trusted_m3) else ""
    return [Finding(f"the ticket says {_volume(si['ticket_m3'], given)}, booked are {_volume(si['volume_m3'], given)}: "
                    f"{_volume(apart, given)} apart{left}{unknown}", code="ticket_apart", column="ticket")]


def _before_and_after(given: Given, where: str) -> tuple[Stick, Stick] | list[Finding]:
    """Both sticks of the tank under ``where``, or why not; nothing to say where a field is missing."""
    tank = given.tank(where)
    if tank is None or "before_m" not in given.si or "after_m" not in given.si:
        return []
    findings = [error(words, name, "outside_tank") for name, key in (("before", "before_m"), ("after", "after_m"))
                if (words := outside(tank, given.si[key], given.rig))]
    if findings:
        return findings
    return worked_out(tank, given.si["before_m"]), worked_out(tank, given.si["after_m"])


def _same_tank(given: Given) -> Finding:
    return error(f"from and to are both {given.si['from']}", "to", "same_tank")


def _volume(volume_m3: float, given: Given) -> str:
    return write(volume_m3, given.rig.units.get("volume", "m3"), decimal=given.rig.decimal)
