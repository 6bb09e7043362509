"""The window's pages, each made when it is first asked for: a start waits for the Watch page and for no other."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from PySide6.QtWidgets import QWidget

Making = Callable[[], QWidget]


class Pages(Mapping[str, Any]):
    """Page by its name, in the rail's order. ``made`` are those that are there already."""

    def __init__(self, pages: Mapping[str, QWidget | Making] | None = None,
                 settle: Callable[[Any], None] = lambda page: None) -> None:
        """pages: there already, or what makes one. settle: is given each page as it is made."""
        self._pages = dict(pages or {})
        self._settle = settle

    def __getitem__(self, name: str) -> Any:
        page = self._pages[name]
        if not isinstance(page, QWidget):
            page = self._pages[name] = page()
            self._settle(page)
        return page

    def __contains__(self, name: object) -> bool:
        return name in self._pages

    def __iter__(self) -> Iterator[str]:
        return iter(self._pages)

    def __len__(self) -> int:
        return len(self._pages)

    @property
    def made(self) -> dict[str, Any]:
        """Those that are there."""
        return {name: page for name, page in self._pages.items() if isinstance(page, QWidget)}
