"""Which limits are in force now, which wait, which are set aside: for their table and for who approves them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isclose

from dipbook.limits import Limit
from dipbook.situation import AsideView, Situation, WarningView
from dipbook.watch import not_watched
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.form import sentence
from dipbook_app.forms.limit_texts import value_words
from dipbook_app.sentences import warning_value

WAITS = "waits"
OTHER_WORDS = {"deadband": "over when back by", "growth": "sounds again after", "after": "warns after",
               "noise": "times the noise"}
"""Of a WarningView's ``waits`` -> as the form names it."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How the limits that are set stand now; each is in exactly one of them.

    in_force: those that warn as they are set. waits: (limit, its warning): the warning stands on a stricter one, which
    acts until it is closed. out, shelved: those set aside, with how. other: for another activity than now. unread: with
    why nothing watches them. withdrawn: warnings that stand on a limit which was withdrawn since, and acts on.
    """

    in_force: tuple[Limit, ...]
    waits: tuple[tuple[Limit, WarningView], ...]
    out: tuple[tuple[Limit, AsideView], ...]
    shelved: tuple[tuple[Limit, AsideView], ...]
    other: tuple[Limit, ...]
    unread: tuple[tuple[Limit, str], ...]
    withdrawn: tuple[WarningView, ...]


def standing(s: Situation) -> Standing:
    """How the limits stand. s: now."""
    aside = {x.name: x for x in s.aside}
    unread = {x.name: why for x, why in not_watched(s.rig.limits, tuple(t.name for t in s.rig.tanks))}
    waiting = {x.name: w for x, w in waiting_on(s)}
    out: list[tuple[Limit, AsideView]] = []
    shelved: list[tuple[Limit, AsideView]] = []
    waits: list[tuple[Limit, WarningView]] = []
    dead: list[tuple[Limit, str]] = []
    other: list[Limit] = []
    in_force: list[Limit] = []
    for x in s.rig.limits:
        if x.name in unread:
            dead.append((x, unread[x.name]))
        elif (how := aside.get(x.name)) is not None:
            (out if how.until_ms is None else shelved).append((x, how))
        elif x.name in waiting:
            waits.append((x, waiting[x.name]))
        elif x.name in s.limits_in_force:
            in_force.append(x)
        else:
            other.append(x)
    names = {x.name for x in s.rig.limits}
    gone = {w.name: w for w in s.warnings if w.name not in names and w.name}
    return Standing(tuple(in_force), tuple(waits), tuple(out), tuple(shelved), tuple(other), tuple(dead),
                    tuple(gone.values()))


def waiting_on(s: Situation) -> tuple[tuple[Limit, WarningView], ...]:
    """(limit as it is set, the open warning that stands on a stricter one), in the order of the limits. s: now."""
    return tuple((limit, warning) for limit in s.rig.limits for warning in s.warnings
                 if warning.name == limit.name and (warning.kind, warning.value_is) == (limit.kind, limit.value_is)
                 and (warning.waits or not isclose(warning.limit, limit.value)))


def waiting_words(s: Situation) -> dict[str, str]:
    """Name of a limit -> what of it waits, where a warning stands on a stricter one that it was before."""
    units, found = DisplayUnits(s.rig), {}
    for limit, warning in waiting_on(s):
        others = [OTHER_WORDS[part] for part in warning.waits if part in OTHER_WORDS]
        if isclose(warning.limit, limit.value):
            found[limit.name] = (f"{limit.name}: what is set for {' and '.join(others)} waits until the warning is "
                                 "closed; it stands on what was stricter.")
        else:
            found[limit.name] = (f"{limit.name}: {value_words(limit, s.rig)} waits until the warning is closed; it "
                                 f"stands on {warning_value(warning, units, warning.limit)}.")
    return found


def marks(s: Situation) -> dict[str, str]:
    """Name of a limit -> the word that its row of the table has. s: now."""
    units = DisplayUnits(s.rig)
    found = dict.fromkeys(waiting_words(s), WAITS)
    for x in s.aside:
        found[x.name] = x.state if x.until_ms is None else f"{x.state} until {units.time_near(x.until_ms, s.now_ms)}"
    return found


def in_force_line(now: Standing) -> str:
    """Those that are in force, by name. now: how the limits stand."""
    return f"In force: {_names(now.in_force)}." if now.in_force else "No limit is in force as it is set."


def other_lines(now: Standing, s: Situation) -> tuple[str, ...]:
    """Those that aren't, each with why, and what acts in the place of one that waits. now: how they stand; s: now."""
    units, lines = DisplayUnits(s.rig), []
    for limit, w in now.waits:
        if isclose(w.limit, limit.value):
            lines.append(sentence(waiting_words(s)[limit.name]))
        else:
            lines.append(f"Waits: {limit.name}, {value_words(limit, s.rig)}. Until its warning is closed the stricter "
                         f"{warning_value(w, units, w.limit)} acts.")
    lines += [f"Out of service: {limit.name}, since {units.time_near(x.since_ms, s.now_ms)}, {x.by}: "
              f"{x.why.rstrip('.')}. Instead: {x.instead.rstrip('.')}." for limit, x in now.out]
    lines += [f"Shelved: {limit.name}, until {units.time_near(x.until_ms or s.now_ms, s.now_ms)}, {x.by}: "
              f"{x.why.rstrip('.')}." for limit, x in now.shelved]
    if now.other:
        said = ", ".join(f"{x.name} ({x.activity})" for x in now.other)
        lines.append(f"Not now, for another activity: {said}.")
    lines += [f"Not watched: {limit.name}: {sentence(why)}" for limit, why in now.unread]
    lines += [f"Withdrawn, no part of the set: {w.name}. It acts until its warning is closed." for w in now.withdrawn]
    return tuple(lines)


def not_in_force_words(now: Standing) -> str:
    """Those that wait or are set aside, by name, in one sentence; "" for none. now: how the limits stand."""
    parts = (([x for x, _ in now.waits], "waits"), ([x for x, _ in now.out], "out of service"),
             ([x for x, _ in now.shelved], "shelved"), ([x for x, _ in now.unread], "not watched"))
    said = [f"{x.name} ({word})" for limits, word in parts for x in limits]
    return f"Not in force: {', '.join(said)}." if said else ""


def _names(limits: Sequence[Limit]) -> str:
    return ", ".join(x.name for x in limits)


