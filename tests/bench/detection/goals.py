"""What we want, beside what was measured. The goals are our own choice, with no source."""

from __future__ import annotations

from dataclasses import dataclass

RATES = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
TOUR_BBL = dict(zip(RATES, (1.9, 2.1, 2.65, 3.2, 3.9, 4.4, 5.4), strict=True))
TOUR_P90 = dict(zip(RATES, (2.8, 2.9, 3.3, 4.0, 5.0, 5.6, 6.8), strict=True))
WEEK_BBL = dict(zip(RATES, (2.3, 2.5, 3.05, 3.7, 4.6, 5.3, 6.2), strict=True))
AT_STOP = {1.0: (4.5, 6.0), 2.0: (5.0, 6.5), 5.0: (6.0, 7.5), 10.0: (7.0, 8.5)}


@dataclass(frozen=True)
class Goal:
    """name: G1 to G6; what; at_most: the goal; measured; se: of it, 0 where it isn't told."""

    name: str
    what: str
    at_most: float
    measured: float
    se: float = 0.0

    @property
    def met(self) -> str:
        """In words; what lies within two standard errors of the goal is said so."""
        said = "met" if self.measured <= self.at_most else "not met"
        return said + (", within 2 se of it" if self.se and abs(self.measured - self.at_most) <= 2.0 * self.se else "")


def times_line(q: float, week: bool) -> float:
    """Goal as a multiple of the line. q: [bbl/min]; week: one alarm in seven days, else one a tour."""
    return (1.30 if q == 0.25 else 1.15) if week else (1.20 if q == 0.25 else 1.10)


def times_best(q: float) -> float:
    """Goal as a multiple of the best possible. q: [bbl/min]."""
    return {0.25: 1.6, 20.0: 1.4}.get(q, 1.35)
