"""What a connection's figures at a minute rest on: the readings on both sides, what is booked, the accepted ones."""

from __future__ import annotations

from datetime import datetime
from math import isfinite
from zoneinfo import ZoneInfo

import numpy as np

from dipbook import balance, flowback
from dipbook.composing.labels import LABELS
from dipbook.composing.parts_words import Asked, known
from dipbook.flowback import Connection
from dipbook.parts import NONE, READING, SIGNED, VOLUME, WORDS, WORKED_OUT, Figure, Part, Parts, U
from dipbook.terms.system import system

SMALL_M3 = 1e-9
BACK, EXCESS, BAND = "back", "excess", "band"


def connection(asked: Asked, figure: Figure) -> Parts | None:
    """A connection's figure. asked: the books and the moment. figure: of when its pumps stopped [UTC ms]; what: back,
    excess or band; at: minutes since then."""
    now = next((c for c in flowback.find(asked.books) if str(c.off_ms) == figure.of), None)
    if now is None or not isfinite(now.at(figure.at * 60.0)):
        return None
    make = {BACK: _back, EXCESS: _excess, BAND: _band}.get(figure.what)
    return None if make is None else make(asked, figure, now)


def _back(asked: Asked, figure: Figure, now: Connection) -> Parts:
    """Straight between the readings on both sides: their actual less what is booked, since the first of the curve."""
    books = asked.books
    seconds, t0 = figure.at * 60.0, _begins(asked, now)
    k = min(int(np.searchsorted(now.s, seconds, side="right")), len(now.s) - 1)
    a, b = max(k - 1, 0), k
    width = float(now.s[b] - now.s[a])
    share = 0.0 if width <= 0.0 else (seconds - float(now.s[a])) / width
    times = [_time(asked, now, a), _time(asked, now, b)]
    made, _ = balance.curves(books, system(books))
    row = balance.at(books, [t0, *times])

    def between(x: np.ndarray) -> float:
        return float(x[1] + share * (x[2] - x[1]))

    at_ms = now.off_ms + round(seconds * 1000.0)
    uids = [_reading(asked, t) for t in (t0, *times)]
    parts = [Part("Actual then", between(row.actual_m3), SIGNED, at_ms, uids[1], READING,
                  note=f"straight between the readings at {_clock(asked, times[0])} and {_clock(asked, times[1])}"),
             Part("Less actual when it began", -float(row.actual_m3[0]), SIGNED, t0, uids[0], READING,
                  follow=Figure("actual", t_ms=t0))]
    for name, curve in made.items():
        values = np.asarray(curve.at(np.array([t0, *times])), dtype=float)
        booked = between(values) - float(values[0])
        if name != "lines" and abs(booked) > SMALL_M3:
            parts.append(Part(f"Less booked meanwhile: {LABELS[name].lower()}", -booked, SIGNED, at_ms))
    parts += [Part(f"Reading {word}", float(now.back_m3[i]), SIGNED, t, uid, READING, False, "had come back by then",
                   Figure("actual", t_ms=t))
              for word, i, t, uid in (("before it", a, times[0], uids[1]), ("after it", b, times[1], uids[2]))]
    return Parts(figure, f"What had come back by {figure.at:g} min", "actual then − actual when the pumps stopped − "
                 "what else is booked meanwhile, but for the lines' own drain-back", float(now.at(seconds)), SIGNED,
                 tuple(parts), t_ms=at_ms, kinds=("pumps", "connection", "flow-back band"))


def _excess(asked: Asked, figure: Figure, now: Connection) -> Parts:
    seconds = figure.at * 60.0
    back, (most, banded) = float(now.at(seconds)), _explained(asked, now, seconds)
    at_ms = now.off_ms + round(seconds * 1000.0)
    u = float(np.interp(seconds, now.s, now.u_m3))
    words = "Less the most of the accepted ones" if banded else "Less what the lines hold"
    parts = (Part("What had come back", back, SIGNED, at_ms, follow=Figure("connection", figure.of, BACK, figure.at)),
             Part(words, known(-most), SIGNED, at_ms, follow=Figure("connection", figure.of, BAND, figure.at)),
             Part("How sure", known(u), U, at_ms, counts=False))
    return Parts(figure, f"Above what is explained, by {figure.at:g} min", "what had come back − the most that is "
                 "explained", known(back - most), SIGNED, parts, t_ms=at_ms)


def _band(asked: Asked, figure: Figure, now: Connection) -> Parts:
    """The accepted connections that it is held against, what each had given back by then, and the lines' capacity."""
    books, seconds = asked.books, figure.at * 60.0
    band = flowback.band_for(books, now.off_ms, now.flow_m3_s)
    members = () if band is None else band.members
    said = flowback.said_of(books)
    least, top = flowback.spread(members, np.array([seconds]))
    most, banded = _explained(asked, now, seconds)
    parts = [Part(f"Pumps off {_clock(asked, c.off_ms)}", known(c.at(seconds)), SIGNED, c.off_ms,
                  said[c.off_ms].uid if c.off_ms in said else "", READING, False,
                  f"accepted by {said[c.off_ms].by or 'nobody named'}" if c.off_ms in said else "",
                  Figure("connection", str(c.off_ms), BACK, figure.at)) for c in members]
    parts += [Part("The least of them", known(float(least[0])), VOLUME, counts=False),
              Part("The most of them", known(float(top[0])), VOLUME, counts=False),
              Part("What the lines hold at that flow", known(now.lines_m3), VOLUME, None,
                   asked.rig_record(now.off_ms), WORKED_OUT, False)]
    if band is not None:
        parts.append(Part("Band", None, WORDS, band.t_ms, band.uid, WORKED_OUT, False, asked.said(band.uid)))
    formula = "the most that enough accepted connections had given back by then, and never more than the lines hold" \
        if banded else "no band tells of it: what the lines hold"
    return Parts(figure, f"The most that is explained by {figure.at:g} min", formula, known(most), VOLUME, tuple(parts),
                 how=NONE, t_ms=now.off_ms, kinds=("connection", "flow-back band"))


def _explained(asked: Asked, now: Connection, seconds: float) -> tuple[float, bool]:
    stop = next(s for s in flowback.stops(asked.books) if s.off_ms == now.off_ms)
    most, banded = flowback.explained(asked.books, stop, np.array([seconds]))
    return float(most[0]), bool(banded[0])


def _begins(asked: Asked, now: Connection) -> int:
    """The reading that its curve begins at [UTC ms]."""
    ends = asked.books.readings.end_ms
    return int(ends[int(np.searchsorted(ends, now.off_ms, side="right")) - 1])


def _time(asked: Asked, now: Connection, i: int) -> int:
    """When its reading of a number ended [UTC ms]: the first may lie before the pumps stopped."""
    return _begins(asked, now) if i == 0 else now.off_ms + round(float(now.s[i]) * 1000.0)


def _reading(asked: Asked, t: int) -> str:
    readings = asked.books.readings
    return asked.uid_of(readings.seq[int(readings.index_at(t))])


def _clock(asked: Asked, t: int) -> str:
    return datetime.fromtimestamp(t / 1000, ZoneInfo(asked.books.rig.zone)).strftime("%H:%M:%S")
