"""Figures in rich text: a link that names its figure, in the ink of what stands around it."""

from __future__ import annotations

from html import escape
from urllib.parse import quote, unquote

from dipbook.parts import Figure

BETWEEN = "|"


def link(text: str, figure: Figure | None) -> str:
    """The text, marked up; as a link where it has a figure. text: plain."""
    if figure is None:
        return escape(text)
    named = BETWEEN.join(quote(part, safe="") for part in (figure.name, figure.of, figure.what, repr(figure.at)))
    return f"<a href='{named}' style='color: {{ink}}; text-decoration: underline'>{escape(text)}</a>"


def figure_of(href: str) -> Figure | None:
    """The figure that a link names, None for another link. href: of ``link``."""
    parts = [unquote(part) for part in href.split(BETWEEN)]
    return Figure(parts[0], parts[1], parts[2], float(parts[3])) if len(parts) == 4 else None


def inked(html: str, ink: str) -> str:
    """The text with its links in a colour. html: with links. ink: #RRGGBB."""
    return html.replace("{ink}", ink)
