"""The colours and sizes of every screen, worked out from a few rules.

Neutral greys and one ink; a colour only ever means that something is abnormal, with the meanings of IEC 60073:
red danger, yellow abnormal, blue an action that is due. Night keeps dark adaptation: no large bright area.
Contrast after WCAG 2.2 (1.4.3, 1.4.6, 1.4.11); every pair in use is in PAIRS and is tested.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from PySide6.QtGui import QColor, QFont

FAMILY = "B612"
TEXT_SIZES = (0.9, 1.0, 1.15, 1.3)
MM_PER_INCH = 25.4
DPI_RANGE = (96.0, 130.0)
"""Screens report wrong sizes often enough: a millimetre is never drawn smaller than at 96 dpi, nor beyond 130."""


@dataclass(frozen=True, slots=True)
class Palette:
    """The colours of one theme, as #RRGGBB.

    ground: behind everything; panel: behind a group; field: where one types; select: a chosen row, a pressed key.
    ink: text and what is drawn; soft: lesser text; line: edges. mud: mud in a tank; old: mud last seen too long ago.
    danger, warning, due: fills of the three colours that mean something, with on_… for text on them and
    …_edge for their outline, which carries the contrast against the ground.
    """

    name: str
    ground: str
    panel: str
    field: str
    select: str
    ink: str
    soft: str
    line: str
    grid: str
    mud: str
    old: str
    danger: str
    on_danger: str
    danger_edge: str
    warning: str
    on_warning: str
    warning_edge: str
    due: str
    on_due: str
    due_edge: str

    def colour(self, token: str) -> QColor:
        """The colour of a token."""
        return QColor(getattr(self, token))

    @property
    def colours(self) -> frozenset[str]:
        """Every colour of the theme."""
        return frozenset(getattr(self, f.name) for f in fields(self) if f.name != "name")


DAY = Palette(
    name="day", ground="#D0D0D0", panel="#E2E2E2", field="#F3F3F3", select="#BCBCBC",
    ink="#141414", soft="#444444", line="#6A6A6A", grid="#C4C4C4", mud="#A2A2A2", old="#C8C8C8",
    danger="#B0001A", on_danger="#FFFFFF", danger_edge="#7A0010",
    warning="#FFC800", on_warning="#141414", warning_edge="#141414",
    due="#0B4F94", on_due="#FFFFFF", due_edge="#0B3A6B",
)
NIGHT = Palette(
    name="night", ground="#0B0B0B", panel="#141414", field="#1C1C1C", select="#262626",
    ink="#ACACAC", soft="#8E8E8E", line="#6E6E6E", grid="#242424", mud="#3D3D3D", old="#232323",
    danger="#7A121D", on_danger="#F2B9B6", danger_edge="#E0474D",
    warning="#453700", on_warning="#E8C95A", warning_edge="#CFA200",
    due="#11365A", on_due="#B4D0EC", due_edge="#5A98D2",
)
PALETTES = {palette.name: palette for palette in (DAY, NIGHT)}

TEXT_GROUNDS = ("ground", "panel", "field", "select")
PAIRS: tuple[tuple[str, str, float], ...] = (
    *(("ink", ground, 7.0) for ground in ("ground", "panel", "field")),
    ("ink", "select", 4.5),
    *(("soft", ground, 4.5) for ground in TEXT_GROUNDS),
    *(("line", ground, 3.0) for ground in ("ground", "panel", "field")),
    ("ink", "mud", 3.0), ("ink", "old", 3.0),
    *((f"on_{name}", name, 4.5) for name in ("danger", "warning", "due")),  # also the strip's sign on its fill
    *((f"{name}_edge", ground, 3.0) for name in ("danger", "warning", "due") for ground in ("ground", "panel")),
)
"""(foreground, background, least contrast): all that is drawn on anything. 4.5 for text, 3 for parts and graphics."""


def luminance(colour: str) -> float:
    """Relative luminance [-] of an sRGB colour #RRGGBB (WCAG 2.2, definition of relative luminance)."""
    def linear(c: float) -> float:
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    red, green, blue = (int(colour[k:k + 2], 16) / 255.0 for k in (1, 3, 5))
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(a: str, b: str) -> float:
    """Contrast ratio [-] of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@dataclass(frozen=True, slots=True)
class Look:
    """What a widget needs to draw itself: the colours, the text size and the screen's density.

    palette; text: factor on every text size [-]; dpi: device-independent pixels an inch.
    """

    palette: Palette = DAY
    text: float = 1.0
    dpi: float = 96.0

    def px(self, size: float) -> int:
        """A text size in pixels at factor 1 [px] -> pixels now."""
        return max(1, round(size * self.text))

    def mm(self, length: float) -> int:
        """A length on the screen [mm] -> pixels; for what is pressed with gloves."""
        dpi = min(max(self.dpi, DPI_RANGE[0]), DPI_RANGE[1])
        return -int(-length * dpi // MM_PER_INCH)

    def font(self, size: float, *, bold: bool = False) -> QFont:
        """The project's font. size: pixels at factor 1 [px]."""
        font = QFont(FAMILY)
        font.setPixelSize(self.px(size))
        font.setBold(bold)
        return font

    def colour(self, token: str) -> QColor:
        """The colour of a token of the palette."""
        return self.palette.colour(token)
