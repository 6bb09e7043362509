"""A connection in the crew's words and units: its row in the table, and what is said of the chosen one."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.quantities import UNKNOWN
from dipbook.situation import BandView, ConnectionView, Situation
from dipbook_app.display import DisplayUnits

MINUTES = (1.0, 2.0, 3.0, 5.0, 10.0)
"""The fixed minutes that the table has room for; the rest stand in the books all the same."""
HEADINGS = ("Pumps off", "Depth", "Flow", *(f"{m:g} min" for m in MINUTES), "Above", "Pumps on\nto on",
            "Stopped\nafter", "Accepted")
FLOW_BACK = "flow_back"
NO_CONNECTIONS = ("No connection yet: the pumps weren't logged off and on in the last day. Log “pumps” when they stop "
                  "and start, or add a file of readings that has the flow.")
NO_CURVES = ("No connection here has a curve: that takes a reading within 2 min before the pumps stop and four while "
             "they are off, as sensors give them. Rounds by hand are minutes apart, and show what a connection did "
             "only from pumps on to pumps on.")


def cells(view: ConnectionView, units: DisplayUnits, now_ms: int) -> tuple[str, ...]:
    """One row of the table. view: the connection. now_ms [UTC ms]."""
    back = dict(view.back_at)
    stopped = "" if view.stopped_s is None else minutes(view.stopped_s)
    return (units.time_near(view.off_ms, now_ms), short(units.length(view.hole_m)), short(units.flow(view.flow_m3_s)),
            *("" if m not in back else units.volume_number(back[m]) for m in MINUTES),
            "" if view.above_m3 is None else units.volume_number(view.above_m3, sign=True),
            "" if view.across_m3 is None else units.volume_number(view.across_m3, sign=True), stopped, accepted(view))


def short(words: str) -> str:
    """Unknown is left blank in the table: the chosen one's words say it."""
    return "" if words == UNKNOWN else words


def accepted(view: ConnectionView) -> str:
    """Whether it was accepted, and by whom."""
    if view.accepted is None:
        return "no curve" if view.why_no_curve else "nobody said"
    by = f", {view.accepted_by}" if view.accepted_by else ""
    return f"yes{by}" if view.accepted else f"no{by}"


def minutes(seconds: float) -> str:
    """A time since the pumps stopped: ``4 min 30 s``."""
    whole, rest = divmod(round(seconds), 60)
    return f"{whole} min {rest:02d} s" if rest else f"{whole} min"


def chosen_words(view: ConnectionView, units: DisplayUnits, now_ms: int, *, band_is_told: bool = False) -> str:
    """What is said of the chosen connection below the table. band_is_told: its band is the one in force, told already.
    """
    parts = [f"Pumps off {units.time_near(view.off_ms, now_ms)}"
             + (f", on {units.time_near(view.on_ms, now_ms)}" if view.on_ms is not None else ", still off")
             + (f", {view.section}" if view.section else "") + "."]
    if view.why_no_curve:
        parts.append(f"{view.why_no_curve}.")
    else:
        if not band_is_told:
            parts.append(f"{_sentence(view.band_words)}.")
        if view.above_m3 is not None and view.above_s is not None:
            against = "the accepted ones" if view.banded else "all that the lines hold"
            way = "more" if view.above_m3 > 0 else "less"
            parts.append(f"At most {units.volume(abs(view.above_m3))} {way} than {against}, "
                         f"by {minutes(view.above_s)}.")
        else:
            parts.append("Compared with nothing.")
        if view.before_m3 is not None:
            minute, more = view.before_m3
            parts.append(f"{units.signed_volume(more)} by {minute:g} min against the one before.")
    if view.across_m3 is not None:
        parts.append(f"Pumps on to pumps on {units.signed_volume(view.across_m3)} "
                     f"{units.plus_minus(view.across_u_m3)}.")
    elif view.across_words:
        parts.append(f"Pumps on to pumps on: {view.across_words}.")
    if view.between_m3 is not None:
        parts.append(f"While pumping before it {units.signed_volume(view.between_m3)}.")
    if view.remark:
        parts.append(f"“{view.remark}”")
    return " ".join(parts)


def lay_above(view: ConnectionView) -> float | None:
    """By how much a connection lay above what it is held against [m3], where that is more than ± 2u; None where it
    isn't, or where nothing was compared. Against a band that is judged at the fixed minutes. Against all that the lines
    hold by the u of its own difference pumps on to pumps on: two readings of the same tanks, as here."""
    over = [above for _, above, u in view.excess if above > 2 * u]
    beyond = 0.0 if view.banded else 2 * (view.across_u_m3 or 0.0)
    if view.above_m3 is not None and view.above_m3 > beyond and (over or not view.banded):
        return max([view.above_m3, *over])
    return max(over, default=None)


def warned(view: ConnectionView, views: Sequence[ConnectionView], s: Situation) -> bool:
    """True if a warning of flow-back is open that occurred at this connection: before the pumps stopped again."""
    later = min((v.off_ms for v in views if v.off_ms > view.off_ms), default=s.now_ms + 1)
    return any(w.kind == FLOW_BACK and view.off_ms <= w.raised_ms < later for w in s.warnings)


def accept_question(view: ConnectionView, views: Sequence[ConnectionView], s: Situation, units: DisplayUnits) -> str:
    """What is asked before a connection is accepted, "" where nothing speaks against it. views: all that are shown."""
    above = lay_above(view)
    if above is not None:
        against = "the accepted ones" if view.banded else "all that the lines hold"
        said = f"It flowed back {units.volume(above)} more than {against}"
    elif warned(view, views, s):
        said = "Its flow-back warning is open"
    else:
        return ""
    return f"{said}: a band learned from it hides that. Enter again goes on to accept it."


def adopt_words(like: Sequence[ConnectionView], view: ConnectionView, units: DisplayUnits, now_ms: int) -> str:
    """What a band adopted now is learned from, as far as it is shown here, and which of them lay above.

    like: those of about the chosen one's flow. view: the chosen one. now_ms [UTC ms].
    """
    taken = [v for v in like if v.accepted and v.on_ms is not None and v.on_ms <= now_ms and not v.why_no_curve
             and v.section == view.section]
    above = [(v, more) for v in taken if (more := lay_above(v)) is not None]
    count = f"{len(taken)} accepted connection{'' if len(taken) == 1 else 's'}"
    said = f"A band adopted now at {units.flow(view.flow_m3_s)} is learned from the {count} shown here"
    if not taken:
        said = f"No connection shown here at {units.flow(view.flow_m3_s)} is accepted: the band would rest on nothing"
    elif above:
        named = ", ".join(f"{units.time_near(v.off_ms, now_ms)} by {units.volume(more)}" for v, more in above)
        said += f", of which {len(above)} lay above, and it hides that: {named}"
    else:
        said += "; none of them lay above"
    return f"{said}. Ins again opens its entry."


def band_words(s: Situation, units: DisplayUnits) -> str:
    """Which band is in force, what the limit compares, and what it can't; in one line or two."""
    said, limit = _band(s.band, units, s.now_ms), s.limit_flow_back
    if limit is None:
        return f"{said} No flow-back limit is set: nobody is told of a connection that flows back too much."
    return f"{said} The limit warns {units.volume(limit.value)} above it."


def _band(band: BandView | None, units: DisplayUnits, now_ms: int) -> str:
    if band is None:
        return ("No band is adopted for the flow and section of now: accept at least three connections, then adopt one."
                " Until then only what comes back above all that the lines hold can warn.")
    where = f" in {band.section}" if band.section else ""
    by = f" by {band.by}" if band.by else ""
    said = (f"Band in force since {units.time_near(band.t_ms, now_ms)}{by}, at {units.flow(band.flow_m3_s)}{where}, "
            f"from {band.count} accepted connection{'' if band.count == 1 else 's'}")
    return f"{said}." if band.enough else f"{said}: too few, and nothing is compared with it."


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
