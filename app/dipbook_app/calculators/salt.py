"""What dissolved salt adds by the table, in words for its form while it is typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dipbook import mud
from dipbook.rig.model import Rig
from dipbook_app.calculators.calculator import told, unit_of


def by_table(values: Mapping[str, Any], rig: Rig) -> tuple[str, str] | None:
    """Words and their tone ("quiet", or "doubt" where the table ends), as soon as the water is given; None before.

    values: payload key -> SI value, of what can be read. rig: in whose units.
    """
    if "into_m3" not in values:
        return None
    unit = unit_of("volume", rig)
    into = f"= {told(values['into_m3'], unit, rig.decimal)}"
    if not {"salt", "mass_kg"} <= values.keys():
        return into, "quiet"
    given = values["salt"], values["mass_kg"], values["into_m3"], values.get("had_percent", 0.0)
    try:
        more, percent = mud.volume_increase(*given), mud.percent_after(*given)
    except mud.SaltError as refusal:
        share = f"{refusal.percent:.1f}".replace(".", rig.decimal)
        return f"That would be {share} % by weight, and the table ends at {refusal.most:g} %.", "doubt"
    share = f"{percent:.1f}".replace(".", rig.decimal)
    return f"{into}. By the table {told(more, unit, rig.decimal)} more, {share} % by weight then.", "quiet"
