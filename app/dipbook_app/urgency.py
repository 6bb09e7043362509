"""How urgent a warning is, and how that is told: a word, a figure, an outline and a colour, never one alone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from dipbook.situation import WarningView


@dataclass(frozen=True, slots=True)
class Urgency:
    """rank: 1 is the most urgent; it is the figure in the symbol. colour: stem of the theme's tokens.
    outline: "diamond", "triangle" or "circle". sound: file in data/sounds. flash_hz: of the symbol while
    unacknowledged [1/s] (IEC 60073: urgent 1.4 to 2.8, else 0.4 to 0.8; below 3 after WCAG 2.3.1)."""

    rank: int
    colour: str
    outline: str
    sound: str
    flash_hz: float


DANGER = Urgency(1, "danger", "diamond", "urgent.wav", 2.0)
ABNORMAL = Urgency(2, "warning", "triangle", "abnormal.wav", 0.7)
DUE = Urgency(3, "due", "circle", "due.wav", 0.7)

OF_KIND = {"gain": DANGER, "loss": DANGER, "drift": DANGER, "flow_back": DANGER, "trip_last_n": DANGER,
           "trip_total": DANGER, "high": ABNORMAL, "low": ABNORMAL, "overdue": DUE, "suspect": ABNORMAL,
           "log": ABNORMAL, "clock": ABNORMAL}

RANKS = {kind: each.rank for kind, each in OF_KIND.items()}
"""Kind of limit -> how urgent it is, 1 the most."""
UNACKNOWLEDGED = ("raised", "over")
BRIEF_WORDS = {"raised": "not acknowledged", "acknowledged": "acknowledged", "over": "over, not acknowledged",
               "over_acknowledged": "over, to be closed"}
STATE_WORDS = {
    "raised": "not acknowledged",
    "acknowledged": "acknowledged",
    "over": "over now, not acknowledged",
    "over_acknowledged": "over, acknowledged: close it with a note",
}


def of(warning: WarningView) -> Urgency:
    """The urgency of a warning; a kind nobody ranked counts as danger."""
    return of_kind(warning.kind)


def of_kind(kind: str) -> Urgency:
    """The urgency of warnings of a kind; one that nobody ranked counts as danger."""
    return OF_KIND.get(kind, DANGER)


def in_order(warnings: Iterable[WarningView]) -> tuple[WarningView, ...]:
    """Unacknowledged first, then the most urgent, then those that stand, then the oldest."""
    return tuple(sorted(warnings, key=lambda w: (w.state not in UNACKNOWLEDGED, of(w).rank, w.state.startswith("over"),
                                                 w.raised_ms)))


def sounding(warnings: Iterable[WarningView]) -> Urgency | None:
    """The most urgent of those that want sound now, or None: one situation, one sound."""
    ranked = sorted((of(w) for w in warnings if w.sounding), key=lambda u: u.rank)
    return ranked[0] if ranked else None
