"""The bill of materials holds what is pinned, no more and no less, and the form that CycloneDX 1.5 asks for.

The form: names and values compared by eye with the published bom-1.5.schema.json (repository CycloneDX/specification); no
machine validates it.
"""

from __future__ import annotations

import importlib.util
import json
import re
import tomllib
from importlib import metadata
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

TOP = Path(__file__).resolve().parents[2]
PINS = TOP / ".ci" / "requirements.txt"
BILL: dict[str, Any] = json.loads((TOP / "docs" / "sbom.json").read_text(encoding="utf-8"))
LIBRARIES = [c for c in BILL["components"] if c["type"] == "library"]


@pytest.fixture(scope="module")
def make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_sbom", TOP / "docs" / "make_sbom.py")
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    import sys
    sys.modules["make_sbom"] = made
    spec.loader.exec_module(made)
    return made


@pytest.mark.skipif(not (TOP / ".ci").is_dir(), reason="a copy without the pins: only a checkout has them")
def test_the_bill_holds_every_pin_and_nothing_else() -> None:
    """Read here without the script's own reader of pins."""
    pinned = {(m[1].lower().replace("_", "-"), m[2]) for line in
              PINS.read_text(encoding="utf-8").splitlines()
              if (m := re.match(r"([\w.-]+)==([^ ;]+)", line))}
    assert len(pinned) > 40
    assert {(c["name"], c["version"]) for c in LIBRARIES} == pinned, "run docs/make_sbom.py"


def test_it_is_of_this_version_and_what_the_program_asks_for_is_needed_to_run() -> None:
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert BILL["metadata"]["component"]["version"] == project["version"]
    direct = {re.split(r"[<>=;\[ ]", text)[0].lower().replace("_", "-") for text in project["dependencies"]}
    required = {c["name"] for c in LIBRARIES if c["scope"] == "required"}
    assert direct <= required
    assert not required & {"pytest", "hypothesis", "mypy", "ruff", "scipy", "pint", "openpyxl"}


def test_licences_are_what_the_installed_packages_say(make: ModuleType) -> None:
    looked = 0
    for c in LIBRARIES:
        assert c["licenses"], f"{c['name']} has no licence"
        try:
            here = metadata.version(c["name"]) == c["version"]
        except metadata.PackageNotFoundError:  # a tool that is only for checks
            continue
        if here:
            looked += 1
            assert c["licenses"] == make.licences(c["name"]), f"{c['name']}: run docs/make_sbom.py"
    assert looked > 15


def test_the_page_of_licences_is_made_from_the_bill(make: ModuleType) -> None:
    assert (TOP / "docs" / "licences.md").read_text(encoding="utf-8") == make.table(BILL), "run docs/make_sbom.py"


def test_the_form_is_that_of_cyclonedx() -> None:
    assert (BILL["bomFormat"], BILL["specVersion"], BILL["version"]) == ("CycloneDX", "1.5", 1)
    assert re.fullmatch(r"urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", BILL["serialNumber"])
    refs = [BILL["metadata"]["component"]["bom-ref"], *(c["bom-ref"] for c in BILL["components"])]
    assert len(set(refs)) == len(refs)
    for c in BILL["components"]:
        assert c["type"] in ("library", "file")
        assert c["scope"] in ("required", "excluded")
        assert set(c) <= {"type", "bom-ref", "name", "version", "scope", "licenses", "purl", "properties", "description"}
        expressions = [one for one in c["licenses"] if "expression" in one]
        assert not expressions or len(c["licenses"]) == 1
        assert all(set(one) == {"expression"} or set(one["license"]) in ({"id"}, {"name"}) for one in c["licenses"])
    assert {d["ref"] for d in BILL["dependencies"]} == {*refs} - {"font:B612"}
    for d in BILL["dependencies"]:
        assert set(d["dependsOn"]) <= set(refs)
        assert len(set(d["dependsOn"])) == len(d["dependsOn"])


def test_a_package_that_needs_another_says_so() -> None:
    needs = {d["ref"].split("@")[0]: {r.split("@")[0] for r in d["dependsOn"]} for d in BILL["dependencies"]}
    assert "pkg:pypi/mako" in needs["pkg:pypi/alembic"]
    assert "pkg:pypi/shiboken6" in needs["pkg:pypi/pyside6-essentials"]
