"""What the strip says of a warning: its headline and the line below. The list and the story share its words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dipbook.limits import FALLING, SUSPECT, TOOK_MORE, TRIP_KINDS, kind_words
from dipbook.situation import AsideView, WarningView
from dipbook_app import aside_words, clock_behind, log_trouble
from dipbook_app import urgency as urgencies
from dipbook_app.display import DisplayUnits
from dipbook_app.sentences import warning_value
from dipbook_app.widgets.tank_drawing import DOUBT

NOTICES = {log_trouble.KIND: "LOG NOT KEPT", clock_behind.KIND: "CLOCK BEHIND THE LOG"}
"""Kind of a standing notice -> what it is called."""
HURRIED = "It came up just now: press F8 again."
"""Where F8 was pressed before anybody could have read what came up."""


def headline(warning: WarningView, units: DisplayUnits, now_ms: int) -> str:
    """``GAIN  5.6 bbl, limit 5.0 bbl, active system, since 02:10``; one that is over says so, and how bad it was.

    A loss is written as the amount lost.
    """
    if not warning.in_log:
        return f"NOT IN THE LOG: {headline(replace(warning, in_log=True), units, now_ms)}"
    if warning.kind in NOTICES:
        return f"{NOTICES[warning.kind]} {warning.said}since {units.time_near(warning.raised_ms, now_ms)}"
    if "of" in warning.facts and not warning.state.startswith("over"):
        return _of_drift(warning, units, now_ms)
    turned = turned_of(warning)

    def amount(value: float | None) -> str:
        return warning_value(warning, units, None if value is None else turned * value)

    limit = warning_value(warning, units, warning.limit)
    since = f"since {units.time_near(warning.raised_ms, now_ms)}"
    if warning.kind == SUSPECT:
        over = " over" if warning.state == "over" else ""
        return f"{word(warning)}{over}  {amount(warning.worst if over else warning.value)}, {where(warning)}, {since}"
    if warning.kind == "drift" and warning.state.startswith("over"):  # the worst was at a pace of its own
        return f"{word(warning)} over, limit {limit}, {where(warning)}, {since}"
    if warning.state in ("over", "over_acknowledged"):
        had = "" if warning.worst is None else f", had been {amount(warning.worst)}"
        return f"{word(warning)} over{had}, limit {limit}, {where(warning)}, {since}"
    part = " (partial)" if warning.partial else ""
    if not _stands(warning):  # a partial reading ends nothing, and may lie anywhere
        return (f"{word(warning)}  had been {amount(warning.worst)}, now {amount(warning.value)}{part}, limit "
                f"{limit}, {where(warning)}, {since}")
    return f"{word(warning)}  {amount(warning.value)}{part}, limit {limit}, {where(warning)}, {since}"


def _of_drift(warning: WarningView, units: DisplayUnits, now_ms: int) -> str:
    """``RISING  2.4 bbl, limit 2.7 bbl, about 0.9 bbl/min``: how fast tells more than when it was raised; without it
    that stands there. Above which low, the line below has."""
    amount, limit, rate = drift_parts(warning, units)
    return f"{amount}, limit {limit}, {rate or f'since {units.time_near(warning.raised_ms, now_ms)}'}"


def drift_parts(warning: WarningView, units: DisplayUnits) -> tuple[str, str, str]:
    """(``RISING  2.4 bbl (2.0 of it counts)``, the part of the limit that holds, how fast or "") of a warning of
    drift, wherever it is written. warning: one with the facts of a drift."""
    facts = warning.facts
    amount, counts = units.volume_number(facts["of"]), units.volume_number(facts["counts"])
    of_it = "" if counts == amount else f" ({counts} of it counts)"
    part = " (partial)" if warning.partial else ""
    rate = f"about {units.volume(facts['rate'] * 60)}/min" if "rate" in facts else ""
    return (f"{word(warning)}  {units.volume(facts['of'])}{of_it}{part}",
            units.volume(warning.limit * facts["part"]), rate)


def below(shown: WarningView, warnings: Sequence[WarningView], aside: Sequence[AsideView], units: DisplayUnits, *,
          hurried: bool = False) -> str:
    """The line below the headline: how it stands, what is doubted, what else is open or set aside. warnings: all that
    are open. hurried: somebody pressed F8 in the moment in which it came up."""
    counted = aside_words.count_words(aside)
    said = f"{HURRIED} " if hurried and shown.state in urgencies.UNACKNOWLEDGED else ""
    said += f"{capital(urgencies.STATE_WORDS.get(shown.state, shown.state))}. " + (
        "Came first. " if shown.first else "")
    put = f"Set aside: {counted}. " if counted else ""
    others = [w for w in warnings if w.occurrence != shown.occurrence]
    if not others:
        return f"{said}{put}{doubted(shown, units)}{shown.text}"
    held = f". {capital(shown.said)}" if "of" in shown.facts and shown.said and not shown.state.startswith("over") \
        else ""
    open_too = "; ".join(f"{named(w)} ({'came first, ' if w.first else ''}"
                         f"{urgencies.BRIEF_WORDS.get(w.state, w.state)})" for w in others)
    return f"{said}{put}{doubted(shown, units, brief=True)}Also open: {open_too}{held}"


def turned_of(warning: WarningView) -> float:
    """−1 where less mud on surface is the worse: a loss, a fall, and a hole that took more than it should."""
    return -1.0 if warning.kind == "loss" or warning.system in (TOOK_MORE, FALLING) else 1.0


def word(warning: WarningView) -> str:
    """``GAIN``, or of a trip ``TRIP: TOOK LESS``."""
    if warning.kind in NOTICES:
        return NOTICES[warning.kind]
    if warning.kind in TRIP_KINDS:
        return f"TRIP: {warning.system.upper()}"
    if warning.kind == "drift":
        return warning.system.upper()
    return kind_words(warning.kind).replace("_", "-").upper()


def _stands(warning: WarningView) -> bool:
    """False where a warning that isn't over has a value on the good side of its limit now, and had been beyond it."""
    if warning.value is None or warning.worst is None or warning.kind == "overdue":
        return True
    turned = turned_of(warning) * warning.value
    return turned <= warning.limit if warning.kind == "low" else turned >= warning.limit


def doubted(warning: WarningView, units: DisplayUnits, *, brief: bool = False) -> str:
    """``? Suction not moving, may read low by 33 % (then 7.5 bbl). ``: what is doubted of the gauges that it rests on;
    "" for nothing. brief: the first of a tank's gauge, and how many more of those there are."""
    said = []
    for d in (d for d in warning.doubts if d.tank or not brief):
        low = ""
        if d.would_be_m3 is not None and d.share:
            low = f", {'' if brief else 'may read '}low by {100 * d.share:.0f} % " \
                f"(then {units.volume(abs(d.would_be_m3))})"
        said.append(f"{DOUBT} {d.tank} {d.brief}{low}".replace("  ", " "))
    said = list(dict.fromkeys(said))
    if brief and len(said) > 1:
        said = [f"{said[0]} +{len(said) - 1}"]
    return f"{'; '.join(said)}. " if said else ""


def named(warning: WarningView) -> str:
    return f"{word(warning)} {where(warning)}".strip() + ("" if warning.in_log else ", not in the log")


def where(warning: WarningView) -> str:
    """What it is on: a tank, a system, or which sum of a trip."""
    if warning.tank:
        return warning.tank
    if warning.kind in TRIP_KINDS:
        return "last stands" if warning.kind == TRIP_KINDS[0] else "in all"
    if warning.kind == "drift":
        return "active system"
    return {"active": "active system", "all surface": "all surface tanks"}.get(warning.system, warning.system)


def capital(text: str) -> str:
    """With a capital, as a sentence begins. text: some words."""
    return text[:1].upper() + text[1:]
