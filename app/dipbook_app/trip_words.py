"""The Trip page's words: what the hole took against what it should, never surer than the numbers."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.situation import Situation, TripHold, TripPrompt, TripRowView, TripView
from dipbook_app.display import DisplayUnits, shown_sticks, shown_words
from dipbook_app.stock_words import Section

STAND, FILL, REFILL, PIPE_FILLED, FLOW_CHECK = "stand", "fill", "refill", "pipe filled", "flow check"
LABELS = {STAND: "Stand", FILL: "Fill", REFILL: "Refill", PIPE_FILLED: "Pipe filled", FLOW_CHECK: "Flow check"}
MEANT = {STAND: "Enter saves it.",
         FILL: "A reading with no pipe moved, also out of the hole.",
         REFILL: "The trip tank was filled up: its level after it, with no pipe moved.",
         PIPE_FILLED: "The run pipe was filled: the level after it.",
         FLOW_CHECK: "The level after the flow check, with no pipe moved."}
"""What a row of each kind is."""
FIRST, FIRST_MEANT = "First level", "The level before the first stand, with the bit where the trip begins."
IN = "in"
UNKNOWN = "unknown"
NO_LIMIT = "No limit on trips is set: nothing is watched."
NO_HOLD = "No hold point."
DECIDES = "Alt+D logs what is decided"
AS_IT_SHOULD = "as it should"
NOT_YET = "–"
"""Nothing is typed yet that it could be worked out from."""
PROMPTS_SHOWN = 3
SIGNS = {"done": "✓", "due": "!", "ahead": "○"}
"""The mark of a flow check, beside its word."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The page's answer. figure: with sign and unit; beside: what it is of, and how sure; words: what it means."""

    figure: str
    beside: str
    words: str


def meaning(difference_m3: float | None, direction: str, units: DisplayUnits, u_m3: float | None = None, *,
            fine: bool = False) -> str:
    """What the sign means, for the hole: ``took less than it should``. Within ± 2u the sign means nothing.

    difference_m3: should take less took [m3]; direction: of the trip; u_m3: of the difference, k = 1 [m3], None where
    it isn't known; fine: judged, and its ± written, as for one stand.
    """
    if difference_m3 is None:
        return UNKNOWN
    if u_m3 is not None and abs(difference_m3) <= 2 * u_m3:
        return f"{_did(direction)} {AS_IT_SHOULD}, within {units.stand_plus_minus(u_m3) if fine else '±'}"
    write = units.stand_number if fine else units.volume_number
    if write(difference_m3) == write(0.0):
        return f"{_did(direction)} {AS_IT_SHOULD}"
    more_on_surface = difference_m3 > 0
    if direction == IN:
        return f"gave back {'more' if more_on_surface else 'less'} than it should"
    return f"took {'less' if more_on_surface else 'more'} than it should"


def _did(direction: str) -> str:
    return "gave back" if direction == IN else "took"


def answer(trip: TripView, units: DisplayUnits) -> Answer:
    """The trip in all."""
    if trip.total_m3 is None:
        return Answer("No sum yet", "", "it takes a level before and after a stand" if not trip.rows else
                      "no row could be told yet")
    return Answer(units.signed_volume(trip.total_m3), f"in all, {units.plus_minus(trip.total_u_m3)} (2u):",
                  f"the hole {meaning(trip.total_m3, trip.direction, units, trip.total_u_m3)}")


def last_rows(trip: TripView, units: DisplayUnits) -> str:
    """The sum over the last rows."""
    told = [row.last_n_m3 for row in trip.rows if row.last_n_m3 is not None]
    return "" if not told else f"Last {trip.last_n} rows: {units.stand_signed(told[-1])}."


def near_limits(trip: TripView, units: DisplayUnits) -> str:
    """How near the limits on trips, or that nobody set one."""
    if trip.limit_last_m3 is None and trip.limit_total_m3 is None:
        return NO_LIMIT
    return " ".join(near_each(trip, units))


def near_each(trip: TripView, units: DisplayUnits) -> tuple[str, str]:
    """How near each limit on trips: in all, and over the last rows; that nobody set any is said once."""
    if trip.limit_last_m3 is None and trip.limit_total_m3 is None:
        return NO_LIMIT, ""
    last = next((row.last_n_m3 for row in reversed(trip.rows) if row.last_n_m3 is not None), None)
    return (_near(trip.total_m3, trip.limit_total_m3, "in all", units),
            _near(last, trip.limit_last_m3, f"over {trip.last_n} rows", units))


def in_its_place(trip: TripView) -> bool:
    """True while a hold point, or what stands unfilled, is told where else the limits are."""
    return bool(open_holds(trip) or unfilled(trip))


def near_short(trip: TripView, units: DisplayUnits) -> str:
    """The same in few words, of the limits that are set: ``5.51 of 6.0 bbl in all, 1.03 of 1.5 bbl over 5 rows``."""
    last = next((row.last_n_m3 for row in reversed(trip.rows) if row.last_n_m3 is not None), None)
    if trip.limit_last_m3 is None and trip.limit_total_m3 is None:
        return "No limit on trips is set"
    return ", ".join(f"{UNKNOWN if value is None else units.stand_number(abs(value))} of {units.volume(limit)} {of}"
                     f"{'' if value is None or abs(value) < limit else ' (passed)'}"
                     for value, limit, of in ((trip.total_m3, trip.limit_total_m3, "in all"),
                                              (last, trip.limit_last_m3, f"over {trip.last_n} rows"))
                     if limit is not None)


def _near(value_m3: float | None, limit_m3: float | None, of: str, units: DisplayUnits) -> str:
    if limit_m3 is None:
        return f"No limit {of}."
    if value_m3 is None:
        return f"Limit {of} {units.volume(limit_m3)}."
    left = limit_m3 - abs(value_m3)
    if left > 0:
        return f"{units.stand_volume(left)} to the limit {of} of {units.volume(limit_m3)}."
    return f"{units.stand_volume(-left)} past the limit {of} of {units.volume(limit_m3)}." if left < 0 else \
        f"At the limit {of} of {units.volume(limit_m3)}."


def clock(trip: TripView, now_ms: int, units: DisplayUnits) -> tuple[str, bool]:
    """Since when; True if it is to be seen: out of the hole, ended, or how near the limits
    where a hold point or what stands unfilled is told in their place."""
    if in_its_place(trip):
        near = near_short(trip, units)
        out_ms = trip.out_of_hole_ms
        since = f"Ended {units.time_near(trip.ended_ms, now_ms)}" if trip.ended_ms is not None else \
            "" if out_ms is None else f"Out of the hole {units.span(max(0, now_ms - out_ms))}"
        return ". ".join(words for words in (since, near) if words), True
    if trip.ended_ms is not None:
        return f"Ended {units.time_near(trip.ended_ms, now_ms)}", True
    if trip.out_of_hole_ms is not None:
        out = trip.out_of_hole_ms
        return f"Out of the hole {units.span(max(0, now_ms - out))}, since {units.time_near(out, now_ms)}", True
    begun = f"Begun {units.time_near(trip.begun_ms, now_ms)}"
    if not trip.rows:
        return f"{begun}, no row yet", False
    count = "1 row" if len(trip.rows) == 1 else f"{len(trip.rows)} rows"
    return f"{begun}, {count}, the last {units.span(max(0, now_ms - trip.rows[-1].t_ms))} ago", False


def unfilled(trip: TripView) -> str:
    """What stands unfilled, "" where nothing does or the trip is over."""
    words = "" if trip.ended_ms is not None else trip.unfilled
    return words and ("! Fill the hole: " if trip.fill_due else "") + words + "."


def prompts(trip: TripView) -> tuple[TripPrompt, ...]:
    """The flow checks that fit the page, in the order of the trip: where there are more, those done longest ago go."""
    waiting = [p for p in trip.prompts if p.state != "done"]
    done = [p for p in trip.prompts if p.state == "done"]
    kept = done[max(0, len(done) - max(0, PROMPTS_SHOWN - len(waiting))):] if len(waiting) < PROMPTS_SHOWN else []
    chosen = (*kept, *waiting[:PROMPTS_SHOWN])
    return tuple(p for p in trip.prompts if p in chosen)


def prompt(one: TripPrompt, units: DisplayUnits, *, ended: bool = False) -> str:
    """``! Due now: at the shoe, 4500 ft``. ended: the trip is over, and nothing is due any more."""
    if one.state == "done":
        return f"{SIGNS['done']} Done {one.place}{f': {shown_words(one.result)}' if one.result else ''}"
    if ended:
        return f"{NOT_YET} Not logged {one.place}"
    word = "Due now" if one.state == "due" else "Ahead"
    return f"{SIGNS[one.state]} {word}: {one.place}, {depth(one.bit_m, units)}"


def hold(trip: TripView, now_ms: int, units: DisplayUnits) -> tuple[str, bool]:
    """The hold point in words, and whether it is open. Open ones come first, the newest of them."""
    waiting = open_holds(trip)
    if waiting:
        one = waiting[-1]
        more = f" (and {len(waiting) - 1} more)" if len(waiting) > 1 else ""
        return f"! HOLD POINT {units.time_near(one.t_ms, now_ms)}{more}, {DECIDES}: {shown_words(one.text)}", True
    if trip.holds:
        one = trip.holds[-1]
        return f"Hold point {units.time_near(one.t_ms, now_ms)}, decided: {shown_words(one.decided)}", False
    return NO_HOLD, False


def open_holds(trip: TripView) -> tuple[TripHold, ...]:
    """Those that nobody has decided, oldest first."""
    return tuple(one for one in trip.holds if not one.decided)


# --- the sheet --------------------------------------------------------------------------------------------------------

def headings(trip: TripView, units: DisplayUnits, *, low: bool = False) -> tuple[str, ...]:
    """The sheet's headings, in two lines; low: in one."""
    if low:
        take, took = ("Give back", "Gave") if trip.direction == IN else ("Take", "Took")
        return ("Time", "Stand", "Bit", "Level", take, took, "Difference", f"Last {trip.last_n}", "In all", "Pace",
                "How", "Remark")
    should, did = ("Should\ngive back", "Gave\nback") if trip.direction == IN else ("Should\ntake", "Took")
    return ("Time", "Stand", f"Bit,\n{units.length_word}", "Level", should, did, "Differ-\nence",
            f"Last\n{trip.last_n}", f"In all,\n{units.volume_word} ± 2u", "Pace", "How", "Remark")


def cells(row: TripRowView, trip: TripView, units: DisplayUnits) -> tuple[str, ...]:
    """One line of the sheet, under ``headings``. Unknown is written as such, never as nothing; – where nothing is
    worked out: at the first level, and where no level was read."""
    none = UNKNOWN if row.state else NOT_YET
    in_all = none
    if row.cumulative_m3 is not None:
        in_all = f"{units.stand_number(row.cumulative_m3, sign=True)} {units.stand_plus_minus(row.cumulative_u_m3)}"
    remark = "; ".join(words for words in ("corrected" if row.corrects else "", row.remark) if words)
    difference, last = (none if value is None else units.stand_number(value, sign=True)
                        for value in (row.difference_m3, row.last_n_m3))
    return (units.time(row.t_ms), "" if row.stand is None else str(row.stand),
            units.depth_text(row.bit_m) or none, levels(row) or NOT_YET,
            none if row.expected_m3 is None else fill(row.expected_m3, trip.direction, units),
            none if row.actual_m3 is None else fill(row.actual_m3, trip.direction, units, done=True), difference, last,
            in_all, "" if row.pace_ms is None else units.span(row.pace_ms), how(row, trip), remark)


def is_first(row: TripRowView, trip: TripView) -> bool:
    """True for the level before the first stand."""
    return bool(trip.rows) and row.uid == trip.rows[0].uid and row.what == FILL and row.difference_m3 is None


def levels(row: TripRowView) -> str:
    """The levels as typed; with the tanks' names where there are several."""
    if len(row.levels) == 1:
        return shown_sticks(row.levels[0][1])
    return ", ".join(f"{tank} {shown_sticks(text)}" for tank, text in row.levels)


def fill(value_m3: float | None, direction: str, units: DisplayUnits, *, done: bool = False) -> str:
    """A volume under the heading of the trip's direction; one that goes the other way says so.

    value_m3: into the hole [m3]; done: it took it, and not it should.
    """
    if value_m3 is None:
        return UNKNOWN
    number = units.stand_number(abs(value_m3))
    other_way = value_m3 > 0 if direction == IN else value_m3 < 0
    if not other_way or number == units.stand_number(0.0):
        return number
    word = ("took" if done else "take") if direction == IN else ("gave" if done else "give back")
    return f"{word} {number}"


def how(row: TripRowView, trip: TripView) -> str:
    """How the pipe was moved, or what the row is where none was."""
    return (row.state or NOT_YET) if row.what == STAND else name_of(row, trip)


def depth(value_m: float | None, units: DisplayUnits) -> str:
    """A bit depth [m] with its unit, without decimals that say nothing."""
    text = units.depth_text(value_m)
    return f"{text} {units.length_word}" if text else UNKNOWN


def read_out(row: TripRowView, trip: TripView, now_ms: int, units: DisplayUnits) -> Section:
    """A row whole, also what the sheet has no room for."""
    difference, in_all = units.stand_signed(row.difference_m3), units.stand_signed(row.cumulative_m3)
    if row.difference_m3 is not None:
        difference += f" {units.stand_plus_minus(row.u_m3)}"
    if row.cumulative_m3 is not None:
        in_all += f" {units.stand_plus_minus(row.cumulative_u_m3)}"
    rows = [("Bit depth", depth(row.bit_m, units)),
            *((f"Level, {tank}", shown_sticks(text)) for tank, text in row.levels),
            ("The hole should", bounds(row, units)), ("It did", done(row.actual_m3, units)),
            ("Difference", difference), (f"Last {trip.last_n} rows", units.stand_signed(row.last_n_m3)),
            ("In all", in_all), ("How", how(row, trip)), ("Pace", units.span(row.pace_ms))]
    if not row.state:  # nothing is worked out for it
        rows = [(name, text) for name, text in rows if text not in (UNKNOWN, NOT_YET)]
    rows += [] if row.strokes is None else [("Strokes", f"{row.strokes:g}")]
    rows += [(name, text) for name, text in (("Remark", row.remark), ("By", row.by)) if text]
    means = meaning(row.difference_m3, trip.direction, units, row.u_m3, fine=True)
    notes = (*(() if row.difference_m3 is None else (f"The hole {means}.",)),
             *(("It corrects an earlier row.",) if row.corrects else ()))
    return Section(f"{name_of(row, trip)}, {units.time_near(row.t_ms, now_ms)}", tuple(rows), notes)


def name_of(row: TripRowView, trip: TripView) -> str:
    """``Stand 12``, ``Refill``."""
    number = "" if row.stand is None else f" {row.stand}"
    return FIRST if is_first(row, trip) else f"{LABELS.get(row.what, row.what)}{number}"


# --- the row being typed ----------------------------------------------------------------------------------------------

def due(value_m3: float | None, units: DisplayUnits, *, unit: bool = True) -> str:
    """What the hole should do: ``take 0.71 bbl``, ``give back 2.36 bbl``. value_m3: into the hole [m3]. unit: with it.
    """
    return _way(value_m3, "take", "give back", units, unit=unit)


def done(value_m3: float | None, units: DisplayUnits) -> str:
    """What it did: ``took 0.75 bbl``."""
    return _way(value_m3, "took", "gave back", units)


def bounds(row: TripRowView, units: DisplayUnits, *, unit: bool = True) -> str:
    """What the hole should do for a row, with its bounds where a float lets in an unknown part. unit: with it."""
    return _between(row.expected_m3, row.least_m3, row.most_m3, units, unit=unit)


def ahead(trip: TripView, units: DisplayUnits, *, unit: bool = True) -> str:
    """What the hole should do for the next stand, with its bounds as of ``bounds``. unit: with it."""
    return _between(trip.next_due_m3, trip.next_least_m3, trip.next_most_m3, units, unit=unit)


def _between(mean_m3: float | None, least_m3: float | None, most_m3: float | None, units: DisplayUnits, *, unit: bool
             ) -> str:
    if least_m3 is None or most_m3 is None:
        return due(mean_m3, units, unit=unit)
    low, high = (due(value, units, unit=unit) for value in (least_m3, most_m3))
    if low == high:
        return due(mean_m3, units, unit=unit)
    if least_m3 * most_m3 < 0.0:
        return f"{low} to {high}"
    less, more = sorted((abs(least_m3), abs(most_m3)))
    write = units.stand_volume if unit else units.stand_number
    return f"{'give back' if least_m3 < 0.0 else 'take'} {units.stand_number(less)} to {write(more)}"


def live(row: TripRowView | None, trip: TripView, what: str, units: DisplayUnits, *, untouched: bool
         ) -> tuple[tuple[str, str], ...]:
    """(name, value) of the row being typed. row: as worked out, None while no level is typed; what: it is.

    untouched: stand and depth are those that come next, so that what is due for them holds.
    """
    next_one = what == STAND and untouched
    if row is not None:
        should = bounds(row, units, unit=False)
    else:
        should = ahead(trip, units, unit=False) if next_one else NOT_YET
    took, difference, last, in_all = (NOT_YET,) * 4
    if row is not None:
        took = _way(row.actual_m3, "took", "gave back", units, unit=False)
        last = units.stand_number(row.last_n_m3, sign=True)
        difference, in_all = (units.stand_number(value, sign=True) for value in (row.difference_m3, row.cumulative_m3))
        difference += "" if row.difference_m3 is None else f" {units.stand_plus_minus(row.u_m3)}"
        in_all += "" if row.cumulative_m3 is None else f" {units.stand_plus_minus(row.cumulative_u_m3)}"
    return (("Hole should", should), ("Stick should", f"read {stick(trip, units)}" if next_one else NOT_YET),
            ("Hole", took), (f"Difference, {units.volume_word}", difference), (f"Last {trip.last_n}", last),
            ("In all", in_all))


def saved(row: TripRowView, trip: TripView, units: DisplayUnits) -> str:
    """What was just saved."""
    name = name_of(row, trip)
    if row.difference_m3 is None:
        return f"{name} saved {units.time(row.t_ms)}."
    means = meaning(row.difference_m3, trip.direction, units, row.u_m3, fine=True)
    return (f"{name} saved {units.time(row.t_ms)}: {done(row.actual_m3, units)}, "
            f"{units.stand_signed(row.difference_m3)}, {means}.")


def _way(value_m3: float | None, into: str, back: str, units: DisplayUnits, *, unit: bool = True) -> str:
    if value_m3 is None:
        return UNKNOWN
    write = units.stand_volume if unit else units.stand_number
    amount = write(abs(value_m3))
    return f"{back if value_m3 < 0 and amount != write(0.0) else into} {amount}"


def stick(trip: TripView, units: DisplayUnits) -> str:
    """What the stick should read after the next stand."""
    if trip.next_dip is None:
        return UNKNOWN
    tank, dip_m = trip.next_dip
    return units.level(dip_m) if len(trip.tanks) < 2 else f"{tank} {units.level(dip_m)}"


# --- beside the sheet -------------------------------------------------------------------------------------------------

def sections(trip: TripView) -> tuple[Section, ...]:
    """What stands below the plot."""
    remarks, seen = [], set[str]()
    for finding in trip.findings:
        if finding.what not in seen:
            seen.add(finding.what)
            count = sum(other.what == finding.what for other in trip.findings)
            remarks.append(shown_words(finding.what) + (f" ({count} rows)" if count > 1 else ""))
    found: list[Section] = [Section("On the sheet", (), tuple(remarks))] if remarks else []
    posted = tuple(shown_words(line) for line in (*trip.posted, *trip.posted_findings))
    figures = dict(zip((shown_words(line) for line in trip.posted), trip.posted_figures, strict=False))
    found.append(Section("Posted: filling the hole", (), posted or ("Nothing is posted.",), figures))
    head = tuple((label, shown_words(value)) for label, value in trip.head)
    previous = trip.previous or "none in this log"
    found.append(Section("The trip", (*head, ("Previous trip", previous))))
    return tuple(found)


def teaches(s: Situation) -> tuple[str, ...]:
    """What the page is for, while there is no trip."""
    said = ["A trip sheet holds every stand against the trip tank: what the hole should take for the steel that left "
            "it, what it took, and the difference in all. A hole that takes too little, or gives back too much, may "
            "be letting something in.",
            "Begin a trip with the bit where it is now. Then log the trip tank's level, and after every stand the "
            "level again: type it, Enter. Stand and bit depth are counted for you."]
    if not any(tank.role == "trip" for tank in s.rig.tanks):
        said.append("The rig file has no tank with the role trip: levels can't be typed, only strokes.")
    return tuple(said)
