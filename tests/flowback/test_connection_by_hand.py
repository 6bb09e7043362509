"""The connection that docs/connections.md works by hand, number for number, and the demo's day against its maker."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from dipbook import checking, flowback, watch
from dipbook.books import Books
from dipbook.composing.connection_views import connection_views
from dipbook.observations import observe
from dipbook.records import Draft
from flowback.connections import INCH, LIMITED, START, accepted, adopted
from ledgers import BBL, booked, dips, entry, minutes

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_data"
PAGE = (ROOT / "docs/connections.md").read_text(encoding="utf-8")


def rows(heading: str) -> list[list[float]]:
    """The numbers of the page's table under a heading row."""
    lines = PAGE.splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith(f"| {heading}")) + 2
    found = []
    while lines[at].startswith("|"):
        found.append([float(cell.strip()) for cell in lines[at].strip("|").split("|")])
        at += 1
    return found


READ, HELD = rows("min since off"), rows("min | first")


def active(minute: float, bbl: float) -> Draft:
    """A reading at which the active tanks hold so much more than at the start."""
    return dips(minute, Settling=60, Suction=60 + bbl / INCH)


def stopped(off: float, back: list[tuple[float, float]], after: float = 0.0) -> list[Draft]:
    """Pumps off for 6 min; back: (minute since, more in the active than before [bbl]); after: with the pumps on again."""
    return [active(off, 0.0), entry("pumps", off, state="off"), *(active(off + m, more) for m, more in back),
            entry("pumps", off + 6, state="on", flow=300), active(off + 12, after)]


def by_hand() -> Books:
    made = list(START)
    for k in range(3):
        made += [*stopped(30 + 60 * k, [(row[0], row[1 + k]) for row in HELD]), accepted(30 + 60 * k)]
    made.append(adopted(200))
    made += stopped(240, [(row[0], row[1] - READ[0][1]) for row in READ[1:]], after=508.6 - 500.0)
    made.append(entry("transfer", 242, 242.5, from_="Reserve", to="Settling", volume=5))
    return booked(*made, rig=LIMITED)


def test_the_numbers_of_the_page() -> None:
    books = by_hand()
    now = flowback.find(books)[-1]
    assert [row[3] for row in READ] == pytest.approx([now.at(row[0] * 60) / BBL for row in READ], abs=1e-6)
    most, banded = flowback.explained(books, flowback.stops(books)[-1], [row[0] * 60 for row in HELD])
    assert banded.all()
    assert [row[4] for row in HELD] == pytest.approx((most / BBL).tolist(), abs=1e-6)
    assert [row[5] for row in HELD] == [row[3] for row in READ[1:]]
    assert [row[6] for row in HELD] == pytest.approx([row[5] - row[4] for row in HELD])
    assert now.u_m3[-1] / BBL == pytest.approx(1.03, abs=0.005)


def test_the_warning_of_the_page() -> None:
    books = by_hand()
    raised = [w for w in watch.run(books.rig.limits, observe(books), 1)[1] if w.state == "raised"]
    assert [w.time for w in raised] == minutes(243)
    words = watch.words(raised[0], {"volume": ("bbl", 1)})
    assert words in " ".join(PAGE.split())


def test_the_kick_test_of_the_page() -> None:
    *_, last = connection_views(by_hand())
    assert last.across_m3 is not None
    assert last.across_m3 / BBL == pytest.approx(3.6, abs=0.01)
    assert "+3.6 bbl have come in for good" in " ".join(PAGE.split())


@pytest.fixture(scope="module")
def day() -> checking.Checked:
    return checking.check(DEMO / "rig-larkspur-connections.toml", DEMO / "larkspur-connections-readings.csv",
                          DEMO / "larkspur-connections-entries.csv")


def test_the_demo_day_warns_of_the_one_that_flows_too_long_and_of_nothing_else(day: checking.Checked) -> None:
    raised = [w for w in day.warnings if w.state == "raised"]
    assert [(w.kind, w.name) for w in raised] == [("flow_back", "flow-back")]
    lines = [x for x in checking.lines(day) if x["type"] == "connection"]
    assert len(lines) == 15
    (flowed,) = [x for x in lines if x["accepted"] is False]
    assert lines.index(flowed) == 12
    assert sum(x["accepted"] is True for x in lines) == 14
    assert flowed["above_m3"] / BBL == pytest.approx(4.0, abs=0.3), "0.5 bbl/min for eight minutes was put in"
    assert max(x["above_m3"] for x in lines if x is not flowed and x["banded"]) / BBL < 1.0
    assert [x["banded"] for x in lines] == [False] * 6 + [True] * 9


def test_the_demo_day_is_read_as_text_too(day: checking.Checked) -> None:
    said = list(checking.text_lines(day))
    assert sum("pumps off, came back" in x for x in said) == 15
    assert sum("above the accepted ones" in x for x in said) == 9
    assert any(re.search(r"RAISED {2}flow-back: Flowed back 2\.\d bbl more than the accepted connections by 4 min", x) for x in said)
    assert any("6 connections, the first at this time, were held against no band" in x for x in said)


def test_the_demo_day_is_what_its_maker_writes(tmp_path: Path) -> None:
    code = ("import sys; from pathlib import Path; import make_connections as m; "
            "m.write_rig(Path(sys.argv[1])); m.write(m.make(), Path(sys.argv[1]))")
    subprocess.run([sys.executable, "-B", "-c", code, str(tmp_path)], cwd=DEMO, check=True)
    for name in ("rig-larkspur-connections.toml", "larkspur-connections-readings.csv", "larkspur-connections-entries.csv"):
        assert (tmp_path / name).read_bytes() == (DEMO / name).read_bytes()
