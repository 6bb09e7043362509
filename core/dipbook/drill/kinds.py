"""What a scenario may ask for, as data: the crew's work, what happens, and the keys of each.

Reading, drawing and docs/drills.md go by these tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from dipbook.drill.influx import FLUIDS
from dipbook.trips.ways import CLOSED, OPEN, OUT_WAYS

PLACE, FLAG, SHARE, WORD, TEXT, PLAIN = "place", "flag", "share", "word", "text", "plain"
"""Dimensions that are none of dipbook.quantities: a tank or "active"; true or false; 0 to 1; one of a few words; words;
a number without a unit."""


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table. name. dimension: of dipbook.quantities, or one of those above. help: what it is, in words.
    needed; default: where it isn't there (None: not set). choices: of a word. bare: key of the rig's [units] for a
    number without one. zero: 0 is allowed. low, high: bounds [SI] that catch slips.
    """

    name: str
    dimension: str
    help: str
    needed: bool = False
    default: float | str | bool | None = None
    choices: tuple[str, ...] = ()
    bare: str = ""
    zero: bool = False
    low: float = 0.0
    high: float = 1e9


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of work or event. help: in words. keys: beside those that all have. either: of these keys exactly one
    has to be there. sign: what it is to who watches: "gain", "loss", "look" (to be looked into, and no miss), or ""
    (not the well's)."""

    name: str
    help: str
    keys: tuple[Key, ...]
    either: tuple[tuple[str, ...], ...] = ()
    sign: str = ""


def _time(name: str, help_: str, *, needed: bool = False, default: float | None = None) -> Key:
    return Key(name, "duration", help_, needed, default, zero=True, high=30 * 24 * 3600.0)


def _volume(name: str, help_: str, *, needed: bool = False, default: float | None = None) -> Key:
    return Key(name, "volume", help_, needed, default, bare="volume", high=1000.0)


def _flow(name: str, help_: str, *, needed: bool = False, default: float | None = None) -> Key:
    return Key(name, "rate", help_, needed, default, bare="flow", zero=True, high=0.5)


def _pressure(name: str, help_: str, *, needed: bool = False, default: float | None = None) -> Key:
    return Key(name, "pressure", help_, needed, default, bare="pressure", zero=True, high=2e8)


def _length(name: str, help_: str, *, needed: bool = False, default: float | None = None, level: bool = False) -> Key:
    return Key(name, "length", help_, needed, default, bare="level" if level else "length", zero=True, high=15_000.0)


def _density(name: str, help_: str, *, needed: bool = False, default: float | None = None) -> Key:
    return Key(name, "density", help_, needed, default, bare="density", low=100.0, high=8000.0)


def _speed(name: str, help_: str, *, needed: bool = False, default: float | None = None) -> Key:
    return Key(name, "speed", help_, needed, default, bare="speed", high=10.0, zero=True)


LOGGED = Key("logged", FLAG, "whether the crew logs it", default=True)

START = (
    _length("hole_depth", "how deep the hole is", needed=True),
    _length("bit_depth", "how deep the bit is; the hole's depth if not set"),
    _length("above", "full pipe above the rotary", default=0.0),
    _density("mud", "the mud's weight", needed=True),
    _flow("flow", "of the pumps before it begins; 0 for none", needed=True),
)
WELL = (
    _pressure("friction", "in the annulus, at friction_at: what circulating adds to the pressure below", default=0.0),
    _flow("friction_at", "the flow that friction is for; that of the start if not set"),
    _time("spin_up", "over which pumps come to their flow", default=0.0),
    _time("return_lag", "time constant of the way down the flow line", default=0.0),
    _time("falls_in", "time constant of mud that falls in the pipe", default=40.0),
    _speed("gas_slip", "of free gas up through mud", default=0.0),
    _pressure("swab", "that pipe pulled at swab_at takes off the pressure below it", default=0.0),
    _speed("swab_at", "the speed that swab is for", default=0.5),
    Key("washout", SHARE, "by how much more hole is cut than the rig file has, as a share of its volume", default=0.0),
)
GAUGES = (
    _time("every", "between two readings", default=60.0),
    _length("noise", "of a reading, one standard deviation", default=0.0, level=True),
    _length("ripple", "height of the agitators' waves over the mean", default=0.0, level=True),
    _time("ripple_period", "from wave to wave", default=7.0),
    _length("step", "in which a gauge reads; finer than can be told if not set", default=0.0, level=True),
    _length("lowest", "level above the bottom below which a gauge stands still", default=0.0, level=True),
    _length("highest", "level above which it stands still", level=True),
    _time("walk", "from tank to tank, for rounds by hand", default=0.0),
)
SET_BY = (
    _time("within", "from when it begins until a flow check or a shut-in"),
    _volume("volume", "that has come in or is lost by then"),
    Key("set_by", TEXT, "who set it"),
    Key("reason", TEXT, "why"),
)

FOR = _time("for", "how long it goes on", needed=True)
WORK: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in (
    Kind("drilling", "drills ahead, with a connection when a stand is down", (
        FOR, _speed("rate", "hole made", needed=True), _flow("flow", "of the pumps; as before if not set"),
        _time("connection", "pumps off at a connection", default=360.0),
        _time("filling", "over which a new stand is filled", default=0.0))),
    Kind("circulating", "pumps on, no hole made", (FOR, _flow("flow", "of the pumps; as before if not set"))),
    Kind("static", "pumps off, nothing moves", (FOR,)),
    Kind("mixing", "pumps on while mud is mixed", (FOR, _flow("flow", "of the pumps; as before if not set"))),
    Kind("slug", "a slug is pumped, the pumps stop and it falls", (
        _volume("volume", "of it", needed=True), _density("density", "of it", needed=True),
        Key("from", PLACE, "tank that it is pumped from", True),
        _flow("flow", "at which it is pumped", needed=True),
        _time("return", "over which the crew take it to fall", default=600.0))),
    Kind("trip out", "pulls pipe on the trip tank", (
        _length("to", "bit depth that it comes to", needed=True), _speed("speed", "of the pipe", needed=True),
        _time("slips", "between two stands", default=60.0),
        Key("pulled", WORD, "how", default="dry", choices=OUT_WAYS),
        Key("returned", SHARE, "with a bucket: share of the pipe's mud given back", default=0.0),
        Key("refill_from", PLACE, "tank that the trip tank is filled from and emptied to", True))),
    Kind("out of hole", "stays as it is on the trip tank", (FOR,)),
    Kind("trip in", "runs pipe on the trip tank", (
        _length("to", "bit depth that it comes to", needed=True), _speed("speed", "of the pipe", needed=True),
        _time("slips", "between two stands", default=60.0),
        Key("float", WORD, "closed or open", default="closed", choices=(CLOSED, OPEN)),
        Key("refill_from", PLACE, "tank that the trip tank is filled from and emptied to", True))),
)})

AT = _time("at", "when it begins, from the start of the drill")
ENDS = _time("lasts", "how long it goes on; to the end if not set")
OVER = (_pressure("over", "over that of the mud column at rest, at its depth"),
        _pressure("under", "under it"))
DEPTH = _length("depth", "measured; the bottom of the hole when it begins if not set")

EVENTS: Mapping[str, Kind] = MappingProxyType({kind.name: kind for kind in (
    Kind("kick", "a formation flows in, by how far the pressure in the hole is below its own", (
        _length("drilled", "hole made from the start until it is reached, instead of a time"), DEPTH, *OVER,
        _flow("flow", "that comes in where the hole's pressure is lower by flow_at", needed=True),
        _pressure("flow_at", "for that flow", needed=True),
        _volume("at_most", "that it holds"),
        Key("fluid", WORD, "what comes in", default="gas", choices=FLUIDS),
        _density("weight", "of oil or water"),
        Key("z", PLAIN, "compressibility factor of the gas there", default=1.0, low=0.2, high=3.0),
        _pressure("out_below", "absolute pressure below which gas comes out of the mud that it dissolved in"),
        Key("swelling", SHARE, "room that dissolved gas takes, of what it had as it came in", default=0.3),
    ), (("over", "under"), ("at", "drilled")), "gain"),
    Kind("loss", "a formation takes mud, by how far the pressure in the hole is above what opens it", (
        DEPTH, *OVER, _flow("flow", "that is lost where the hole's pressure is higher by flow_at", needed=True),
        _pressure("flow_at", "for that flow", needed=True)), (("over", "under"),), "loss"),
    Kind("ballooning", "the hole takes mud while circulating and gives it back", (
        DEPTH, _volume("volume", "held at the friction of circulating", needed=True),
        _time("time", "time constant of both", needed=True)), (), "look"),
    Kind("transfer", "mud is moved between tanks", (
        Key("from", PLACE, "tank", True), Key("to", PLACE, "tank", True), _volume("volume", "moved", needed=True),
        _time("over", "over which it runs evenly", default=0.0),
        _volume("logged_volume", "that is logged, where it is another"), LOGGED)),
    Kind("addition", "mixing: water, mud or a solid goes in", (
        Key("to", PLACE, "tank", True), _volume("volume", "that goes in"),
        Key("mass", "mass", "of a solid, instead of a volume", high=1e6), _density("density", "of its grains"),
        _time("over", "over which it runs evenly", default=0.0), LOGGED), (("volume", "mass"),)),
    Kind("dump", "mud is dumped", (
        Key("from", PLACE, "tank", True), _volume("volume", "dumped", needed=True),
        _time("over", "over which it runs evenly", default=0.0), LOGGED)),
    Kind("outflow", "mud leaves at a rate: discharge, evaporation, a leak", (
        Key("from", PLACE, "tank, or active", default="active"), _flow("rate", "of it", needed=True), ENDS, LOGGED,
        Key("what", TEXT, "what the crew call it", default="discharge"))),
    Kind("inflow", "water comes in at a rate: rain, wash-down, a valve that leaks", (
        Key("to", PLACE, "tank, or active", default="active"), _flow("rate", "of it", needed=True), ENDS, LOGGED,
        Key("what", TEXT, "what the crew call it", default="rain"))),
    Kind("wrong valve", "part of the returns goes to another tank, and nobody logs it", (
        Key("to", PLACE, "tank", True), Key("share", SHARE, "of the returns", True), ENDS)),
    Kind("equipment", "solids-control equipment is started and fills", (
        Key("name", TEXT, "as the rig file calls it", True), LOGGED)),
    Kind("stuck gauge", "a gauge stands still", (Key("tank", PLACE, "whose", True), ENDS)),
    Kind("drifting gauge", "a gauge reads more and more, or less and less", (
        Key("tank", PLACE, "whose", True), _speed("rate", "of it", needed=True),
        Key("way", WORD, "which way", default="up", choices=("up", "down")), ENDS)),
    Kind("agitator", "the waves on a tank change", (
        Key("tank", PLACE, "which", True), _length("ripple", "their height over the mean", needed=True, level=True),
        ENDS)),
)})


def keys_of(kind: Kind) -> tuple[Key, ...]:
    """All keys of a kind of event, when it begins too. kind: of EVENTS."""
    return (AT, *kind.keys)
