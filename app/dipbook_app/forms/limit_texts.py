"""A limit as it is typed, to a limit and back. Whether it can stand in the rig file is the core's to say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from dipbook.errors import QuantityError
from dipbook.findings import Finding
from dipbook.limits import KINDS, NOT_SHELVABLE, SUSPECT, TRIP_KINDS, Limit, kind_of, kind_words, noise_words
from dipbook.quantities import read, write, write_level
from dipbook.rig.limit_section import LEAST_TIMES, MOST_TIMES
from dipbook.rig.model import Rig

SYSTEMS = ("active", "all surface", "watched")
ANY = "any"
ONE_GAUGE = "1 gauge"
"""What stands as the value of a limit on gauges in doubt, which has none."""
LEVEL_KINDS = ("high", "low")
ON_A_TRIP = {"on": SYSTEMS[0], "activity": ANY}
"""What stands for both in the file of a limit on trips, which counts on every row of a trip's sheet."""
OF_A_TRIP = (ANY, "tripping")
"""Activities that say no more than that."""
ON_ACTIVE = {"flow_back": "What comes back at a connection", "drift": "Drift"}
"""Kinds that are on nothing else."""
SHEET, EVERY_ROW = "trip sheet", "every row"
"""What the crew reads in their place."""


@dataclass(frozen=True, slots=True)
class _Amount:
    """A value as read: SI, what it is, and with the unit that a bare number took."""

    value: float
    value_is: str
    as_typed: str


def read_limit(texts: Mapping[str, str], rig: Rig, *, since: str) -> tuple[Limit | None, tuple[Finding, ...]]:
    """The limit that a form says, or what is wrong with it, field by field.

    texts: field name -> text: name, kind (in words or the file's), on, activity, value, deadband, growth, after, by,
    why. rig: units and tanks. since: when it is set, as written into the rig file. Nothing that is left out is made up;
    only a limit on trips needs neither on nor activity, which have no part in it.
    """
    kind = kind_of(texts.get("kind", ""))
    if kind in TRIP_KINDS:
        texts = {**ON_A_TRIP, **texts}
    found: list[Finding] = []
    wanted = {"name": "The limit needs a name.", "kind": "What kind of limit?", "on": "What is it on?",
              "activity": f"During which activity? “{ANY}” covers all of them.", "value": "No limit without a value.",
              "by": "Who sets it? A name is needed.", "why": "Why? A limit needs a reason."}
    if kind == SUSPECT:
        wanted.pop("value")
    found += [_error(name, words) for name, words in wanted.items() if not texts.get(name)]
    on = texts.get("on", "")
    if kind in LEVEL_KINDS and on in SYSTEMS:
        found.append(_error("on", f"A {kind} limit is on one tank. Choose the tank."))
    if kind in TRIP_KINDS:
        if on != ON_A_TRIP["on"]:
            found.append(_error("on", f"It is on the {SHEET}, whatever is lined up. Choose {ON_A_TRIP['on']}."))
        if texts["activity"] not in OF_A_TRIP:
            found.append(_error("activity", f"It counts on every row of the {SHEET}, whatever the rig is doing. Choose "
                                            f"{' or '.join(OF_A_TRIP)}."))
    elif kind in KINDS and kind not in (*LEVEL_KINDS, SUSPECT) and on and on not in SYSTEMS:
        found.append(_error("on", f"A limit of kind {kind_words(kind)} is on {', '.join(SYSTEMS[:-1])} or "
                                  f"{SYSTEMS[-1]}."))
    if kind in ON_ACTIVE and on in SYSTEMS and on != "active":
        found.append(_error("on", f"{ON_ACTIVE[kind]} is told of the active system. Choose active."))
    value = _Amount(1.0, "count", "") if kind == SUSPECT else _amount("value", texts, kind, rig, found)
    deadband = None
    growth = _Amount(1.0, "count", "") if kind == SUSPECT else None
    if kind not in ("overdue", SUSPECT):
        if not texts.get("deadband"):
            found.append(_error("deadband", "How far back inside before it is over? Type 0 for none."))
        deadband = _amount("deadband", texts, kind, rig, found, zero=True)
        growth = _amount("growth", texts, kind, rig, found)
        for name, amount in (("deadband", deadband), ("growth", growth)):
            if value is not None and amount is not None and amount.value_is != value.value_is:
                found.append(_error(name, f"The value is a {value.value_is}; type this as a {value.value_is} too."))
            elif name == "deadband" and kind != "low" and value and amount and amount.value >= value.value:
                found.append(_error(name, f"It has to be less than the value, {value.as_typed}, or a warning could "
                                          "never be over."))
    times = _times(texts.get("noise", ""), kind, rig, found)
    after = _after(texts.get("after", ""), rig, found)
    shelve = _shelve(texts.get("shelve", ""), kind, rig, found)
    if found or value is None or after is None:
        return None, tuple(found)
    return Limit(name=texts["name"], kind=kind, on=on, activity=texts["activity"], value=value.value,
                 value_is=value.value_is, deadband=deadband.value if deadband else 0.0,
                 growth=growth.value if growth else None, after_readings=after[0], after_ms=after[1],
                 set_by=texts["by"], reason=texts["why"], since=since, as_typed=value.as_typed,
                 shelve_ms=shelve, times_noise=times), ()


def texts_of_limit(limit: Limit, rig: Rig) -> dict[str, str]:
    """Field name -> text of a limit in force, for its form and its row in the table."""
    texts = {"name": limit.name, "kind": kind_words(limit.kind), "on": limit.on, "activity": limit.activity,
             "value": limit.as_typed or _written(limit.value, limit.value_is, rig), "after": _after_words(limit)}
    if limit.times_noise is not None:
        texts["noise"] = f"{limit.times_noise:g}".replace(".", rig.decimal)
    if limit.shelve_ms is not None:
        texts["shelve"] = f"{limit.shelve_ms / 60_000:g} min".replace(".", rig.decimal)
    if limit.kind == SUSPECT:
        texts["value"] = ONE_GAUGE
    elif limit.kind != "overdue" and limit.watched:
        texts["deadband"] = _written(limit.deadband, limit.value_is, rig)
        if limit.growth is not None:
            texts["growth"] = _written(limit.growth, limit.value_is, rig)
    return texts


def value_words(limit: Limit, rig: Rig) -> str:
    """The value of a limit for the crew. limit: in force. rig: its units."""
    if limit.kind == SUSPECT:
        return ONE_GAUGE
    value = limit.as_typed or _written(limit.value, limit.value_is, rig)
    return value if limit.times_noise is None else noise_words(limit.times_noise, value, rig.decimal)


OF_TEXT = {"value": ("value", "value_is", "as_typed"), "deadband": ("deadband",), "growth": ("growth",),
           "after": ("after_readings", "after_ms"), "shelve": ("shelve_ms",), "noise": ("times_noise",)}
"""Field of the form -> what of the limit it says."""


def carried(limit: Limit, read: Limit, texts: Mapping[str, str], rig: Rig) -> Limit:
    """A limit as read from a form, with what nobody typed over kept as it was: the texts of a form are rounded.

    limit: that the form began with. read: from its texts. texts: of the form. rig: as in ``read_limit``.
    """
    if (limit.kind, limit.value_is) != (read.kind, read.value_is):
        return read
    before = texts_of_limit(limit, rig)
    same = [name for name in OF_TEXT if before.get(name, "") == texts.get(name, "")]
    return replace(read, **{each: getattr(limit, each) for name in same for each in OF_TEXT[name]})


def on_words(limit: Limit) -> str:
    """What a limit is on, for the crew. limit: in force."""
    return SHEET if limit.kind in TRIP_KINDS else limit.on


def _amount(name: str, texts: Mapping[str, str], kind: str, rig: Rig, found: list[Finding], *,
            zero: bool = False) -> _Amount | None:
    text = texts.get(name, "")
    if not text:
        return None
    ways: list[tuple[str, str, str | None]]
    if kind == "overdue":
        ways = [("duration", "duration", None)]
    elif kind in LEVEL_KINDS:
        ways = [("length", "level", None), ("volume", "volume", None)]
    else:
        ways = [("volume", "volume", rig.units.get("volume"))]
    problem = ""
    for dimension, value_is, bare in ways:
        try:
            quantity = read(text, dimension, decimal=rig.decimal, bare=bare)
        except QuantityError as error:
            problem = problem or str(error)
            continue
        if quantity.value < 0 or (quantity.value == 0 and not zero):
            found.append(_error(name, "It has to be more than zero."))
            return None
        typed = text if any(c.isalpha() or c in "'\"′″" for c in text) else f"{text} {quantity.unit}"
        return _Amount(quantity.value, value_is, typed)
    if kind in LEVEL_KINDS:
        problem = f"“{text}” isn't a level above the bottom or a volume. Type it with its unit, like 8 ft."
    found.append(_error(name, problem))
    return None


def _times(text: str, kind: str, rig: Rig, found: list[Finding]) -> float | None:
    """How many times the noise a limit on drift is. Blank: its value is the limit."""
    if not text or kind != "drift":
        return None
    try:
        times = float(text.replace(rig.decimal, "."))
    except ValueError:
        times = 0.0
    if LEAST_TIMES <= times <= MOST_TIMES:
        return times
    found.append(_error("noise", f"“{text}” isn't a number from {LEAST_TIMES:g} to {MOST_TIMES:g}. Blank: the value is "
                                 "the limit."))
    return None


def _shelve(text: str, kind: str, rig: Rig, found: list[Finding]) -> int | None:
    """The longest that it may be shelved [ms]. Blank: it can't be."""
    if not text:
        return None
    if kind in NOT_SHELVABLE:
        found.append(_error("shelve", f"A limit of kind {kind_words(kind)} can't be shelved. Leave it blank."))
        return None
    try:
        seconds = read(text, "duration", decimal=rig.decimal, bare=None).value
    except QuantityError as error:
        found.append(_error("shelve", str(error)))
        return None
    return round(seconds * 1000)


def _after(text: str, rig: Rig, found: list[Finding]) -> tuple[int, int] | None:
    """Readings, and ms, beyond the limit before it warns. Blank: the first reading warns."""
    words = text.split()
    if not words:
        return 1, 0
    if words[0].isascii() and words[0].isdigit() and words[1:] in ([], ["reading"], ["readings"]):
        count = int(words[0][:6])
        if count >= 1:
            return count, 0
    else:
        try:
            seconds = read(text, "duration", decimal=rig.decimal, bare=None).value
        except QuantityError:
            seconds = 0.0
        if seconds > 0:
            return 0, max(1, round(seconds * 1000))
    found.append(_error("after", f"“{text}” isn't a delay. Type readings or a time, like 1 reading or 15 s."))
    return None


def _after_words(limit: Limit) -> str:
    if limit.after_readings:
        return "1 reading" if limit.after_readings == 1 else f"{limit.after_readings} readings"
    return f"{limit.after_ms / 1000:g} s"


def _written(value: float, value_is: str, rig: Rig) -> str:
    if value_is == "duration":
        return write(value, "min" if value >= 60 else "s", decimal=rig.decimal)
    if value_is == "level":
        return write_level(value, rig.units.get("level", "m"), rig.decimal)
    return write(value, rig.units.get("volume", "m3"), decimal=rig.decimal)


def _error(column: str, words: str) -> Finding:
    return Finding(words, code="field", severity="error", column=column, kept=False)
