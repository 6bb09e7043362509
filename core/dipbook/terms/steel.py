"""Steel in the hole: Δ(d·b). Pipe lowered pushes out its steel's volume of mud."""

from __future__ import annotations

import numpy as np

from dipbook.books.books import Books
from dipbook.books.curve import Curve, Ramp, from_ramps
from dipbook.terms.system import System


def steel(books: Books, system: System) -> Curve:
    """d × bit depth, as logged [m3]: each depth holds until the next. Zero where the rig describes no pipe, and while a
    trip goes on, whose own term follows the pipe.

    books: of the log. system: which tanks; it counts while the returns reach them.
    """
    return from_ramps(ramp for _, ramp in lowered_by(books, system))


def lowered_by(books: Books, system: System) -> list[tuple[float, Ramp]]:
    """(how far the pipe was lowered [m], what of its steel came into the system) for each depth logged.

    books: of the log. system: as of ``steel``.
    """
    d = books.depths
    found: list[tuple[float, Ramp]] = []
    for i in range(1, len(d.t_ms)):
        t = int(d.t_ms[i])
        pipe = books.rig_at(t).pipe
        lowered = float(d.bit_m[i] - d.bit_m[i - 1])
        if pipe is not None and lowered and not np.isnan(lowered) and not d.aside[i]:
            found.extend((lowered, ramp) for ramp in system.parts(Ramp(t, t, pipe.steel * lowered)))
    return found
