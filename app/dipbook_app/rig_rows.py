"""The sections of the Rig page, and the rows of each as its table shows them."""

from __future__ import annotations

from dataclasses import dataclass

from dipbook.rig.keys import SINGLE, TABLES, applies
from dipbook.rig.proposal import Place, Proposal
from dipbook_app.rig_draft import RigDraft
from dipbook_app.rig_words import at_field

WRONG, TYPED = "✕", "●"
"""Marks of a row that can't be read, and of one that differs from what is in force."""
LEGEND = f"{TYPED} typed and not adopted   {WRONG} something is wrong or missing"


@dataclass(frozen=True, slots=True)
class RigSection:
    """One section. name: on its key. kinds: of tables, in order. words: (kind, what one of them is called).

    empty: said where there is none yet.
    """

    name: str
    kinds: tuple[str, ...]
    words: tuple[tuple[str, str], ...]
    empty: str = ""

    @property
    def can_grow(self) -> tuple[tuple[str, str], ...]:
        """(kind, what one is called) of the kinds that can have one more."""
        return tuple((kind, words) for kind, words in self.words if kind not in SINGLE)

    def word(self, kind: str) -> str:
        """What one of a kind is called."""
        return dict(self.words)[kind]


SECTIONS = (
    RigSection("Tanks", ("tank",), (("tank", "tank"),), "No tank is described. Ins adds one."),
    RigSection("Pumps", ("pump",), (("pump", "pump"),), "No pump is described. Ins adds one."),
    RigSection("Hole and string", ("section", "string"), (("section", "hole section"), ("string", "string part")),
               "Neither hole nor string is described in parts. Ins adds a section of the hole, from the rotary down; "
               "Shift+Ins a part of the string, from the bit up. They are for trips; what is watched goes by "
               "Well, in figures."),
    RigSection("Well, in figures", ("hole", "pipe", "drain_back", "fill_rule"),
               (("hole", "Hole"), ("pipe", "Pipe"), ("drain_back", "Drain-back"), ("fill_rule", "Rule for filling"))),
    RigSection("Valves, equipment", ("valve", "equipment"), (("valve", "valve"), ("equipment", "equipment")),
               "No valve, gate or equipment is described. Ins adds a valve, Shift+Ins a piece of equipment."),
    RigSection("Crew", ("crew", "tour"), (("crew", "person"), ("tour", "tour")),
               "Nobody is named. Ins adds a person: the name is offered wherever somebody types who it is; any other "
               "can be typed as well. Shift+Ins adds a tour, from when its shift begins."),
)


@dataclass(frozen=True, slots=True)
class RigRow:
    """One row. kind, sign: of its table. mark: of those above, or "". name; what: the rest in short."""

    kind: str
    sign: str
    mark: str
    name: str
    what: str


def rows(section: RigSection, draft: RigDraft) -> tuple[RigRow, ...]:
    """The rows of a section; tanks stand in gauging order, the others as in the file. draft: what is typed."""
    found = [_row(section, kind, sign, draft) for kind in section.kinds for sign in draft.proposal.signs(kind)]
    if section.kinds == ("tank",):
        found.sort(key=lambda row: _order(draft.proposal.value(("tank", row.sign, "order"))))
    return tuple(found)


def problem_words(draft: RigDraft) -> tuple[str, ...]:
    """All that is wrong, each with its place in words: ``Sand Trap, brim: …``. draft: what is typed."""
    return tuple(f"{_where(place, draft)}: {at_field(what, chosen=False)[0]}"
                 for place, what in draft.problems().items())


def follow_words(draft: RigDraft, row: Place) -> dict[str, str]:
    """Key -> what follows from it elsewhere: the limits and valves that name a tank whose name is typed anew.

    draft: what is typed; row: (kind, sign) of the form.
    """
    if row[0] != "tank" or draft.proposal.renamed.get(draft.proposal.in_force((*row, "name"))) is None:
        return {}
    found = draft.proposal.followers(row[1])
    return {"name": f"Follows here: {', '.join(found)}."} if found else {}


def _where(place: Place, draft: RigDraft) -> str:
    section = next((s for s in SECTIONS if place and place[0] in s.kinds), None)
    if section is None:  # a limit, or what forms don't know
        label = draft.label(next(path for path, _ in draft.checked.problems if draft.proposal.place(path) == place))
        if place[:1] != ("limit",):
            return label
        name, _, key = label.removeprefix("limit.").rpartition(".")
        return f"Limit {name}, {key.replace('_', ' ')} (on the Limits page)"
    kind = place[0]
    name = "" if kind in SINGLE else draft.proposal.value((*place[:2], "name")) or _unnamed(
        section, kind, place[1], draft.proposal)
    keys = {key.name: key.label for key in TABLES[kind] if applies(
        key, lambda other: draft.proposal.value((*place[:2], *other.split("."))))}
    label = next((keys[".".join(place[2:n])] for n in range(len(place), 2, -1) if ".".join(place[2:n]) in keys), "")
    word = section.word(kind)
    return ", ".join(part for part in (f"{word[:1].upper()}{word[1:]} {name}".strip(), label.lower()) if part)


def _order(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("inf")


def _row(section: RigSection, kind: str, sign: str, draft: RigDraft) -> RigRow:
    proposal = draft.proposal
    place = (kind, sign)
    wrong = any(at[:2] == place for at in draft.problems())
    typed = sign.startswith("+") or any(at[:2] == place for at in proposal.typed)
    if kind in SINGLE:
        told = any(proposal.value((kind, sign, key.name)) for key in TABLES[kind])
        name, what = section.word(kind), "described" if told else "not set"
    else:
        name = proposal.value((*place, "name")) or _unnamed(section, kind, sign, proposal)
        what = _what(kind, sign, proposal)
    return RigRow(kind, sign, WRONG if wrong else TYPED if typed else "", name, what)


def _unnamed(section: RigSection, kind: str, sign: str, proposal: Proposal) -> str:
    own = {"string": "pipe", "tour": "code"}.get(kind)
    said = proposal.value((kind, sign, own)) if own else ""
    return said or f"({section.word(kind)})"


def _what(kind: str, sign: str, proposal: Proposal) -> str:
    def value(key: str) -> str:
        return proposal.value((kind, sign, key))

    if kind == "tank":
        return value("role")
    if kind == "pump":
        return value("output") or value("type")
    if kind == "section":
        bottom = value("bottom")
        return bottom or value("kind")
    if kind == "string":
        return value("length") or "all the rest"
    if kind == "valve":
        return value("tank")
    if kind == "tour":
        return value("start")
    return value("role") if kind == "crew" else value("holds")
