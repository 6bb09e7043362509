"""What is still to be said of an entry, in the words of a person who asks for it."""

from __future__ import annotations

from collections.abc import Mapping

from dipbook.entries.kinds import Kind

FROM, TO = "which tank it comes from", "which tank it goes to"
ON_OR_OFF = "whether it is on or off"

ASKED: Mapping[tuple[str, ...], str] = {
    ("from",): FROM, ("to",): TO, ("from", "to"): f"{FROM}, or goes to", ("to", "from"): f"{TO}, or comes from",
    ("volume",): "how much", ("volume", "rate"): "how much: a volume, or a rate",
    ("volume", "rate+end", "state"): "how much: a volume, or a rate and an end; or that it is running",
    ("volume", "mass+density"): "how much: a volume, or a mass and a density",
    ("before+after", "volume"): "how much: the stick before and after, or a volume",
    ("mass",): "how much, as a mass", ("density",): "the slug's weight", ("mud_density",): "the mud weight in the pipe",
    ("salt",): "which salt", ("into",): "how much water or brine it goes into",
    ("before",): "what the stick said before", ("after",): "what the stick said after",
    ("told",): "who was told", ("tank",): "which tank", ("valve",): "which valve", ("equipment",): "which equipment",
    ("state",): ON_OR_OFF, ("state", "to"): "whether the tank is in or out, or where the flow line goes",
    ("density in", "density out", "temperature in", "temperature out"): "a mud weight or a temperature, in or out",
    ("flow",): "the flow before the pumps stop",
    ("gas",): "how much gas, in %", ("speed",): "how fast it drills now",
    ("flow", "paddle", "trend"): "the flow out, the paddle or the trend",
    ("result",): "what the result was", ("seen by",): "who watched",
    ("stick",): "what the stick says", ("sensor",): "what the sensor says",
    ("leaving",): "who leaves", ("confirmed",): "what was gone through", ("arriving",): "who takes over",
    ("activity",): "what the rig is doing",
    ("hole depth", "bit depth"): "the hole depth, or the bit depth", ("remark",): "what is worth keeping",
    ("reason",): "why", ("direction",): "whether it goes out of the hole or in", ("bit depth",): "where the bit is",
    ("action",): "what is done", ("decided by",): "who decided",
    ("approved by",): "who approves them",
}
"""A group of a kind's ``needs`` -> what is asked for where none of it is given, after "say"."""

ASKED_OF: Mapping[tuple[str, tuple[str, ...]], str] = {
    ("pill", ("what",)): "what it is", ("trap dump", ("what",)): "what went",
    ("told driller", ("what",)): "what was said",
    ("valve", ("state",)): "whether it was opened or closed",
    ("shakers", ("state",)): "whether the returns are on the screens or bypassed",
    ("connection", ("state",)): "whether it is accepted",
    ("limits approved", ("remark",)): "why they are approved, or for what",
    ("flow-back band", ("state",)): "whether it is adopted or withdrawn",
    ("shut-in", ("state",)): "whether the well was shut in or opened",
}
"""The same where it depends on the kind: (its name, the group)."""


def asked_for(kind: Kind, group: tuple[str, ...]) -> str:
    """What to say where nothing of a group is given, like "say which tank it comes from". group: one of kind.needs."""
    return f"say {ASKED_OF.get((kind.name, group)) or ASKED[group]}"
