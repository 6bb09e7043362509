"""What the fields of a trip's entries have to do with each other, and with the rig."""

from __future__ import annotations

from dipbook.entries.fields import Given, error
from dipbook.entries.kinds import NOT_CIRCULATED, OUT
from dipbook.findings import Finding
from dipbook.quantities import write
from dipbook.trips.ways import BUCKET, CLOSED, OPEN
from dipbook.tubulars import TubularError, find

TRIP_TANK = "trip"
"""Role of a trip tank."""


def trip(given: Given) -> list[Finding]:
    """How the pipe is moved must be said: what the hole should take hangs on it.

    given: the entry; the rig's only trip tank and its float are put in, with a note.
    """
    findings = [*_pipe(given), *_deeper(given), *_tank(given)]
    findings += _out(given) if given.si.get("direction") == OUT else _in(given)
    if given.si.get("direction") == OUT and given.si.get("bit_depth_m") == 0.0:
        findings.append(error("with the bit at surface there is nothing to pull: is it a trip in?", "direction",
                              "nothing_to_pull"))
    if given.si.get("bottoms_up") == NOT_CIRCULATED and not given.si.get("why_not"):
        findings.append(error("say why bottoms-up wasn't circulated", "not circulated because", "missing"))
    return findings


def _pipe(given: Given) -> list[Finding]:
    """What is run, if not the string: of the catalogue."""
    named = given.si.get("pipe")
    if named:
        try:
            given.si["pipe"] = find(str(named)).name
        except TubularError as refusal:
            return [error(str(refusal), "pipe", "unknown_pipe")]
    elif given.rig.whole_string is None:
        return [error("the rig file describes neither a string nor a pipe: what the hole should take isn't known. Name "
                      "a pipe of the catalogue here, or describe the string in the rig file", "pipe", "no_string")]
    return []


def _deeper(given: Given) -> list[Finding]:
    """The bit can't be deeper than the string is long."""
    string, bit = given.rig.whole_string, given.si.get("bit_depth_m")
    if given.si.get("pipe") or string is None or bit is None or bit <= string.length_m + 1e-6:
        return []
    longest = write(string.length_m, given.rig.units.get("length", "m"), decimal=given.rig.decimal)
    return [error(f"deeper than the string is long, {longest}: check the depth, or the string in the rig file",
                  "bit depth", "too_deep")]


def _tank(given: Given) -> list[Finding]:
    tanks = [t.name for t in given.rig.tanks if t.role == TRIP_TANK]
    if "tank" in given.si:
        return []
    if len(tanks) > 1:
        return [error(f"say which trip tank: {' or '.join(tanks)}", "trip tank", "missing")]
    if not tanks:
        return [Finding("the rig has no trip tank: what the hole takes is told from strokes alone", code="no_trip_tank",
                        column="trip tank")]
    given.values.put("trip tank", "tank", tanks[0], "")
    return []


def _out(given: Given) -> list[Finding]:
    si = given.si
    if "pulled" not in si:
        return [error("say how it is pulled: dry, wet, or with a bucket. A wet string takes its bore's mud along",
                      "pulled", "missing")]
    if "float" in si and "float" not in given.values.typed:
        given.values.drop("float", "float")     # put in by the rig file, while it was a trip in
    if "float" in si:
        return [error("the float is for running in: leave it out", "float", "not_here")]
    if si["pulled"] == BUCKET and "returned_percent" not in si:
        return [error("say what share of the pipe's mud the bucket gives back to the trip tank", "returned", "missing")]
    if si["pulled"] != BUCKET and "returned_percent" in si:
        return [error("a share comes back from a bucket only: leave it out, or say bucket", "returned", "not_here")]
    return []


def _in(given: Given) -> list[Finding]:
    si = given.si
    if wrong := [name for name in ("pulled", "returned") if name in given.values.names]:
        return [error("this is for pulling out: leave it out", wrong[0], "not_here")]
    if "float" in si or "direction" not in si:
        return []
    described = given.rig.pipe.float_closed if given.rig.pipe is not None else None
    if described is None:
        return [error("say whether the float is closed, open or self-filling", "float", "missing")]
    given.values.put("float", "float", CLOSED if described else OPEN, "")
    return [Finding(f"the rig file's float is taken: {CLOSED if described else OPEN}", code="float_taken",
                    severity="note", column="float")]
