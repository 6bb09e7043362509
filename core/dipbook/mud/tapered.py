"""Slugs planned in a string of several bores: where one comes to rest, by the balance of two columns.

At rest the columns weigh the same: (ρs − ρm) h = ρm Ldry, with h the length that the slug takes up from Ldry down. In
pipe of one bore h is Vs/c, and this is ``dipbook.mud.slugs``. Where the slug reaches into a narrower bore, heavy-weight
or collars, the same volume stands higher: it dries more, and more comes back than Vs (ρs/ρm − 1).

The slug begins at the top and falls: as Ldry grows its lower end goes down by what the bores make of it, so that the
imbalance ρs h − ρm (Ldry + h) is a broken line. The first Ldry where that is nothing is where it rests; a lower one,
which a very narrow bore below can make, is never reached. It holds in vertical pipe, with nothing pumped behind the
slug.

Source: derived from the balance of columns, and tested against it and against pipe of one bore.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isnan, nan

from dipbook.mud.mixing import BELOW_NOTHING, ImpossibleError
from dipbook.well import String

NEAR = 1e-9
"""Share to which a slug that was worked out must come to rest where it was asked to."""


@dataclass(frozen=True, slots=True)
class Bore:
    """A length of one bore. name: of the part. area_m2: what a length of it holds [m3/m]. length_m: [m]; inf where it
    goes on as far as is needed."""

    name: str
    area_m2: float
    length_m: float = inf


@dataclass(frozen=True, slots=True)
class Rest:
    """A slug at rest.

    slug_m3: Vs. density_kg_m3: its weight. dry_m: Ldry, empty from the top. bottom_m: its lower end, from the top.
    back_m3: what the dry bore held, that came back more than was pumped. through: (name, length [m]) of the dry bores,
    from the top.
    """

    slug_m3: float
    density_kg_m3: float
    dry_m: float
    bottom_m: float
    back_m3: float
    through: tuple[tuple[str, float], ...]


def bores(string: String, bit_m: float) -> tuple[Bore, ...]:
    """The bores of a string from the rotary down to the bit. string: from the rig file. bit_m: bit depth [m].

    Raises ImpossibleError where the string doesn't reach from the bit to the rotary, or has a part without a bore.
    """
    if isnan(bit_m) or bit_m <= 0.0:
        raise ImpossibleError("bit", "say how deep the bit is: where the parts of the string hang follows from it")
    if bit_m > string.length_m + 1e-6:
        raise ImpossibleError("bit", "the string of the rig file is shorter than that: check the depth, or the lengths")
    found = tuple(Bore(part.name, part.bore_m2, length) for part, length in reversed(string.spans(0.0, bit_m)))
    if any(bore.area_m2 <= 0.0 for bore in found):
        raise ImpossibleError("bore", "a part of the string has no bore: nothing falls through it")
    return found


def at_rest(slug_m3: float, slug_kg_m3: float, mud_kg_m3: float, pipe: Sequence[Bore]) -> Rest:
    """Where a slug comes to rest. slug_m3: Vs [m3]. slug_kg_m3, mud_kg_m3: ρs, ρm [kg/m3]. pipe: from the top down.

    Raises ImpossibleError where the slug isn't heavier than the mud, is more than the pipe holds, or reaches the bit
    before it rests. Source: balance of the columns, see above.
    """
    _positive(slug=slug_m3, density=slug_kg_m3, mud=mud_kg_m3)
    if isnan(slug_m3 + slug_kg_m3 + mud_kg_m3):
        return Rest(slug_m3, slug_kg_m3, nan, nan, nan, ())
    heavier = _heavier(slug_kg_m3, mud_kg_m3)
    bottom = _down_to(pipe, slug_m3)
    if isnan(bottom):
        raise ImpossibleError("slug", "the pipe down to the bit holds less than that slug")
    dry, top, low = 0.0, 0, _index(pipe, bottom)
    while True:
        left = heavier * (bottom - dry) - dry
        if left <= NEAR * bottom:
            return Rest(slug_m3, slug_kg_m3, dry, bottom, _volume(pipe, 0.0, dry), _through(pipe, dry))
        if low == len(pipe):
            raise ImpossibleError("slug", "the slug would reach the bit before it rests: take a smaller or lighter one")
        lowered = pipe[top].area_m2 / pipe[low].area_m2
        slope = heavier * (lowered - 1.0) - 1.0
        steps = (_end(pipe, top) - dry, (_end(pipe, low) - bottom) / lowered, -left / slope if slope < 0.0 else inf)
        step = min(steps)
        dry, bottom = dry + step, bottom + step * lowered
        top, low = top + (step == steps[0]), low + (step == steps[1])


def volume_drying(dry_m: float, slug_kg_m3: float, mud_kg_m3: float, pipe: Sequence[Bore]) -> Rest:
    """The slug that dries a length: what the bores hold from Ldry over h = Ldry ρm/(ρs − ρm).

    dry_m: Ldry, from the top [m]. slug_kg_m3, mud_kg_m3: ρs, ρm [kg/m3]. pipe: from the top down. Raises
    ImpossibleError as ``at_rest`` does, and where such a slug would rest higher. Source: balance of the columns.
    """
    _positive(dry=dry_m, density=slug_kg_m3, mud=mud_kg_m3)
    bottom = dry_m * (1.0 + 1.0 / _heavier(slug_kg_m3, mud_kg_m3))
    if isnan(bottom):
        return Rest(nan, slug_kg_m3, dry_m, nan, nan, ())
    if bottom > _end(pipe, len(pipe) - 1):
        raise ImpossibleError("dry", "a slug that dries so much would reach the bit: take a heavier one, or dry less")
    return _as_asked(at_rest(_volume(pipe, dry_m, bottom), slug_kg_m3, mud_kg_m3, pipe), dry_m)


def density_drying(dry_m: float, slug_m3: float, mud_kg_m3: float, pipe: Sequence[Bore]) -> Rest:
    """The weight at which a slug of a volume dries a length: ρs = ρm (1 + Ldry/h), with h what it takes up below Ldry.

    dry_m: Ldry, from the top [m]. slug_m3: Vs [m3]. mud_kg_m3: ρm [kg/m3]. pipe: from the top down. Raises
    ImpossibleError as ``volume_drying`` does. Source: balance of the columns.
    """
    _positive(dry=dry_m, slug=slug_m3, mud=mud_kg_m3)
    if isnan(dry_m + slug_m3 + mud_kg_m3):
        return Rest(slug_m3, nan, dry_m, nan, nan, ())
    if dry_m >= _end(pipe, len(pipe) - 1):
        raise ImpossibleError("dry", "that is more than all the pipe down to the bit")
    bottom = _down_to(pipe, slug_m3 + _volume(pipe, 0.0, dry_m))
    if isnan(bottom):
        raise ImpossibleError("dry", "below that length the pipe holds less than the slug: dry less, or take less")
    return _as_asked(at_rest(slug_m3, mud_kg_m3 * (1.0 + dry_m / (bottom - dry_m)), mud_kg_m3, pipe), dry_m)


def _positive(**arguments: float) -> None:
    for name, value in arguments.items():
        if value <= 0.0:
            raise ImpossibleError(name, BELOW_NOTHING)


def _heavier(slug: float, mud: float) -> float:
    """(ρs − ρm)/ρm."""
    if slug <= mud:
        raise ImpossibleError("density", "the slug isn't heavier than the mud in the pipe: nothing falls")
    return (slug - mud) / mud


def _as_asked(rest: Rest, dry: float) -> Rest:
    if abs(rest.dry_m - dry) > 1e-6 * dry:
        raise ImpossibleError("dry", "such a slug would rest before it dries so much, and a narrow bore below is why: "
                                     "dry less")
    return rest


def _end(pipe: Sequence[Bore], index: int) -> float:
    """How far down a bore ends [m]."""
    return sum(bore.length_m for bore in pipe[:index + 1])


def _index(pipe: Sequence[Bore], depth: float) -> int:
    """The bore just below a depth; as many as there are at the bit."""
    return next((n for n in range(len(pipe)) if depth < _end(pipe, n)), len(pipe))


def _volume(pipe: Sequence[Bore], from_m: float, to_m: float) -> float:
    """What the bores hold between two depths [m3]."""
    found, begin = 0.0, 0.0
    for bore in pipe:
        end = begin + bore.length_m
        found += bore.area_m2 * max(0.0, min(to_m, end) - max(from_m, begin))
        begin = end
    return found


def _down_to(pipe: Sequence[Bore], volume: float) -> float:
    """Down to where the pipe holds a volume [m]; NaN where all of it holds less."""
    begin = 0.0
    for bore in pipe:
        if volume <= bore.area_m2 * bore.length_m:
            return begin + volume / bore.area_m2
        volume -= bore.area_m2 * bore.length_m
        begin += bore.length_m
    return nan


def _through(pipe: Sequence[Bore], dry: float) -> tuple[tuple[str, float], ...]:
    """(name, length [m]) of the bores down to a depth."""
    found, begin = [], 0.0
    for bore in pipe:
        if dry - begin > NEAR * dry:  # not what is left of rounding
            found.append((bore.name, min(dry - begin, bore.length_m)))
        begin += bore.length_m
    return tuple(found)
