"""What a page is given: one frozen picture of the log at one moment. A page shows it and computes nothing of mud.

All quantities SI; ``None`` means unknown and is shown as unknown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from dipbook.findings import Finding
from dipbook.limit_record import NO_RECORD, LimitsRecord
from dipbook.limits import Limit
from dipbook.parts import Figure
from dipbook.records import Record
from dipbook.rig.model import Rig


@dataclass(frozen=True, slots=True)
class TermLine:
    """One line of what the expected volume is made of.

    name: key of dipbook.balance.TERMS; label: words; value_m3: change since the zero, + raises the expected.
    note: e.g. "since 02:10" or what isn't known.
    """

    name: str
    label: str
    value_m3: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class GaugeView:
    """What is doubted of a gauge, or may explain a change: called out, nothing is suppressed by it.

    kind: of dipbook.gauges.KINDS or HINTS. tank: whose, "" for the difference or all. since_ms, until_ms: [UTC ms],
    None while it stands. brief: some words for a tank's picture; text: the whole, in sentences. share: the tank's area
    over the active tanks', None where that isn't known. would_be_m3: what the warning's value would be in truth by that
    share, for one that it reads low by [m3, the books' sign].
    """

    kind: str
    tank: str
    since_ms: int
    until_ms: int | None
    brief: str
    text: str
    share: float | None = None
    would_be_m3: float | None = None


@dataclass(frozen=True, slots=True)
class TankView:
    """One tank now.

    active: lined up now. level_m above the bottom, volume_m3: last dip, None if never gauged. u_m3: k=1.
    t_ms: when gauged; age_ms; stale: older than its fresh_for. held: not in the last round, carried at its last level.
    flag: "", or the words for a suspect dip. low_m3, high_m3: limits in force as level [m] and word, for drawing.
    previous_level_m: the mark of the dip before. booked_m3: moves logged on it since its last dip [m3].
    room_m3: to the brim. usable_m3: above the heel. same_count: how often it was gauged "no change" in a row, the last
    dips (0: the last dip was read). should_read_m: what the stick should read now [m, in the tank's own datum] by the
    last dip and all that is booked since, None where that isn't known; should_hold_m3: the volume of that.
    doubts: of its gauge, now or lately.
    """

    name: str
    role: str
    active: bool
    level_m: float | None
    volume_m3: float | None
    u_m3: float | None
    t_ms: int | None
    age_ms: int | None
    stale: bool
    held: bool
    flag: str
    previous_level_m: float | None
    previous_t_ms: int | None
    booked_m3: float
    room_m3: float | None
    limit_levels: tuple[tuple[str, float], ...] = ()
    usable_m3: float | None = None
    same_count: int = 0
    should_read_m: float | None = None
    should_hold_m3: float | None = None
    doubts: tuple[GaugeView, ...] = ()


@dataclass(frozen=True, slots=True)
class WarningView:
    """One warning that is open (any state but closed).

    state: raised, acknowledged, over, over_acknowledged. sounding: wants sound now.
    raised_ms: when it occurred; learned_ms: when the log learned it. value, worst, limit: SI in value_is,
    value and worst with the books' sign. partial: the value is only known in part.
    actions: what a person may do now, from the lifecycle's table: "acknowledge", "close", "shelve", "out of service".
    first: it came first of a burst, in which others were raised before anybody had acknowledged it. said, facts: what
    the reading was held against, as of dipbook.alarms.Sample: of a limit on drift the volume, and the limit's part.
    doubts: of the gauges that it rests on, and what may explain it; value, state and sound are what they are without.
    waits: what of the limit is set otherwise by now and acts only once this warning is closed: "value", "deadband",
    "growth", "after", "noise". in_log: False of one that rests on a round which couldn't be stored.
    """

    occurrence: str
    name: str
    kind: str
    system: str
    tank: str
    state: str
    sounding: bool
    raised_ms: int
    learned_ms: int
    value: float | None
    worst: float | None
    limit: float
    value_is: str
    text: str
    actions: tuple[str, ...]
    partial: bool = False
    doubts: tuple[GaugeView, ...] = ()
    first: bool = False
    said: str = ""
    facts: Mapping[str, float] = field(default_factory=dict)
    waits: tuple[str, ...] = ()
    in_log: bool = True


@dataclass(frozen=True, slots=True)
class AsideView:
    """One limit that is shelved or out of service, and followed all the same.

    name, kind, system, tank: as of a WarningView. state: "shelved" or "out of service". since_ms; until_ms: when a
    shelf ends by itself, None for out of service [UTC ms]. once: it also ends with the condition. by, why: who set it
    aside, in their words. instead: what is watched in its place. active: the condition is true now. waits: it was true,
    and nobody has acknowledged it. text: how the condition stands, "" where there is nothing to say. actions: what a
    person may do.
    """

    name: str
    kind: str
    system: str
    tank: str
    state: str
    since_ms: int
    until_ms: int | None
    once: bool
    by: str
    why: str
    instead: str
    active: bool
    waits: bool
    text: str
    actions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HintView:
    """A guess, labelled a guess: offered for the operator to log, never applied. fields prefill the entry's form."""

    text: str
    kind: str
    fields: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Trend:
    """Columns for the plot, one row a reading. t_ms int64; volumes [m3] float64, NaN where unknown.

    tanks: name -> volume at its dips (t_ms, volume). marks: (t_ms, kind, label) entries and warnings, for the axis.
    """

    t_ms: Any
    actual: Any
    expected: Any
    difference: Any
    u: Any
    partial: Any
    tanks: Mapping[str, tuple[Any, Any]] = field(default_factory=dict)
    marks: tuple[tuple[int, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class RunningEntry:
    """A transfer or discard under way. volume_m3: moved so far if a rate is known, else None."""

    uid: str
    kind: str
    label: str
    since_ms: int
    rate_m3_s: float | None
    volume_m3: float | None
    fields: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BoardLine:
    """One line of the line-up board.

    group: "flow line", "tank", "valve", "equipment", "shakers" or "rate". name: what it is. state: in words ("open",
    "in", "to the active system", "on"). since_ms: the entry that put it so, None for as the rig file says. normal: as
    the rig file has it at the start. note: what follows from it ("holds 6 bbl", "16 bbl so far").
    kind, fields: the entry that changes it, prefilled for its form.
    """

    group: str
    name: str
    state: str
    since_ms: int | None
    normal: bool
    note: str
    kind: str
    fields: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class NoticeView:
    """Mud that is about to be moved: announced, or answered. uid: of the entry. fields: its payload."""

    uid: str
    text: str
    t_ms: int
    told: str
    answer: str
    state: str
    fields: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TargetView:
    """What one stick should read after the next stand is made up and drilled down. tank. dip_m: in its own datum [m];
    volume_m3 [m3]; change_m3: against its last dip [m3]; why: what it rests on, in words."""

    tank: str
    dip_m: float
    volume_m3: float
    change_m3: float
    why: str


@dataclass(frozen=True, slots=True)
class StockView:
    """How much room and how much mud there is. None where it isn't known.

    room_m3: to the brims of the active tanks. tightest: the active tank with least room and how much, or None.
    usable_active_m3, usable_reserve_m3: above the heels, of the active tanks and of those with a reserve's role.
    hole_m3: mud in the hole. loss_rate_m3_s: mean loss over loss_span_ms (positive), rates in force included, 0 where
    nothing is lost. hours_left: usable active mud over that rate from now on [h], None without a loss and where it
    isn't known. shows_well: what the well gave or took since the dips is in room and usable mud.
    unknown: tanks whose volume isn't known.
    """

    room_m3: float | None
    tightest: tuple[str, float] | None
    usable_active_m3: float | None
    usable_reserve_m3: float | None
    hole_m3: float | None
    loss_rate_m3_s: float | None
    loss_span_ms: int | None
    hours_left: float | None
    unknown: tuple[str, ...] = ()
    shows_well: bool = False


@dataclass(frozen=True, slots=True)
class ShutInView:
    """The well is shut in. t_ms: since. gain_m3: as logged; books_m3, u_m3: the difference by the books at the last
    reading before it, read_ms, None unknown. by: who logged it."""

    t_ms: int
    gain_m3: float | None
    books_m3: float | None
    u_m3: float | None
    by: str
    read_ms: int | None = None


@dataclass(frozen=True, slots=True)
class FlowCheckView:
    """The last flow check. t_ms, end_ms; place; result; trend; seen_by; readings_m3: minute by minute,
    None for a minute that wasn't read."""

    t_ms: int
    end_ms: int | None
    place: str
    result: str
    trend: str
    seen_by: str
    readings_m3: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class ConnectionView:
    """One stop of the pumps that may be a connection. Volumes [m3], None unknown.

    off_ms, on_ms: [UTC ms], on_ms None while they are off. flow_m3_s: before it [m3/s]. hole_m: depth of the hole [m].
    section: of the hole, "" where none is described. why_no_curve: in words, "" where there is a curve. s: seconds
    since off; back_m3: what had come back by then. back_at: (minute, what had come back) at the fixed minutes it
    reached. lines_m3: what the lines hold at that flow. band_s, band_least_m3, band_most_m3: the band it is held
    against, () for none; band_words: which one, or why there is none; band_ms: when it was adopted [UTC ms]. excess:
    (minute, above the band, u, k = 1) at the fixed minutes. above_m3, above_s: the most that it lay above what is
    explained, as the limit watches it, and when [s since off], None where nothing can be compared; banded: that was by
    a band. across_m3, across_u_m3: the difference pumps on to pumps on at equal rate, k = 1; across_words: why it isn't
    known. between_m3: what the difference did while pumping since the connection before, never netted with it.
    before_m3: (minute, how much more had come back than at the one before of about this flow). stopped_s: when the flow
    had died away [s since off], None not yet, or nobody said what counts as stopped. accepted: True, False (said not to
    be learned from) or None (nobody said); accepted_by; said_ms; remark.
    """

    off_ms: int
    on_ms: int | None
    flow_m3_s: float | None
    hole_m: float | None
    section: str
    why_no_curve: str
    s: Any = ()
    back_m3: Any = ()
    back_at: tuple[tuple[float, float], ...] = ()
    lines_m3: float | None = None
    band_s: Any = ()
    band_least_m3: Any = ()
    band_most_m3: Any = ()
    band_words: str = ""
    band_ms: int | None = None
    excess: tuple[tuple[float, float, float], ...] = ()
    above_m3: float | None = None
    above_s: float | None = None
    banded: bool = False
    across_m3: float | None = None
    across_u_m3: float | None = None
    across_words: str = ""
    between_m3: float | None = None
    before_m3: tuple[float, float] | None = None
    stopped_s: float | None = None
    accepted: bool | None = None
    accepted_by: str = ""
    said_ms: int | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class BandView:
    """The flow-back band that a connection now would be held against. t_ms: in force from [UTC ms]; by; flow_m3_s
    [m3/s]; section; count: how many connections it is learned from; first_ms, last_ms: of those. enough: as many as a
    band needs.
    """

    t_ms: int
    by: str
    flow_m3_s: float
    section: str
    count: int
    first_ms: int | None
    last_ms: int | None
    enough: bool


@dataclass(frozen=True, slots=True)
class FrontView:
    """Where mud is that went down. what: "slug", "pill", …, "bottoms-up". since_ms: when it began [UTC ms]. where:
    "string", "annulus" or "unknown". depth_m: of its leading edge [m]. to_bit_m3, to_surface_m3: still to be pumped
    [m3]; strokes_to_bit, strokes_to_surface: the same in strokes; ms_to_surface: at the flow now [ms]. None unknown.
    """

    what: str
    since_ms: int
    where: str
    depth_m: float | None
    to_bit_m3: float | None
    to_surface_m3: float | None
    strokes_to_bit: float | None
    strokes_to_surface: float | None
    ms_to_surface: int | None


@dataclass(frozen=True, slots=True)
class DriftSide:
    """One side of the drift: the pace that is nearest to its own limit. told_m3: all that the difference rose above its
    low, or fell below its high; counts_m3: what of it counts, held against ``share`` times the limit [-]."""

    told_m3: float
    counts_m3: float
    share: float


@dataclass(frozen=True, slots=True)
class DriftView:
    """The drift of the active system at the last reading, ``t_ms`` [UTC ms]. Volumes [m3], None unknown.

    rising, falling: above the low, below the high, None where not known. limit_m3: the strictest in force, None without
    one. scale_m3: noise, None while it is learned, or for dips.
    learned_s: of how much circulation [s]. pace_s: readings are taken to be so far apart [s]. why: why the sums hold,
    "" where they don't; moved_ms: when they last moved, None never. held: name of a limit on drift -> what it is by the
    noise now [m3], and about how many false warnings that costs, in words.
    """

    t_ms: int
    rising: DriftSide | None
    falling: DriftSide | None
    scale_m3: float | None
    learned_s: float
    pace_s: float
    why: str
    moved_ms: int | None
    limit_m3: float | None = None
    held: Mapping[str, tuple[float, str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TripRowView:
    """One row of a trip in the log. Volumes [m3], fill positive into the hole, None unknown or not told.

    uid: of its record, "" for one that is only being typed. what: of trips.KINDS. stand; bit_m: bit depth after it [m].
    levels: (tank, its dip as typed). strokes: pumped into the hole. expected_m3, least_m3, most_m3, actual_m3: what the
    hole should take, with its bounds, and took. difference_m3, last_n_m3, cumulative_m3 with u_m3, cumulative_u_m3
    (k = 1): as in the books, + more mud on surface. state: how the pipe was moved. pace_ms: since the row before.
    by: who logged it. corrects: it corrects an earlier row.
    """

    uid: str
    t_ms: int
    what: str
    stand: int | None = None
    bit_m: float | None = None
    levels: tuple[tuple[str, str], ...] = ()
    strokes: float | None = None
    expected_m3: float | None = None
    least_m3: float | None = None
    most_m3: float | None = None
    actual_m3: float | None = None
    difference_m3: float | None = None
    u_m3: float | None = None
    last_n_m3: float | None = None
    cumulative_m3: float | None = None
    cumulative_u_m3: float | None = None
    state: str = ""
    pace_ms: int | None = None
    remark: str = ""
    by: str = ""
    corrects: bool = False


@dataclass(frozen=True, slots=True)
class TripPrompt:
    """A flow check that a trip asks for. place: in words ("off bottom", "at the shoe", "before the BHA"). bit_m: where
    [m]. state: "ahead", "due" (the bit is there, or past it) or "done". result: of the check that was logged."""

    place: str
    bit_m: float
    state: str
    result: str = ""


@dataclass(frozen=True, slots=True)
class TripHold:
    """A limit that the trip stands at, or stood at: a hold point. t_ms: of the row. text: in words, with what to do.
    decided: action, who decided and when, in words; "" while nobody has said."""

    t_ms: int
    text: str
    decided: str = ""


@dataclass(frozen=True, slots=True)
class TripView:
    """The trip under way, or the last one.

    uid: of its beginning. begun_ms, ended_ms: [UTC ms], None while under way. direction: "out" or "in". title: words
    for the page's head ("Trip 3, out of the hole, dry"). head: (label, what was said) in the order of the sheet's head;
    "not said" where nobody did. tanks: trip tanks of the rig, the one in use first. rows: oldest first. last_n: rows
    summed in ``last_n_m3``. total_m3, total_u_m3: of the trip, None before the first row that could be told.
    next_stand, next_bit_m: what the next stand is taken to be. next_due_m3: what the hole should take for it, between
    next_least_m3 and next_most_m3. next_dip: (tank, what its stick should read then [m, its own datum]), None where
    that isn't known. prompts: flow checks.
    holds: oldest first. posted: lines to be posted, in words; posted_figures: of each;
    posted_findings: what couldn't be told.
    previous: the previous trip of this direction, in words, "" for none; previous_bit_m, previous_m3: its bit depths
    [m] and sums [m3]. limit_last_m3, limit_total_m3: the strictest set, None where nobody set one. out_of_hole_ms:
    since when no pipe is in the hole, None while there is. findings: on the sheet. shoe_m: the last casing's shoe [m],
    None not described. next_what: the row that is due: a reading before the first stand ("fill"), or a stand.
    unfilled: stands pulled since the hole was last seen filled, in words, "" for none; fill_due: as many as are posted.
    """

    uid: str
    begun_ms: int
    ended_ms: int | None
    direction: str
    title: str
    head: tuple[tuple[str, str], ...]
    tanks: tuple[str, ...]
    rows: tuple[TripRowView, ...]
    last_n: int
    total_m3: float | None
    total_u_m3: float | None
    next_stand: int | None
    next_bit_m: float | None
    next_due_m3: float | None
    next_dip: tuple[str, float] | None
    prompts: tuple[TripPrompt, ...] = ()
    holds: tuple[TripHold, ...] = ()
    posted: tuple[str, ...] = ()
    posted_findings: tuple[str, ...] = ()
    posted_figures: tuple[Figure, ...] = ()
    previous: str = ""
    previous_bit_m: tuple[float, ...] = ()
    previous_m3: tuple[float, ...] = ()
    limit_last_m3: float | None = None
    limit_total_m3: float | None = None
    out_of_hole_ms: int | None = None
    findings: tuple[Finding, ...] = ()
    shoe_m: float | None = None
    next_what: str = "stand"
    unfilled: str = ""
    fill_due: bool = False
    next_least_m3: float | None = None
    next_most_m3: float | None = None


@dataclass(frozen=True, slots=True)
class Situation:
    """Everything the pages show, at ``now_ms``.

    reading_ms: time of the last reading the balance rests on. difference etc. are at that reading.
    u_m3 is k=1; the screen shows 2u. watched: name of the watched system, or "not watched".
    watched_note: why it isn't watched.
    interval_ms: how far apart complete rounds may be: the longest gap lately, or until the next is due.
    trend_words: "rising 2.1 bbl in 30 min" as (change_m3, span_ms) or None.
    limit_gain, limit_loss: the strictest gain and loss limits in force for the active system, or None.
    next_due_ms: when the next round is due, None without an overdue limit. unwatched: words for what nothing watches.
    rates: rates in force with their age. records: all records, oldest first, for the Log page.
    board: the line-up board. notices: mud about to be moved, pending. targets: sticks after the next stand. stock: room
    and mud. shut_in: while the well is shut in. flow_check: the last one. signs: entries that may be signs of the
    well's, newest first. trip: the one under way, or the last. connections: stops of the pumps, oldest first; band: in
    force at the flow of now or of before the pumps stopped, None for none; limit_flow_back: the strictest in force.
    drift: of the active system, None where no limit asks for it.
    aside: limits that are shelved or out of service. fronts: where pills, slugs and bottoms-up are.
    watched_difference_m3, watched_u_m3: of the watched system where that is one tank and not the active system, at the
    last reading; None else.
    limits_record: what limits stood when, the set that was approved, and what differs from it.
    doubts: of the gauges and of what the difference did, now or lately. pit_drills: how many the log has.
    store_ok: False when writing failed; store_text: its health in words; failing: names of what can't be written.
    all_samples: the records have all their samples; of a log with very many they don't.
    clock_ahead_ms: how far the desk's clock goes ahead of the computer's by its own count, since the log holds later
    times [ms]; 0 where it follows it.
    """

    now_ms: int
    rig: Rig
    rig_seq: int
    reading_ms: int | None
    zero_ms: int | None
    zero_by: str
    written_off_m3: float
    actual_m3: float | None
    expected_m3: float | None
    difference_m3: float | None
    u_m3: float | None
    all_surface_difference_m3: float | None
    all_surface_u_m3: float | None
    watched: str
    watched_note: str
    partial: bool
    held: tuple[tuple[str, int], ...]
    not_gauged_m3: float
    terms: tuple[TermLine, ...]
    tanks: tuple[TankView, ...]
    warnings: tuple[WarningView, ...]
    hints: tuple[HintView, ...]
    trend: Trend
    trend_words: tuple[float, int] | None
    limit_gain: Limit | None
    limit_loss: Limit | None
    limits_in_force: tuple[str, ...]
    interval_ms: int | None
    next_due_ms: int | None
    unwatched: tuple[str, ...]
    activity: str
    activity_since_ms: int | None
    pumps_on: bool | None
    flow_m3_s: float | None
    hole_depth_m: float | None
    bit_depth_m: float | None
    depth_t_ms: int | None
    running: tuple[RunningEntry, ...]
    rates: tuple[RunningEntry, ...]
    findings: tuple[Finding, ...]
    records: tuple[Record, ...]
    superseded: Mapping[str, str]
    watch_on: bool
    on_watch: str
    store_ok: bool = True
    store_text: str = ""
    failing: tuple[str, ...] = ()
    all_samples: bool = True
    clock_ahead_ms: int = 0
    board: tuple[BoardLine, ...] = ()
    notices: tuple[NoticeView, ...] = ()
    targets: tuple[TargetView, ...] = ()
    stock: StockView | None = None
    shut_in: ShutInView | None = None
    flow_check: FlowCheckView | None = None
    signs: tuple[Record, ...] = ()
    trip: TripView | None = None
    fronts: tuple[FrontView, ...] = ()
    watched_difference_m3: float | None = None
    watched_u_m3: float | None = None
    connections: tuple[ConnectionView, ...] = ()
    band: BandView | None = None
    limit_flow_back: Limit | None = None
    limits_record: LimitsRecord = NO_RECORD
    doubts: tuple[GaugeView, ...] = ()
    pit_drills: int = 0
    aside: tuple[AsideView, ...] = ()
    drift: DriftView | None = None
