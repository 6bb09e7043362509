"""A doubt in plain words: short for the tank, whole for whoever asks."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite

from dipbook.cautions import NOTHING_SUPPRESSED
from dipbook.gauges.doubt import READS_LOW, Doubt, true_change

__all__ = ["NOTHING_SUPPRESSED", "brief", "rests_on", "words"]

Volume = Callable[[float], str]
BRIEF = {"stuck": "not moving", "missing": "missing", "spiking": "spiking", "noisy": "noisy", "tilted": "swinging",
         "isolated": "looks isolated", "stick": "off the stick", "readings": "readings differ", "gap": "gap",
         "step": "step", "transfer": "transfer?", "drift": "slow drift", "breathing": "breathing?"}


def brief(doubt: Doubt) -> str:
    """One or two words for a tank's picture. doubt."""
    if doubt.kind == "clipped":
        return doubt.said
    if doubt.kind == "noisy" and isfinite(doubt.value):
        return f"noisy ×{doubt.value:.1f}"
    return doubt.said if doubt.kind == "flagged" else BRIEF[doubt.kind]


def words(doubt: Doubt, volume: Volume, *, ended: bool = False) -> str:
    """What was found, and what it means for a gain or a loss. doubt. volume: writes one [m3] in the crew's unit.
    ended: say it of something that is over."""
    d, tank = doubt, doubt.tank
    v = volume(abs(d.value)) if isfinite(d.value) else ""
    has, is_ = ("hadn't", "was") if ended else ("hasn't", "is")
    match d.kind:
        case "stuck":
            said = (f"{tank} {has} moved in {d.count} readings while the other active tanks moved {v}: stuck, or not "
                    f"gauged?{_share(d)}")
        case "missing":
            said = f"{tank} {is_} missing while others read: the last value is held.{_share(d)}"
            said += " Nothing is zeroed on its return: what changed meanwhile shows."
        case "spiking":
            times = f"{d.count} spikes, up to" if d.count > 1 else "a spike of"
            said = f"{tank} has {times} {v}. It stays in the books as it came"
        case "clipped":
            said = f"{tank} {is_} {d.said}, the end of what its gauge can tell: what goes on beyond isn't seen"
        case "noisy":
            said = (f"{tank} {is_} {d.value:.1f} times as noisy as before: agitator, gas or foam? A gain by gas is "
                    "still a gain")
        case "tilted":
            said = f"{tank} and {d.other} swing against each other: floor tilting, or mud sloshing between them?"
        case "isolated":
            said = (f"{tank} stayed silent when the pumps changed and the others moved {v}: isolated, and the line-up "
                    "not logged?")
        case "stick":
            said = f"{tank}'s sensor was {v or 'too far'} off the stick"
        case "readings":
            said = f"{tank}'s two readings of one dip lay apart, by {v or 'too much'} to either side of their mean"
        case "flagged":
            said = f"{tank} was dipped with {d.said}: its level may be off"
        case "gap":
            said = f"No gauge read for {_span(d)}: what changed across it is compared as it is"
        case "step":
            said = (f"The difference {_way(d.value)} {v} at once, faster than a well is taken to flow: a transfer or "
                    "influx?")
        case "transfer":
            moved = volume(abs(d.moved_m3))
            said = (f"{tank} fell and {d.other} rose by about {moved} and nothing says so, their sum changed by {v}: a "
                    "transfer, or a tilt?")
        case "drift":
            hourly = volume(abs(d.value) * 3600.0)
            said = (f"The difference {_way(d.value)} slowly, {hourly} an hour over 2 h: evaporation, a leak, a gauge "
                    "that drifts, or the well")
        case _:
            said = (f"{v} too much came back and went again when the pumps were on: it looks like breathing. Treat it "
                    "as flowing until it was checked")
    return said if said[-1] in ".?" else f"{said}."


def rests_on(doubt: Doubt, read_m3: float, volume: Volume) -> str:
    """What a warning's value would be in truth by a stuck or missing gauge's share, "" where that can't be told.

    doubt. read_m3: what the warning reads [m3]. volume: writes one in the crew's unit. The number itself stays.
    """
    true = true_change(read_m3, doubt.share) if doubt.kind in READS_LOW else None
    if true is None:
        return ""
    return (f"the {volume(abs(read_m3))} read would be about {volume(abs(true))}, if mud spreads over the active tanks "
            "by their areas")


def _share(d: Doubt) -> str:
    if d.share is None:
        return ""
    reads = "reads" if d.to_ms is None else "read"
    share = f"{100 * d.share:.0f} %"
    return f" A gain or loss {reads} low by its share, {share} of the active area, if mud spreads by area."


def _way(value: float) -> str:
    return "rose" if value > 0 else "fell"


def _span(d: Doubt) -> str:
    seconds = ((d.known_ms if d.to_ms is None else d.to_ms) - d.from_ms) / 1000.0
    if seconds < 120:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 7200 else f"{seconds / 3600:.1f} h"
