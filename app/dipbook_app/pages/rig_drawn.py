"""What the Rig page draws: what is typed, or as long as that can't be read the last that could, marked as of before."""

from __future__ import annotations

from math import isfinite

from dipbook.composing.rig_views import TankSketch, WellView, pump_sketch, tank_sketch, well_view
from dipbook.errors import QuantityError
from dipbook.quantities import read
from dipbook.situation import Situation
from dipbook_app.display import DisplayUnits
from dipbook_app.rig_draft import RigDraft
from dipbook_app.rig_rows import RigRow, RigSection
from dipbook_app.rig_words import depth_words
from dipbook_app.widgets.rig_picture import RigPicture

AS_BEFORE = "As before: can't be read yet."


class RigDrawn:
    """picture: where it is drawn. A drawing of before is kept while something is typed, and for its own row only."""

    def __init__(self, picture: RigPicture) -> None:
        self._picture = picture
        self._tanks: dict[str, TankSketch] = {}
        self._well: WellView | None = None

    def show(self, section: RigSection, row: RigRow | None, draft: RigDraft, situation: Situation,
             unit_set: str) -> None:
        """Draw what is chosen. section, row: of the page; draft: what is typed; situation: now; unit_set: its name."""
        units, proposal = DisplayUnits(situation.rig, unit_set), draft.proposal
        if not proposal.changed:
            self._tanks, self._well = {}, None
        if "section" in section.kinds:
            self._show_well(well_view(draft.checked, self._bit(units, situation)), draft, units)
        elif row is not None and row.kind == "tank":
            self._show_tank(row.sign, draft, units)
        elif row is not None and row.kind == "pump":
            self._picture.show_pump(pump_sketch(draft.checked, proposal.signs("pump").index(row.sign)), units)
        else:
            self._picture.show_nothing()

    def _show_tank(self, sign: str, draft: RigDraft, units: DisplayUnits) -> None:
        signs = draft.proposal.signs("tank")
        self._tanks = {each: sketch for each, sketch in self._tanks.items() if each in signs}
        sketch = tank_sketch(draft.checked, signs.index(sign))
        if sketch is not None:
            self._tanks[sign] = sketch
        before = self._tanks.get(sign) if sketch is None else None
        self._picture.show_tank(sketch or before, units, AS_BEFORE if before is not None else "")

    def _show_well(self, view: WellView, draft: RigDraft, units: DisplayUnits) -> None:
        """The hole or the string of before, at the same bit, while one of their rows can't be read."""
        seen, table, before = draft.checked.seen, draft.checked.table, self._well
        unread = any(found is None and table.get(key) for key, found in (("section", seen.sections),
                                                                        ("string", seen.string)))
        if not unread:
            self._well = view
        elif before is not None and before.bit_m == view.bit_m:
            self._picture.show_well(before, units, AS_BEFORE)
            return
        self._picture.show_well(view, units)

    def _bit(self, units: DisplayUnits, situation: Situation) -> float | None:
        """The bit depth to draw [m]: as typed, else the log's."""
        field, logged = self._picture.bit, situation.bit_depth_m
        field.set_hint("the log has none" if logged is None else f"blank: the log's, {depth_words(logged, units)}")
        text = field.text()
        field.say("")
        field.words.hide()
        if not text:
            return logged
        wrong = "A depth is 0 or more."
        try:
            depth = read(text, "length", decimal=units.decimal, bare=situation.rig.units.get("length")).value
            if isfinite(depth) and depth >= 0.0:
                return depth
        except QuantityError as error:
            wrong = str(error)
        field.say(wrong, "error")
        field.words.show()
        return None
