"""Several limits changed at once, each as a change of its own: the rig texts from one to the next."""

from __future__ import annotations

from dipbook.limits import Limit
from dipbook.rig.parsing import parse
from dipbook.rig.writing import same_limit, with_limits


def one_by_one(text: str, limits: tuple[Limit, ...]) -> tuple[str, ...]:
    """Rig texts, each with one limit changed from the one before it; the last one has all. Empty where none changes.

    text: a rig file that reads without a problem. limits: all that shall be in force at the end. Changed and withdrawn
    ones go first, in the order of the file, then the new ones.
    Raises RigFileError if the text has problems, or if a limit can't stand in it, beside those not changed yet too.
    """
    stand = {limit.name: limit for limit in parse(text.removeprefix("\ufeff")).rig.limits}
    wanted = {limit.name: limit for limit in limits}
    texts: list[str] = []
    for name in dict.fromkeys((*stand, *wanted)):
        was, now = stand.get(name), wanted.get(name)
        if was is not None and now is not None and same_limit(was, now):
            continue
        if now is None:
            del stand[name]
        else:
            stand[name] = now
        texts.append(with_limits(texts[-1] if texts else text, tuple(stand.values())))
    return tuple(texts)
