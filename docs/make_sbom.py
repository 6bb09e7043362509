"""Make docs/sbom.json (CycloneDX 1.5) and docs/licences.md: run ``python docs/make_sbom.py`` from the top folder.

From the pins in .ci/requirements.txt, from pyproject.toml, and from the metadata of what is installed here, so in an
environment made of those pins. A pin for another Python than this one has its licence read from the version installed
here, and says so. What a package says of its licence is given as it says it. ``tests/core/test_sbom.py`` holds the
files to the pins.
"""

from __future__ import annotations

import json
import re
import tomllib
import uuid
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).resolve().parent.parent
PINS, PROJECT = TOP / ".ci" / "requirements.txt", TOP / "pyproject.toml"
SBOM, LICENCES = TOP / "docs" / "sbom.json", TOP / "docs" / "licences.md"
LONGEST_NAME = 60
"""A licence field longer than this is the licence's text, not its name."""
READ_FROM = "dipbook:licence-read-from"
FONT = {"type": "file", "bom-ref": "font:B612", "name": "B612", "scope": "required",
        "description": "The font shipped in app/dipbook_app/data/fonts",
        "licenses": [{"license": {"id": "OFL-1.1"}}]}
_PIN = re.compile(r"^([A-Za-z0-9._-]+)==([^\s;]+)(?: ; (.+?))? \\$", re.MULTILINE)


@dataclass(frozen=True)
class Pin:
    """One pinned package. name: canonical. marker: for which Python or system it is, "" for all."""

    name: str
    version: str
    marker: str

    @property
    def purl(self) -> str:
        """The package's address by the package-URL convention."""
        return f"pkg:pypi/{self.name}@{self.version}"


def pins(text: str) -> list[Pin]:
    """The pins of a requirements file, in its order. text: the file's."""
    return [Pin(canonicalize_name(name), version, marker) for name, version, marker in _PIN.findall(text)]


def needed(project: dict[str, Any], pinned: set[str]) -> set[str]:
    """Names of what the program itself needs, through all that these need, on any system. pinned: names."""
    found: set[str] = set()
    waiting = [Requirement(text) for text in project["project"]["dependencies"]]
    while waiting:
        name = canonicalize_name(waiting.pop().name)
        if name in pinned and name not in found:
            found.add(name)
            waiting += requires(name)
    return found


def requires(name: str) -> list[Requirement]:
    """What a package asks for on one system or another, its extras aside. name: canonical."""
    made = [Requirement(text) for text in metadata.requires(name) or ()]
    return [r for r in made if "extra" not in str(r.marker or "")]


def licences(name: str) -> list[dict[str, Any]]:
    """What the installed package says of its licence: an expression, else a name, else what it is classed as."""
    said = metadata.metadata(name)
    if said.get("License-Expression"):
        return [{"expression": said["License-Expression"]}]
    short = (said.get("License") or "").strip()
    if short and len(short) <= LONGEST_NAME and "\n" not in short:
        return [{"license": {"name": short}}]
    classed = [c.split(" :: ")[-1] for c in said.get_all("Classifier") or () if c.startswith("License ::")]
    return [{"license": {"name": c}} for c in classed]


def component(pin: Pin, runtime: set[str]) -> dict[str, Any]:
    """One package as a component. runtime: names of what the program itself needs."""
    made: dict[str, Any] = {
        "type": "library", "bom-ref": pin.purl, "name": pin.name, "version": pin.version,
        "scope": "required" if pin.name in runtime else "excluded", "licenses": licences(pin.name), "purl": pin.purl}
    properties = [{"name": "dipbook:marker", "value": pin.marker}] if pin.marker else []
    if metadata.version(pin.name) != pin.version:
        properties.append({"name": READ_FROM, "value": metadata.version(pin.name)})
    return made | ({"properties": properties} if properties else {})


def bill() -> dict[str, Any]:
    """The whole bill."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    pinned = pins(PINS.read_text(encoding="utf-8"))
    refs: dict[str, list[str]] = {}
    for pin in pinned:
        refs.setdefault(pin.name, []).append(pin.purl)
    runtime = needed(project, set(refs))
    own = f"pkg:pypi/{project['project']['name']}@{project['project']['version']}"
    direct = {canonicalize_name(Requirement(text).name) for text in project["project"]["dependencies"]}
    components = [component(pin, runtime) for pin in pinned] + [FONT]

    def point_to(names: set[str]) -> list[str]:
        return sorted(ref for name in names for ref in refs.get(name, ()))

    dependencies = [{"ref": own, "dependsOn": [*point_to(direct), FONT["bom-ref"]]}] + [
        {"ref": pin.purl, "dependsOn": point_to({canonicalize_name(r.name) for r in requires(pin.name)})}
        for pin in pinned]
    content = json.dumps([components, dependencies], sort_keys=True)
    return {
        "bomFormat": "CycloneDX", "specVersion": "1.5",
        "serialNumber": f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, own + content)}", "version": 1,
        "metadata": {"component": {"type": "application", "bom-ref": own, "name": project["project"]["name"],
                                   "version": project["project"]["version"], "purl": own,
                                   "licenses": [{"license": {"id": project["project"]["license"]}}]}},
        "components": components, "dependencies": dependencies}


def words(component: dict[str, Any]) -> str:
    """A component's licences in one line."""
    said = [one.get("expression") or one["license"].get("id") or one["license"]["name"]
            for one in component["licenses"]]
    read = next((p["value"] for p in component.get("properties", ()) if p["name"] == READ_FROM), "")
    return ("; ".join(said) or "not said") + (f" (read from {read})" if read else "")


def table(made: dict[str, Any]) -> str:
    """docs/licences.md. made: the bill."""
    lines = ["# Licences of what Dipbook is made with", "",
             "Made by `python docs/make_sbom.py` from the pins and from what each package says of itself; the same",
             "as a CycloneDX 1.5 bill of materials is in [sbom.json](sbom.json). Not legal advice.", ""]
    for scope, title in (("required", "Needed to run"), ("excluded", "For tests and checks only, not shipped")):
        lines += [f"## {title}", "", "| what | version | licence, in its own words |", "|---|---|---|"]
        lines += [f"| {c['name']} | {c.get('version', '')} | {words(c)} |" for c in made["components"]
                  if c["scope"] == scope]
        lines.append("")
    lines += ["PySide6-Essentials brings Qt's own libraries with it, under the licence it names; polars-runtime-32 and",
              "the other compiled packages bring what they were built from, which their own files list."]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write both files."""
    made = bill()
    SBOM.write_text(json.dumps(made, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    LICENCES.write_text(table(made), encoding="utf-8")
    print(f"{len(made['components'])} components: {SBOM.name}, {LICENCES.name}")


if __name__ == "__main__":
    main()
