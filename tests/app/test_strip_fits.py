"""Neither the headline nor the caution is ever cut on the strip, however long the warning's words are."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication, QWidget

from app.situations import BBL, HIGH, MIN, NOW_MS, OVERDUE, RIG, warning
from dipbook.cautions import CAUTION, FLOW_CHECK
from dipbook_app.display import DisplayUnits
from dipbook_app.stylesheet import stylesheet
from dipbook_app.theme import PALETTES, TEXT_SIZES, Look
from dipbook_app.widgets.warning_strip import WarningStrip

UNITS = DisplayUnits(RIG)
BESIDE_RAIL = 1190
"""What the rail leaves of 1280 px."""
NARROWEST = 1010
"""What it leaves of the narrowest window."""
DRIFT = warning(kind="drift", name="drift", system="rising", occurrence="drift-1", value=3.0 * BBL, limit=3.0 * BBL, first=True,
                said="above the low at 10:00 yesterday by 22.5 bbl at the last connection",
                text=f"Rising: 122.4 bbl above the low at 10:00, 110.5 bbl of it counts, limit 23.1 bbl: {FLOW_CHECK}",
                facts={"of": 122.4 * BBL, "counts": 110.5 * BBL, "part": 7.7, "rate": 10.75 * BBL / 60}, partial=True)
LONG = (
    DRIFT,
    replace(DRIFT, kind="drift", state="over"),
    warning(system="all surface", value=122.3 * BBL, limit=116.5 * BBL, raised_ms=NOW_MS - 30 * 60 * MIN, partial=True),
    warning(kind="trip_last_n", system="took less", value=-12.5 * BBL, worst=122.5 * BBL, limit=16.5 * BBL, partial=True),
    warning(state="over", value=0.2 * BBL, worst=122.3 * BBL, system="all surface", raised_ms=NOW_MS - 30 * 60 * MIN),
    replace(HIGH, tank="Reserve tank 14, starboard aft", partial=True),
)


@pytest.fixture(params=[*((t, "day") for t in (*TEXT_SIZES, 1.5)), (1.0, "night")], ids=str)
def strip(request, qtbot):
    text, palette = request.param
    look = Look(PALETTES[palette], text, 96.0)
    holder = QWidget()
    qtbot.addWidget(holder)
    holder.setStyleSheet(stylesheet(look))
    made = WarningStrip(look, holder)
    made.holder = holder
    made.resize(BESIDE_RAIL, made.height())
    holder.resize(BESIDE_RAIL, made.height())
    holder.show()
    return made


@pytest.mark.parametrize("others", [(), (HIGH, OVERDUE)], ids=["alone", "among others"])
@pytest.mark.parametrize("width", [BESIDE_RAIL, 1100, NARROWEST])
def test_headline_and_caution_are_whole(strip, others, width):
    strip.resize(width, strip.height())
    for w in LONG:
        strip.show_warnings((w, *(x for x in others if x.occurrence != w.occurrence)), UNITS, NOW_MS)
        strip.show_one(w.occurrence)
        QApplication.processEvents()
        head, caution = strip._headline, strip._caution
        assert not head.cut, head.text()
        assert head.height() >= head.minimumSizeHint().height()
        assert caution.text() == CAUTION
        assert caution.heightForWidth(caution.width()) <= caution.height(), head.text()
