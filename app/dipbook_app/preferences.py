"""What a person has chosen on this computer: not records, so they live beside the log and are replaced at a stroke."""

from __future__ import annotations

import json
import os
import tempfile
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any

from platformdirs import user_config_path

from dipbook_app.theme import PALETTES, TEXT_SIZES

FILE_NAME = "preferences.json"


@dataclass(frozen=True, slots=True)
class Preferences:
    """theme: "day" or "night". text: factor on text sizes [-]. unit_set: a name of quantities.UNIT_SETS, or "" for
    the rig's own. geometry: the window's place as Qt packs it, in hex. page: the page shown last.
    rig, store: paths last opened. observer: who keyed last. on_watch: who last took the watch, of the log at
    on_watch_log. paper: of reports, "a4" or "letter"."""

    theme: str = "day"
    text: float = 1.0
    unit_set: str = ""
    geometry: str = ""
    page: str = "Watch"
    rig: str = ""
    store: str = ""
    observer: str = ""
    on_watch: str = ""
    on_watch_log: str = ""
    paper: str = "a4"


class PreferencesFile:
    """The preferences and where they are kept. ``now`` is what holds; ``trouble`` says why they aren't kept, or ""."""

    def __init__(self, path: Path | None = None) -> None:
        """path: the file; None for the user's own configuration folder. A damaged file is left and not believed."""
        self.path = path or user_config_path("dipbook", appauthor=False) / FILE_NAME
        self.trouble = ""
        self.now = Preferences()
        try:
            self.now = _believable(json.loads(self.path.read_text(encoding="utf-8")))
        except FileNotFoundError:
            pass
        except (OSError, ValueError) as error:
            self.trouble = f"The preferences in {self.path} can't be read ({error}). The usual ones are in use."

    def change(self, **changes: Any) -> Preferences:
        """Change some and keep them. If they can't be kept they hold till the end, and ``trouble`` says so."""
        changed = replace(self.now, **changes)
        if changed != self.now:
            self.now = changed
            self._keep()
        return self.now

    def _keep(self) -> None:
        text = json.dumps(asdict(self.now), indent=1, ensure_ascii=False)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix=".preferences-", dir=self.path.parent)
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    file.write(text)
                    file.flush()
                    os.fsync(file.fileno())
                Path(name).replace(self.path)
            except OSError:
                Path(name).unlink(missing_ok=True)
                raise
        except OSError as error:
            why = error.strerror
            self.trouble = f"The preferences can't be kept in {self.path} ({why}). They hold until you close."
        else:
            self.trouble = ""


def _believable(data: Any) -> Preferences:
    """Preferences from parsed JSON: what is of the right kind is taken, the rest is as usual."""
    if not isinstance(data, dict):
        raise ValueError("not a table of preferences")
    usual = Preferences()
    taken: dict[str, Any] = {}
    for field in fields(Preferences):
        value = data.get(field.name)
        if isinstance(value, str if isinstance(getattr(usual, field.name), str) else int | float):
            taken[field.name] = value
    if taken.get("theme") not in PALETTES:
        taken.pop("theme", None)
    if taken.get("text") not in TEXT_SIZES:
        taken.pop("text", None)
    return Preferences(**taken)
