"""The words of the page: one file, so that a translation is one file. Texts of others stay texts."""

from __future__ import annotations

import json
import re
from pathlib import Path

from sim.errors import RampwalkError, raise_together, shown, unknown_name
from sim.files import path_text, read_limited

PAGES = Path(__file__).resolve().parents[1] / "pages" / "lesson"
LARGEST_FILE, LONGEST_TEXT = 200_000, 1_000
"""Most bytes of a file of texts, and characters of one text."""
_MARK = re.compile(r"\{(\w+)\}")
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
#: Texts that may be empty.
_MAY_BE_EMPTY = frozenset({"caution_translated"})

Texts = dict[str, str]


def default_texts() -> Texts:
    """The English texts."""
    texts: Texts = json.loads((PAGES / "texts.json").read_text(encoding="utf-8"))
    return texts


def read_texts(path: str | Path) -> Texts:
    """Texts of a translation.

    Parameters
    ----------
    path : str or Path
        JSON like `sim/pages/lesson/texts.json`: the same names, and in each text the same marks such as {count}.

    Raises
    ------
    RampwalkError
        If the file cannot be read, or naming every text at fault.
    """
    raw = read_limited(path, LARGEST_FILE, "JSON file of texts")
    try:
        given = json.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as err:
        message = f"{path_text(path)} is not JSON; begin with a copy of sim/pages/lesson/texts.json."
        raise RampwalkError(message, "--texts", str(path)) from err
    if not isinstance(given, dict):
        message = f"{path_text(path)} is not an object of names and texts; copy sim/pages/lesson/texts.json."
        raise RampwalkError(message, "--texts", str(path))
    return checked_texts(given)


def checked_texts(given: dict[str, object]) -> Texts:
    """Texts with exactly the names and marks of the English ones. Raises RampwalkError."""
    known = default_texts()
    faults = [unknown_name(str(name), known, "text") for name in given if name not in known]
    missing = [name for name in known if name not in given]
    if missing:
        told = ", ".join(missing[:5]) + (f" and {len(missing) - 5} more" if len(missing) > 5 else "")
        advice = "copy them from sim/pages/lesson/texts.json"
        faults.append(RampwalkError(f"texts are missing: {told}; {advice}.", missing[0]))
    for name, english in known.items():
        wrong = _wrong_with(name, given[name], english) if name in given else ""
        if wrong:
            faults.append(RampwalkError(f"text {name} {wrong}.", name, given[name]))
    raise_together(faults)
    return {name: str(given[name]) for name in known}


def _wrong_with(name: str, text: object, english: str) -> str:
    """What is wrong with a text and what to do, empty if nothing is."""
    if not isinstance(text, str) or len(text) > LONGEST_TEXT or not text.isprintable():
        what = f"one line of at most {LONGEST_TEXT} printable characters"
        return f"= {shown(text)} is not {what}; shorten or retype it"
    if not text.strip() and name not in _MAY_BE_EMPTY:
        return "is empty; write something"
    if name == "language" and not _LANGUAGE.fullmatch(text):
        return f"= {shown(text)} is not a language tag; write for example de"
    if name == "direction" and text not in {"ltr", "rtl"}:
        return f"= {shown(text)} is not ltr or rtl; write one of them"
    if set(_MARK.findall(text)) != set(_MARK.findall(english)):
        marks = ", ".join(f"{{{mark}}}" for mark in dict.fromkeys(_MARK.findall(english))) or "none"
        return f"must have the marks of the English one ({marks}); add or remove some"
    return ""
