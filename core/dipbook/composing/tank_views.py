"""One picture of each tank: its last dip, its age, what was logged since, and its limits."""

from __future__ import annotations

import numpy as np

from dipbook.books import Books
from dipbook.limits import Limit
from dipbook.rig.model import ROLES
from dipbook.situation import TankView
from dipbook.stock import Held, held
from dipbook.tanks.tank import Tank
from dipbook.targets import should_read


def tank_views(books: Books, now_ms: int) -> tuple[TankView, ...]:
    """Views of all tanks at ``now_ms`` [UTC ms]: the active ones first, each group in flow order."""
    active = books.line.active_at(now_ms)
    tanks = sorted(books.rig.tanks, key=lambda t: (t.name not in active, ROLES.index(t.role), t.order))
    now = {h.tank: h for h in held(books, now_ms)}
    return tuple(_view(books, tank, now[tank.name], now_ms) for tank in tanks)


def _view(books: Books, tank: Tank, now: Held, now_ms: int) -> TankView:
    active = now.active
    levels = tuple((limit.kind, level) for limit in books.rig.limits
                   if limit.on == tank.name and (level := _limit_level(tank, limit)) is not None)
    s = books.samples.get(tank.name)
    real = np.flatnonzero(s.real) if s is not None else np.array([], dtype=int)
    last = int(np.searchsorted(s.t_ms[real], now_ms, side="right")) - 1 if s is not None else -1
    if s is None or last < 0:
        return TankView(tank.name, tank.role, active, None, None, None, None, None, False, False, "", None, None, 0.0,
                        None, levels)
    i = int(real[last])
    before = int(real[last - 1]) if last > 0 else None
    t = int(s.t_ms[i])
    logged = books.logged(tank.name)
    r = int(books.readings.index_at(now_ms))
    volume = _known(s.volume_m3[i])
    age = now_ms - t
    target = should_read(books, tank, now_ms)
    return TankView(
        name=tank.name, role=tank.role, active=active, level_m=_known(s.level_m[i]), volume_m3=volume,
        u_m3=_known(s.u_m3[i]), t_ms=t, age_ms=age, stale=tank.fresh_for_ms is not None and age > tank.fresh_for_ms,
        held=r >= 0 and t < int(books.readings.start_ms[r]), flag=s.flag[i] if s.flag else "",
        previous_level_m=None if before is None else _known(s.level_m[before]),
        previous_t_ms=None if before is None else int(s.t_ms[before]),
        booked_m3=float(logged.at(now_ms)) - float(logged.at(t)),
        room_m3=_known(now.room_m3), limit_levels=levels,
        usable_m3=_known(now.usable_m3), same_count=books.same_counts(tank.name, now_ms),
        should_read_m=None if target is None else target.dip_m,
        should_hold_m3=None if target is None else target.volume_m3)


def _known(x: float) -> float | None:
    return None if np.isnan(x) else float(x)


def _limit_level(tank: Tank, limit: Limit) -> float | None:
    if limit.kind not in ("high", "low"):
        return None
    level = limit.value if limit.value_is == "level" else float(tank.level(limit.value))
    return None if np.isnan(level) else level
