"""A rig of compartments behind gates, for tests. Everything here is invented.

Suction and Desander are boxes of 8 × 10 ft: an inch of either is 80/12 ft3. Settling is one too and is gauged always.
"""

from __future__ import annotations

from dipbook.books import Books
from dipbook.records import Draft
from ledgers import BBL, FT, IN, booked

INCH = 80 / 12 * FT**3
"""Mud in an inch of one compartment [m3]."""

HEAD = """
rig = { name = "Invented 3", invented = true }
zone = "Etc/GMT+6"
decimal = "."
[units]
level = "in"
volume = "bbl"
length = "ft"
density = "lbm/gal[US]"
flow = "gal[US]/min"
"""


def tank(name: str, role: str, order: int, active: bool = True, length: str = "10 ft") -> str:
    return f"""
[[tank]]
name = "{name}"
role = "{role}"
active = {str(active).lower()}
order = {order}
gauge = "up"
dip_error = "1/4 in"
brim = "9 ft"
fresh_for = "40 min"
[tank.shape]
kind = "box"
length = "{length}"
width = "8 ft"
height = "9 ft"
"""


def gate(name: str = "Gate", upper: str = "Desander", lower: str = "Suction", step: str = "0 in", is_open: bool = True,
         isolates: str = "", equalises: bool = True) -> str:
    text = f'\n[[valve]]\nname = "{name}"\nkind = "gate"\ntank = "{upper}"\nto = "{lower}"\nopen = {str(is_open).lower()}\n'
    if equalises:
        text += f'equalises = true\nstep = "{step}"\n'
    return text + (f'isolates = "{isolates}"\n' if isolates else "")


TANKS = (HEAD + tank("Settling", "settling", 1) + tank("Desander", "desander", 2) + tank("Suction", "suction", 3)
         + tank("Reserve", "reserve", 4, active=False))


def compartments(*drafts: Draft, gates: str = "", tanks: str = TANKS) -> Books:
    return booked(*drafts, rig=tanks + gates)


__all__ = ["BBL", "FT", "HEAD", "IN", "INCH", "TANKS", "compartments", "gate", "tank"]
