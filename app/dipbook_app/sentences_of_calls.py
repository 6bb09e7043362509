"""The Watch page's sentences on what was said and what stands: mud about to be moved, the well shut in, rates in force,
room and mud."""

from __future__ import annotations

from dipbook.entries.words import describe
from dipbook.situation import NoticeView, RunningEntry, Situation
from dipbook_app.display import DisplayUnits, shown_words

PROCEDURES = "Follow the rig's own well-control procedures."


def announced(notice: NoticeView, units: DisplayUnits) -> str:
    """What is about to be moved: ``24.0 bbl Reserve 1 → Suction``; what isn't known is left out."""
    volume = notice.fields.get("volume_m3")
    source, target = (str(notice.fields.get(k) or "") for k in ("from", "to"))
    both = f"{source} → {target}" if source and target else f"from {source}" if source else f"to {target}"
    return " ".join(w for w in ("" if volume is None else units.volume(volume), both) if w)


def notice(view: NoticeView, s: Situation, units: DisplayUnits) -> str:
    """A notice with who was told and when, and the answer."""
    when = units.time_near(view.t_ms, s.now_ms)
    told = f"Told {view.told} {when}" if view.told else f"Said {when}"
    answer = f"answer: {view.answer.rstrip('.')}." if view.answer else "no answer yet."
    return f"About to move {announced(view, units)}. {told}; {answer}"


def shut_in(s: Situation, units: DisplayUnits) -> str:
    """That the well is shut in, with the gain as it was logged and by the books then; "" while it isn't."""
    view = s.shut_in
    if view is None:
        return ""
    by = f" by {view.by}" if view.by else ""
    gain = "no gain logged" if view.gain_m3 is None else f"gain kept at {units.volume(view.gain_m3)}"
    when = "then" if view.read_ms is None else f"at {units.time_near(view.read_ms, s.now_ms)}"
    books = f"by the books {when} not known" if view.books_m3 is None else (
        f"by the books {when} {units.signed_volume(view.books_m3)}"
        + ("" if view.u_m3 is None else f" {units.plus_minus(view.u_m3)}"))
    return f"Well shut in {units.time_near(view.t_ms, s.now_ms)}{by}: {gain} ({books}). {PROCEDURES}"


SIGNS_SHOWN = 2


def signs(s: Situation, units: DisplayUnits) -> str:
    """What was logged that may be a sign of the well's, newest first; "" without any."""
    rig = s.rig
    said = []
    for r in s.signs[:SIGNS_SHOWN]:
        words = f"Flow check {r.payload.get('result')}" if r.kind == "flow check" else shown_words(
            describe(r, rig.units, rig.zone, rig.decimal)).partition(", told ")[0].rstrip(".")
        said.append(f"{units.time_near(r.t_ms, s.now_ms)} {words[:1].lower()}{words[1:]}")
    more = f"; and {len(s.signs) - SIGNS_SHOWN} more" if len(s.signs) > SIGNS_SHOWN else ""
    procedures = "" if s.shut_in is not None else f" {PROCEDURES}"  # which stands on the line above then
    return f"Seen: {'; '.join(said)}{more}.{procedures}" if said else ""


def rates(s: Situation, units: DisplayUnits) -> str:
    """The rate that was put in force first, and how many more; "" without any."""
    if not s.rates:
        return ""
    more = f"; and {len(s.rates) - 1} more" if len(s.rates) > 1 else "."
    return f"In force: {_rate(s.rates[0], s, units)}{more}"


def _rate(rate: RunningEntry, s: Situation, units: DisplayUnits) -> str:
    source, target = (str(rate.fields.get(k) or "") for k in ("from", "to"))
    words = [str(rate.fields.get("what") or rate.fields.get("remark") or "a rate")]
    if rate.rate_m3_s is not None:
        hourly = rate.rate_m3_s * 3600
        one_way = units.volume(hourly) if source and target else units.signed_volume(hourly if target else -hourly)
        words.append(f"{one_way}/h")
    words += [f"from {source}"] if source else []
    words += [f"into {target}"] if target else []
    so_far = "" if rate.volume_m3 is None else f", {units.volume(abs(rate.volume_m3))} so far"
    return f"{' '.join(words)} for {units.span(max(0, s.now_ms - rate.since_ms))}{so_far}"


def stock(s: Situation, units: DisplayUnits) -> tuple[str, str]:
    """Room and usable mud in the active tanks, "" for what isn't known."""
    if s.stock is None:
        return "", ""
    room, least, usable = s.stock.room_m3, s.stock.tightest, s.stock.usable_active_m3
    words = [] if room is None else [f"Room to the brims {units.volume(room)}"
                                     + (f", least {least[0]} {units.volume(least[1])}." if least else ".")]
    words += [] if usable is None else [f"Usable {units.volume(usable)}."]
    return (*words, "", "")[0], (*words, "", "")[1]
