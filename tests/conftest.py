"""For every test: no display, our own fonts, and nothing left running behind."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator

import pytest
from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
settings.register_profile("untimed", deadline=None)     # a busy machine fails no test
settings.load_profile("untimed")


@pytest.fixture(scope="session")
def qapp_args() -> list[str]:
    return ["dipbook-tests"]


@pytest.fixture(scope="session", autouse=True)
def _own_preferences(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the tests out of the user's own folders, on every system that honours these."""
    home = tmp_path_factory.mktemp("home")
    patch = pytest.MonkeyPatch()
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME", "LOCALAPPDATA", "APPDATA"):
        patch.setenv(name, str(home / name.lower()))
    yield
    patch.undo()


@pytest.fixture(autouse=True)
def _nothing_left_running(request: pytest.FixtureRequest) -> Iterator[None]:
    """Our own font for each test that uses Qt; it fails if it leaves a timer or a thread running."""
    with_qt = bool({"qapp", "qtbot"} & set(request.fixturenames))
    if with_qt:
        from dipbook_app import fonts

        assert fonts.install(request.getfixturevalue("qapp"))
        if not gc.get_freeze_count():   # what is there before the first of them is no test's: it isn't looked through again
            import dipbook_app.running  # noqa: F401

            gc.collect()
            gc.freeze()
    yield
    if not with_qt:
        return
    from PySide6.QtCore import QCoreApplication, QEvent, QThread, QTimer
    from shiboken6 import isValid

    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    QCoreApplication.processEvents()
    left = [
        f"{type(item).__name__} of {item.parent()!r}"
        for item in gc.get_objects()
        if isinstance(item, QTimer | QThread) and isValid(item)
        and (item.isActive() if isinstance(item, QTimer) else item.isRunning())
    ]
    assert not left, f"left running: {', '.join(left)}"
