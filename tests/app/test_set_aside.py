"""A limit set aside at the desk and in the window: on every page's strip, over a restart, and in words where refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.real_desks import GAIN, Hands, bench, make_log, rig_text
from dipbook import watch
from dipbook.cautions import CAUTION
from dipbook_app.display import DisplayUnits
from dipbook_app.forms.aside_form import BACK, OUT, AsideForm, way
from dipbook_app.pages.limits import LimitsPage
from dipbook_app.preferences import PreferencesFile
from dipbook_app.sentences import near_limit
from dipbook_app.window import Window

pytestmark = pytest.mark.usefixtures("qapp")


def test_out_of_service_stands_on_the_strip_with_the_caution_also_after_a_restart(
        tmp_path: Path, qtbot: object) -> None:
    hands, path = Hands(), make_log(tmp_path / "a.dipbook", rig_text(GAIN))
    with bench(path, hands) as b:
        b.round()
        limit = b.situation.rig.limits[0]
        assert way(b.desk, limit, shelf=False) == OUT
        form = AsideForm(b.desk, limit, OUT)
        qtbot.addWidget(form)  # type: ignore[attr-defined]
        form.save()
        assert not b.situation.aside, "nothing without who, why and the substitute"
        for name, text in {"note": "float stuck", "instead": "stick each 5 min", "by": "R. Moe"}.items():
            form.field(name).set_text(text)
        form.save()
        assert "can't be" in b.desk.set_aside(watch.Act("shelve", by="R. Moe", note="x", limit="gain", until_ms=1))
        b.settle()
    with bench(path, hands) as b:
        (x,) = b.situation.aside
        assert (x.state, x.by, x.why, x.instead, x.active) == (
            "out of service", "R. Moe", "float stuck", "stick each 5 min", False)
        assert any("out of service" in words for words in b.situation.unwatched)
        assert limit.name not in b.situation.limits_in_force
        assert near_limit(b.situation, DisplayUnits(b.situation.rig)) == "The gain limit is out of service: nobody is told of a gain"
        window = Window(None, PreferencesFile(tmp_path / "p.json"))
        qtbot.addWidget(window)  # type: ignore[attr-defined]
        window.resize(1280, 800)
        window.show()
        window.take(b.desk, {})
        words = window.strip.readings()
        assert words[0] == "Set aside: 1 out of service"
        assert words[-1] == CAUTION
        b.pass_(10)
        b.round(62)
        assert not b.desk.sounding
        assert not b.warnings
        assert "no sound, out of service" in window.strip.readings()[0]
        assert way(b.desk, limit, shelf=False) == BACK
        assert b.desk.set_aside(watch.Act("back in service", by="R. Moe", note="float freed", limit="gain")) == ""
        assert b.states() == {"gain": "raised"}
        assert b.desk.sounding
        window.take(None, {})


def test_the_keys_of_the_limits_page_say_what_they_do_and_open_the_form(tmp_path: Path, qtbot: QtBot) -> None:
    with bench(make_log(tmp_path / "a.dipbook", rig_text(GAIN)), Hands()) as b:
        b.round()
        page = LimitsPage(b.desk)
        qtbot.addWidget(page)
        page.show_situation(b.situation)
        page.table.setCurrentCell(0, 0)
        assert [x.text().split("\n")[0] for x in (page.shelve_button, page.service_button)] == ["Shelve", "Out of service"]
        assert page.shelve_button.isHidden()       # nobody set for how long, and a gain never is
        page.set_aside(shelf=True)
        assert page.form is None
        assert "can't be shelved" in page.words.said
        page.service_button.click()
        assert isinstance(page.form, AsideForm)
        for name, text in {"note": "float stuck", "instead": "stick each 5 min", "by": "R. Moe"}.items():
            page.form.field(name).set_text(text)
        page.form.save()
        assert page.form is None
        b.settle()
        page.show_situation(b.situation)
        page.table.setCurrentCell(0, 0)
        assert page.service_button.text().startswith("Back in service")
        assert "out of service since" in page.aside.text()
        assert "Watched: gain" not in page.unwatched.text()
