"""What is said of limits that are shelved or out of service, wherever warnings stand."""

from __future__ import annotations

from collections.abc import Sequence

from dipbook.limits import kind_words
from dipbook.situation import AsideView
from dipbook_app.display import DisplayUnits
from dipbook_app.typed_times import span_words


def count_words(aside: Sequence[AsideView]) -> str:
    """``1 out of service, 2 shelved``; "" where nothing is set aside."""
    out = sum(x.until_ms is None for x in aside)
    parts = [f"{out} out of service" if out else "", f"{len(aside) - out} shelved" if len(aside) > out else ""]
    return ", ".join(part for part in parts if part)


def one(view: AsideView, units: DisplayUnits, now_ms: int) -> str:
    """One limit: what it is, till when or since when, by whom, why, what is watched instead, and how it stands."""
    on = view.tank or view.system
    return f"{view.name} ({kind_words(view.kind)}, {on}): {how(view, units, now_ms)}"


def how(view: AsideView, units: DisplayUnits, now_ms: int) -> str:
    """The same without its name. view: the limit. units: the crew's. now_ms [UTC ms]."""
    if view.until_ms is None:
        said = (f"out of service since {units.time_near(view.since_ms, now_ms)}, {view.by}: {view.why}. "
                f"Instead: {view.instead}.")
    else:
        once = ", or until it has come and gone" if view.once else ""
        said = (f"shelved by {view.by} until {units.time_near(view.until_ms, now_ms)}{once}, "
                f"{span_words(view.until_ms - now_ms)} left: {view.why}.")
    return f"{said} {stands(view)}".strip()


def stands(view: AsideView) -> str:
    """How the condition stands, which is followed meanwhile; "" where it isn't true and waits for nobody."""
    if view.active:
        return f"NOW: {view.text}."
    return f"It was beyond its limit, and nobody has acknowledged that: {view.text}." if view.waits else ""


def headline(aside: Sequence[AsideView]) -> str:
    """What the strip says while no warning is open. aside: at least one, those whose condition is true first."""
    beyond = [x for x in aside if x.active]
    if beyond:
        more = f", and {len(beyond) - 1} more" if len(beyond) > 1 else ""
        return f"{beyond[0].text}: no sound, {beyond[0].state}{more}"
    return f"Set aside: {count_words(aside)}"


def list_words(aside: Sequence[AsideView], units: DisplayUnits, now_ms: int) -> str:
    """All of them, one a line, for the Limits page."""
    return "\n".join(one(view, units, now_ms) for view in aside)
