"""Bytes to text: what is certain is taken, what could be several things is asked. Nothing is replaced or left out."""

from __future__ import annotations

import codecs
import io
import re
from dataclasses import dataclass

from dipbook.exchange.tables import LONGEST_LINE
from dipbook.findings import Finding

OFFERED = ("utf-8", "windows-1252", "iso-8859-1", "windows-1250", "windows-1251", "cp437", "cp850", "utf-16-le",
           "utf-16-be")
"""What a person is offered where the bytes don't say it themselves."""

KNOWN = frozenset({
    *OFFERED, "utf-16", "windows-1253", "windows-1254", "windows-1255", "windows-1256", "windows-1257", "windows-1258",
    *(f"iso-8859-{n}" for n in (2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 14, 15, 16)), "cp852", "cp866", "koi8-r", "koi8-u",
    "mac-roman", "shift_jis", "euc-jp", "gb18030", "gbk", "big5", "euc-kr"})
"""What may be chosen by name."""

SAMPLE_BYTES = 65_536
SAMPLES_SHOWN = 4

_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, ""), (codecs.BOM_UTF32_BE, ""),
          (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_NAMES = {codecs.lookup(name).name: name for name in sorted(KNOWN)}


@dataclass(frozen=True, slots=True)
class Encoding:
    """How bytes are read as text.

    name: the encoding in use, "" while it has to be asked. certain: True if the bytes show it themselves.
    guess: the likeliest where it is asked, "" for none.
    """

    name: str
    certain: bool
    guess: str = ""


def named(text: str) -> str | None:
    """The encoding that a person names, as it is called here; None for one that isn't known. text: as typed."""
    try:
        return _NAMES.get(codecs.lookup(text.strip()).name)
    except (LookupError, ValueError):
        return None


def look(data: bytes) -> Encoding:
    """The encoding that the bytes show, or a guess to be asked. data: the file's bytes."""
    for mark, name in _MARKS:
        if data.startswith(mark):
            return Encoding(name, bool(name))
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return Encoding("", False, _guess(data))
    if b"\0" in data[:SAMPLE_BYTES]:
        return Encoding("", False, _guess(data))
    return Encoding("utf-8", True)


def decode(data: bytes, encoding: str, name: str) -> tuple[str, Finding | None]:
    """The text, and what keeps it from being one (then the text is ""). Controls, zero characters and lines that are
    far too long are refused with their place.

    data: the file's bytes; encoding: one of KNOWN, or as ``look`` says; name: of the file, for messages.
    """
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        return "", Finding(f"byte 0x{data[error.start]:02X} is no character in {shown(encoding)}: choose another "
                           "encoding, or save the file as CSV UTF-8", code="encoding", severity="error", file=name,
                           line=line, kept=False)
    text = text.removeprefix("\ufeff")
    control = _CONTROLS.search(text)
    if control is not None:
        code = ord(control[0])
        remedy = ("the encoding is another: try windows-1252" if code >= 0x80
                  else "the file is damaged, isn't text, or is in another encoding; export it again")
        return "", Finding(f"there is a control character (U+{code:04X}) in the file: {remedy}", code="control",
                           severity="error", file=name, line=text.count("\n", 0, control.start()) + 1, kept=False)
    if len(text) > LONGEST_LINE:
        for n, line_text in enumerate(io.StringIO(text, newline=""), 1):
            if len(line_text) > LONGEST_LINE:
                return "", Finding(f"this line has {len(line_text):,} characters, more than the {LONGEST_LINE:,} that "
                                   "a row may have: it is damaged or isn't such a table", code="long_line",
                                   severity="error", file=name, line=n, kept=False)
    return text, None


def question(found: Encoding) -> str:
    """Words on a file whose encoding has to be asked. found: from ``look``."""
    guess = f"it looks like {shown(found.guess)}, which is a guess" if found.guess else "nothing shows what it is"
    return f"the file is not UTF-8, and {guess}: say the encoding, or save the file as CSV UTF-8"


def samples(data: bytes, encoding: str) -> tuple[tuple[int, str], ...]:
    """The first lines in which the encoding matters: (line, text as this encoding reads it).

    data: the file's bytes; encoding: one of KNOWN.
    """
    found: list[tuple[int, str]] = []
    text = data[:4_000_000].decode(encoding, errors="replace").removeprefix("\ufeff")
    for n, written in enumerate(io.StringIO(text, newline=""), 1):
        line = written.rstrip("\r\n")
        if not line.isascii():
            at = next(i for i, c in enumerate(line) if ord(c) > 127)
            cut = line[max(0, at - 30):at + 50]
            found.append((n, "".join(c if c.isprintable() else "\ufffd" for c in cut.replace("\t", " "))))
            if len(found) == SAMPLES_SHOWN:
                break
    return tuple(found)


def shown(encoding: str) -> str:
    """What people call an encoding. encoding: its name."""
    return encoding.removesuffix("-sig").upper() if encoding.startswith("utf") else encoding


def _guess(data: bytes) -> str:
    """The likeliest of KNOWN, "" for none: only the lines with other bytes than ASCII are looked at."""
    for wide, zeros_at in (("utf-16-le", 1), ("utf-16-be", 0)):
        half = data[zeros_at:SAMPLE_BYTES:2]
        if half and half.count(0) > 0.6 * len(half):
            return wide
    from charset_normalizer import from_bytes

    lines = [line for line in data[:4_000_000].splitlines(keepends=True) if not line.isascii()]
    part = b"".join(lines)[:SAMPLE_BYTES] or data[:SAMPLE_BYTES]
    best = from_bytes(part).best()
    told = named(str(best.encoding)) if best is not None else None
    western = ["windows-1252", "iso-8859-1"]
    for likely in western if told is None or told in western else [told, *western]:
        try:
            text = data.decode(likely)
        except UnicodeDecodeError:
            continue
        if not _CONTROLS.search(text):
            return likely
    return ""
