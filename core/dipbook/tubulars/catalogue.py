"""The catalogue of usual tubulars: a start for those who haven't the pipe's own data sheet, which always goes first."""

from __future__ import annotations

import csv
from importlib.resources import files

from dipbook.errors import QuantityError
from dipbook.tubulars.tubular import FOOT, INCH, POUND, Tubular, area, steel_by_weight, tube_only


class TubularError(QuantityError):
    """There is no such tubular in the catalogue."""


def _read() -> dict[str, Tubular]:
    text = files("dipbook.tubulars").joinpath("catalogue.csv").read_text(encoding="utf-8")
    found: dict[str, Tubular] = {}
    for row in csv.DictReader(text.splitlines()):
        od, bore = float(row["od_in"]) * INCH, float(row["id_in"]) * INCH
        weight = float(row["weight_lb_ft"]) * POUND / FOOT
        plain = row["steel_by"] == "tube"
        found[row["name"]] = Tubular(row["name"], row["kind"], od, bore, weight,
                                     tube_only(od, bore) if plain else steel_by_weight(weight), area(bore),
                                     row["source"])
    return found


CATALOGUE = _read()
"""Name -> tubular. Steel by the mean weight, which has the tool joints in it, or by the tube alone where there are none
(collars, casing and tubing, whose couplings are left out). Bore by the tube."""


def find(name: str) -> Tubular:
    """A tubular of the catalogue. name: whatever its case and blanks. Raises TubularError."""
    wanted = " ".join(name.casefold().split())
    for known, tubular in CATALOGUE.items():
        if known.casefold() == wanted:
            return tubular
    alike = [known for known in CATALOGUE if wanted and known.casefold().startswith(wanted.split()[0])]
    near = f" There are: {', '.join(alike)}." if alike else ""
    raise TubularError(f"There is no “{name}” in the catalogue.{near} Give its steel and bore from its data sheet.")
