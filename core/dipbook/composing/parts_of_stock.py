"""What room, usable mud, the hours left and a stick that should read so much rest on."""

from __future__ import annotations

from dipbook import balance
from dipbook.composing.parts_words import Asked, few, known
from dipbook.parts import (
    GIVEN,
    HOURS,
    LEVEL,
    NONE,
    RATE,
    READING,
    SIGNED,
    SUM,
    VOLUME,
    WORDS,
    WORKED_OUT,
    Figure,
    Part,
    Parts,
)
from dipbook.stock import Held, Loss, held, loss, taken
from dipbook.targets import next_stand, should_read
from dipbook.terms.pieces import logged_on

ROOM, USABLE, RESERVE, LEFT, LOSING = "room", "usable", "reserve", "hours", "losing"
NOW, NEXT_STAND = "now", "next stand"
LOOKS_MS = 24 * 3_600_000
"""Readings of so long are looked at for a loss, as the pages do [ms]."""


def stock(asked: Asked, figure: Figure) -> Parts | None:
    """Room, usable mud, and how long it lasts. asked: the books and the moment. figure: of room, usable, reserve,
    losing or hours."""
    if figure.of in (LEFT, LOSING):
        return _hours(asked, figure) if figure.of == LEFT else _losing(asked, figure)
    if figure.of not in (ROOM, USABLE, RESERVE):
        return None
    tanks = [t for t in held(asked.books, asked.now_ms) if (t.reserve if figure.of == RESERVE else t.active)]
    parts: list[Part] = []
    for each in tanks:
        tank = asked.books.rig.tank(each.tank)
        volume, follow = known(each.volume_m3), Figure("tank", each.tank)
        floor = float(tank.volume(tank.heel_m))
        if figure.of == ROOM:
            parts += [Part(f"{each.tank} holds to the brim", tank.capacity_m3, SIGNED, None,
                           asked.rig_record(asked.now_ms), GIVEN),
                      Part(f"Less what {each.tank} holds", None if volume is None else -volume, SIGNED,
                           _dipped(asked, each.tank), follow=follow)]
        else:
            usable = known(each.usable_m3)
            parts.append(Part(each.tank, usable, SIGNED, _dipped(asked, each.tank), follow=follow,
                              note=f"less {asked.write(floor, 'volume', 'm3')} below its heel" if floor else ""))
    title = {ROOM: "Room to the brim, active tanks", USABLE: "Usable mud, active tanks",
             RESERVE: "Usable mud, tanks in reserve"}[figure.of]
    formula = "each tank to its brim − what it holds" if figure.of == ROOM else "what each tank holds above its heel"
    value = None if not tanks else _total(tanks, figure.of)
    note = "What a tank holds is its last dip, what was logged since, and in the suction what the well gave or took."
    return Parts(figure, title, formula, value, VOLUME, tuple(parts), t_ms=asked.now_ms, note=note)


def _total(tanks: list[Held], what: str) -> float | None:
    return known(float(sum(t.room_m3 if what == ROOM else t.usable_m3 for t in tanks)))


def _losing(asked: Asked, figure: Figure) -> Parts | None:
    lost = _loss(asked)
    if lost is None:
        return None
    rate = taken(asked.books, asked.now_ms)
    parts = (Part("The difference fell, in the mean", lost.rate_m3_s, RATE, lost.until_ms,
                  note="as much as dips can tell", follow=Figure("difference", t_ms=lost.until_ms)),
             Part("The difference when it began", None, WORDS, lost.until_ms - lost.span_ms, counts=False,
                  follow=Figure("difference", t_ms=lost.until_ms - lost.span_ms)),
             Part("Rates in force, and what runs", rate, RATE, asked.now_ms, follow=Figure("term", what="rates")))
    return Parts(figure, "Losing", "how the difference fell + what is taken at known rates; less than nothing is none",
                 max(lost.rate_m3_s + rate, 0.0), RATE, parts, how=SUM if lost.rate_m3_s + rate >= 0.0 else NONE,
                 t_ms=lost.until_ms, kinds=("rate in force",))


def _hours(asked: Asked, figure: Figure) -> Parts | None:
    lost, tanks = _loss(asked), [t for t in held(asked.books, asked.now_ms) if t.active]
    usable = _total(tanks, USABLE) if tanks else None
    if lost is None or usable is None:
        return None
    rate = max(lost.rate_m3_s + taken(asked.books, asked.now_ms), 0.0)
    gone = lost.rate_m3_s * max(asked.now_ms - lost.until_ms, 0) / 1000.0
    parts = (Part("Usable, active", usable, SIGNED, asked.now_ms, counts=False, follow=Figure("stock", USABLE)),
             Part("Less lost since the last dips, if it goes on", -gone, SIGNED, lost.until_ms, counts=False),
             Part("Losing", rate, RATE, lost.until_ms, counts=False, follow=Figure("stock", LOSING)))
    value = max(usable - gone, 0.0) / rate / 3600.0 if rate else None
    return Parts(figure, "Usable active mud lasts", "(usable − lost since the last dips) ÷ the rate of loss", value,
                 HOURS, parts, how=NONE, t_ms=asked.now_ms)


def _loss(asked: Asked) -> Loss | None:
    ends = asked.books.readings.end_ms
    if not len(ends):
        return None
    return loss(asked.books, balance.at(asked.books, ends[ends >= int(ends[-1]) - LOOKS_MS]))


def stick(asked: Asked, figure: Figure) -> Parts | None:
    """What a stick should read. asked: the books and the moment. figure: of a tank; what: now, or next stand."""
    books = asked.books
    tank = next((t for t in books.rig.tanks if t.name == figure.of), None)
    if tank is None:
        return None
    target = next_stand(books, asked.now_ms) if figure.what == NEXT_STAND else should_read(books, tank, asked.now_ms)
    if target is None or target.tank != tank.name:
        return None
    dipped = _dipped(asked, tank.name)
    parts = [Part("Its last dip", target.volume_m3 - target.change_m3, SIGNED, dipped, _dip_uid(asked, tank.name),
                  READING, follow=Figure("tank", tank.name))]
    for place, (words, volume) in enumerate(target.pieces):
        if place == 0 and dipped is not None:
            logged = [asked.entry(p.uid, p.volume_m3, p.words, p.t_ms)
                      for p in logged_on(books, tank.name, dipped, asked.now_ms)]
            parts += few(logged)
        elif volume:
            parts.append(Part(words, volume, SIGNED, asked.now_ms))
    parts.append(Part("The stick reads so much then", target.dip_m, LEVEL, asked.now_ms, kind=WORKED_OUT, counts=False))
    when = "after the next stand" if figure.what == NEXT_STAND else "now"
    return Parts(figure, f"{tank.name}: what it should hold {when}", target.why, target.volume_m3, VOLUME, tuple(parts),
                 t_ms=asked.now_ms)


def _dipped(asked: Asked, tank: str) -> int | None:
    s = asked.books.dips.get(tank)
    i = int(s.index_at(asked.now_ms)) if s is not None else -1
    return int(s.t_ms[i]) if s is not None and i >= 0 else None


def _dip_uid(asked: Asked, tank: str) -> str:
    s = asked.books.dips.get(tank)
    i = int(s.index_at(asked.now_ms)) if s is not None else -1
    return asked.uid_of(s.seq[i]) if s is not None and i >= 0 else ""
