"""A round as it stands while it is typed: every row read, its doubts and errors, its times, in words. No widgets."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dipbook.entries.dipping import Before, Row, fastest, ordinal, read_row, swapped
from dipbook.records import Dip
from dipbook.situation import RunningEntry, Situation
from dipbook.tanks.gauging import UNREAD
from dipbook_app.display import DisplayUnits
from dipbook_app.round_correction import Correction, timed
from dipbook_app.round_times import Exact, RoundTimes, read_times
from dipbook_app.widgets.dip_row import RowWords

AGAIN = "Enter again keeps it."
SWAP_KEY = "Ctrl+G"


@dataclass(frozen=True, slots=True)
class RowText:
    """What is typed on one row, columns that are switched off left out."""

    tank: str
    stick: str = ""
    second: str = ""
    time: str = ""
    flag: str = ""


class RoundSheet:
    """One reading of the whole page.

    situation: for the rig and the dips before. texts: of the rows, in gauging order. start, end: as typed; exact:
    the start as it was filled in. last_ms: when the last dip was typed, or None. now_ms: the desk's clock [UTC ms].
    correction: of a saved round, whose dips are then what a row is compared with. units: of bare numbers and doubts.
    earlier: of a round caught up from paper, what was known of each tank before it; None for a round of now.
    Attributes: rows: tank -> Row; times: of the round.
    """

    def __init__(self, situation: Situation, texts: Sequence[RowText], *, start: str, end: str, exact: Exact,
                 last_ms: int | None, now_ms: int, correction: Correction | None = None,
                 units: DisplayUnits | None = None, earlier: Mapping[str, Before] | None = None) -> None:
        self._rig = situation.rig
        self._texts = {text.tank: text for text in texts}
        self._correction = correction
        self._units = None if units is None else units.dip_units
        self._same_times = correction is not None and (start, end) == (correction.start.text, correction.end.text)
        given = correction.befores if correction is not None else earlier
        self._before = {text.tank: before(situation, text.tank) if given is None else given.get(text.tank, Before())
                        for text in texts}
        self.rows = {text.tank: self._read(text, last_ms or now_ms, 0) for text in texts}
        self._swapped = swapped([(self._rig.tank(tank), row, self._before[tank]) for tank, row in self.rows.items()])
        self.times: RoundTimes = read_times(
            start, end, {text.tank: text.time for text in texts}, self.gauged, zone=self._rig.zone, now_ms=now_ms,
            exact=exact, last_ms=last_ms, exact_end=None if correction is None else correction.end,
            past=earlier is not None)

    @property
    def gauged(self) -> tuple[str, ...]:
        """The tanks with a dip, in gauging order."""
        return tuple(tank for tank, row in self.rows.items() if row.dip is not None)

    @property
    def blank(self) -> tuple[str, ...]:
        """The tanks for which nothing is typed."""
        return tuple(tank for tank, row in self.rows.items() if row.blank)

    @property
    def missing(self) -> tuple[str, ...]:
        """The tanks without a dip, typed so or blank."""
        return tuple(tank for tank, row in self.rows.items() if row.dip is None)

    def error(self, tank: str) -> str:
        """Why a row can't be saved, or ""."""
        return self.rows[tank].error or self.times.errors.get(tank, "")

    def doubts(self, tank: str) -> tuple[str, ...]:
        """What asks to be kept on a row."""
        other = self._swapped.get(tank)
        return (*((f"Swapped with {other}? {SWAP_KEY} swaps them.",) if other else ()), *self.rows[tank].doubts)

    def swapped_with(self, tank: str = "") -> tuple[str, str] | None:
        """The pair of rows that ``tank``, or any, may have been swapped in; None if there is none."""
        for one, other in self._swapped.items():
            if tank in ("", one):
                return one, other
        return None

    def key(self, tank: str) -> str:
        """What a row's doubts were about: another text or another doubt asks anew."""
        text = self._texts[tank]
        return "|".join([text.stick, text.second, *self.doubts(tank)])

    def words(self, tank: str, units: DisplayUnits, *, kept: bool) -> RowWords:
        """What a row shows. kept: a person has seen its doubts and kept it."""
        row = self.rows[tank]
        if self.error(tank):
            return RowWords(words=self.error(tank), tone="error")
        if row.blank:
            return RowWords()
        if row.gauged is None:
            return RowWords(words="Not gauged: held at the last level.")
        if row.gauged.kind in UNREAD:
            return self._unread_words(tank, units, kept=kept)
        if not row.gauged.known:
            return self._doubted("not in the table", "", tank, kept=kept)
        volume = f"{units.volume(row.gauged.volume_m3)} {units.plus_minus(row.gauged.u_m3)}"
        if self._correction is not None:
            was = self._correction.volumes.get(tank)
            change = "" if was is None else units.signed_volume(row.gauged.volume_m3 - was)
        else:
            change = "" if math.isnan(row.change_m3) else \
                f"{units.signed_volume(row.change_m3)} {units.plus_minus(row.change_u_m3)}"
        if self.doubts(tank):
            return self._doubted(volume, change, tank, kept=kept)
        said = "" if row.gauged.kind != "unchanged" else "same as before" if row.times_same < 2 else \
            f"same, {ordinal(row.times_same)} time"
        if not math.isnan(row.off_m3):
            said = f"{units.signed_volume(row.off_m3)} against what it should read"
        far = self.times.far.get(tank, "")
        return RowWords(volume, change, ". ".join(words for words in (said, f"At {far}" if far else "") if words))

    def _unread_words(self, tank: str, units: DisplayUnits, *, kept: bool) -> RowWords:
        """A dip whose level couldn't be read: at least the brim, or unknown."""
        row = self.rows[tank]
        over = row.gauged is not None and row.gauged.known
        volume = f"≥ {units.volume(row.gauged.volume_m3)}" if over and row.gauged is not None else "unknown"
        said = "Over the brim: it holds at least this." if over else \
            "Below the stick: what it holds is unknown until it can be read."
        return self._doubted(volume, "", tank, kept=kept) if self.doubts(tank) else RowWords(volume, "", said)

    def _doubted(self, volume: str, change: str, tank: str, *, kept: bool) -> RowWords:
        """A row with a question, or with one that was answered. volume, change: in words."""
        asked = " ".join(self.doubts(tank))
        return RowWords(volume, change, f"Kept: {asked}") if kept and asked else \
            RowWords(volume, change, f"{asked} {AGAIN}", "doubt")

    def progress(self) -> str:
        """``7 of 9 gauged, 2 not gauged``."""
        unread = sum(1 for tank in self.rows if self.error(tank))
        left = sum(1 for tank, row in self.rows.items() if row.dip is None and not row.blank and not self.error(tank))
        parts = [f"{len(self.gauged)} of {len(self.rows)} gauged"]
        parts += [f"{left} not gauged"] if left else []
        parts += [f"{unread} {'error' if unread == 1 else 'errors'}"] if unread else []
        return ", ".join(parts)

    def first_wrong(self) -> tuple[str, str] | None:
        """The first thing that stands in the way of saving: "from", "to" or a tank, and why."""
        for name in ("from", "to"):
            if name in self.times.errors:
                return name, self.times.errors[name]
        return next(((tank, f"{tank}: {self.error(tank)}") for tank in self.rows if self.error(tank)), None)

    def dips(self) -> tuple[Dip, ...]:
        """The dips with their times, in gauging order; of a correction those that weren't touched as they were."""
        found: list[Dip] = []
        for tank in self.gauged:
            old = None if self._correction is None else self._correction.dips.get(tank)
            same = None if self._correction is None else self._correction.kept(tank, self._content(tank))
            t_ms, half_ms = self.times.dips[tank]
            if old is not None and self._same_times and not self._texts[tank].time:
                t_ms, half_ms = old.t_ms, old.t_half_ms
            dip = timed(same, t_ms, half_ms) if same is not None else \
                self._read(self._texts[tank], t_ms, half_ms).dip
            found += [] if dip is None else [dip]
        if self._correction is not None:  # of tanks that have no row any more
            found += [dip for dip in self._correction.record.dips if dip.tank not in self._texts]
        return tuple(found)

    def _content(self, tank: str) -> dict[str, str]:
        text = self._texts[tank]
        given = {"stick": text.stick, "second": text.second, "time": text.time, "flag": text.flag}
        return {name: typed for name, typed in given.items() if typed}

    def _read(self, text: RowText, t_ms: int, half_ms: int) -> Row:
        return read_row(self._rig.tank(text.tank), self._rig, self._before[text.tank], text.stick, t_ms=t_ms,
                        t_half_ms=half_ms, second=text.second, flag=text.flag, units=self._units)


def before(situation: Situation, tank: str) -> Before:
    """What the log knows of a tank before this round."""
    for view in situation.tanks:
        if view.name == tank:
            rates = [entry.rate_m3_s for entry in (*situation.running, *situation.rates) if _may_reach(entry, tank)]
            return Before(view.level_m, view.volume_m3, view.u_m3, view.t_ms, view.booked_m3, view.same_count,
                          view.should_hold_m3, fastest(situation.rig, tank, [situation.flow_m3_s], rates))
    return Before()


def _may_reach(entry: RunningEntry, tank: str) -> bool:
    """False for what runs between other tanks; True for this tank, and for what names no tank or only one side."""
    places = [str(entry.fields[side]) for side in ("from", "to") if entry.fields.get(side)]
    return tank in places or len(places) < 2 or "active" in places


def gauge_words(situation: Situation, tank: str, units: DisplayUnits) -> tuple[str, str]:
    """How a tank is gauged, and what the stick reads at its heel and its brim."""
    one = situation.rig.tank(tank)
    how = "stick, from the mark" if one.gauge == "down" else \
        "stick, gauge point" if one.offset_m else "stick, from bottom"
    heel, brim = (units.level(float(one.dip_of_level(level))) for level in (one.heel_m, one.top_m))
    top = "brim" if one.brim_m is not None else "top"
    said = f"Stick at the {'heel' if one.heel_m else 'bottom'} {heel}, at the {top} {brim}"
    return how, said


def should_words(situation: Situation, tank: str, units: DisplayUnits) -> str:
    """What this tank's stick should read now by all that is booked since its last dip; "" where that isn't known."""
    should = next((view.should_read_m for view in situation.tanks if view.name == tank), None)
    return "" if should is None else units.level(should)


def last_words(situation: Situation, tank: str, units: DisplayUnits,
               earlier: Mapping[str, Before] | None = None) -> tuple[str, str]:
    """The last level as this tank's stick reads it, and when that was. earlier: of a round caught up from paper."""
    was = before(situation, tank) if earlier is None else earlier.get(tank, Before())
    if was.t_ms is None:
        return ("not gauged yet" if earlier is None else "none before"), ""
    flag = next((view.flag for view in situation.tanks if view.name == tank and view.t_ms == was.t_ms), "")
    if flag in UNREAD:
        return flag, units.time_near(was.t_ms, situation.now_ms)
    when = units.time_near(was.t_ms, situation.now_ms)
    if was.level_m is None:
        return units.volume(was.volume_m3), when
    return units.level(float(situation.rig.tank(tank).dip_of_level(was.level_m))), when


@dataclass(frozen=True, slots=True)
class Saved:
    """A round just saved: start_ms, end_ms [UTC ms]; missing: the tanks that weren't gauged. depth: one was logged with
    it. short: it was a short round. past: it was caught up from paper.
    """

    start_ms: int
    end_ms: int
    missing: tuple[str, ...]
    depth: bool = False
    short: bool = False
    past: bool = False


def saved_words(situation: Situation, saved: Saved, units: DisplayUnits) -> tuple[str, bool]:
    """What a saved round made, and whether the books hold it yet; of an older round only that it was saved."""
    when = units.time_near(saved.end_ms, situation.now_ms)
    words = [f"{'Short round' if saved.short else 'Round'} saved {when}{', with the depth' if saved.depth else ''}."]
    reading_ms = situation.reading_ms
    whole = reading_ms is not None and reading_ms >= saved.start_ms
    if whole and reading_ms is not None and reading_ms <= saved.end_ms and situation.actual_m3 is not None:
        words.append(f"Active {units.volume(situation.actual_m3)}.")
        if situation.difference_m3 is not None:
            words.append(f"Difference {units.volume_number(situation.difference_m3, sign=True)} "
                         f"{units.plus_minus(situation.u_m3)} {units.volume_word}.")
    if saved.missing:
        words.append(f"Partial: {listed(saved.missing)} not gauged.")
    if saved.short:
        words.append("The other tanks stay at their last dips.")
    if saved.past:
        words.append("The next one: its times first.")
    return " ".join(words), whole


def listed(names: Sequence[str]) -> str:
    """``Trip, Reserve 1 and Pill``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
