"""On which line of a TOML text each key stands; the parser of the standard library does not say."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

_WORD = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
_KEY = re.compile(rf"\s*({_WORD}(?:\s*\.\s*{_WORD})*)\s*=")
_HEADER = re.compile(rf"\s*\[\[?\s*({_WORD}(?:\s*\.\s*{_WORD})*)\s*\]")
_PART = re.compile(_WORD)
#: What a value is made of, as far as it matters for where it ends: texts, comments, brackets.
_TOKEN = re.compile(
    r'''"""(?:[^\\]|\\.)*?"{3,5}|\'{3}.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|\#[^\n]*|[\[{]|[\]}]|\n|[^"\'\#\[\]{}\n]+''',
    re.DOTALL,
)
DEEPEST = 4
"""Parts of the longest names that are listed; settings have at most 2."""


def key_lines(text: str, data: Mapping[str, Any]) -> dict[str, int]:
    """Line of every key.

    Parameters
    ----------
    text : str
        TOML that the parser has accepted.
    data : mapping
        What the parser made of it.

    Returns
    -------
    dict of str to int
        Full name with dots -> line, from 1. A key of an inline table has the line of the table.
    """
    seen: dict[str, int] = {}
    for name, line in _written(text):
        seen.setdefault(name, line)
    found: dict[str, int] = {}
    _fill(data, "", None, seen, found)
    return found


def _fill(
    data: Mapping[str, Any], prefix: str, above: int | None, seen: Mapping[str, int], found: dict[str, int]
) -> None:
    """Lines of the keys of one table; those that were not seen stand where the table does."""
    for name, value in data.items():
        full = prefix + name
        line = seen.get(full, above)
        if line is not None:
            found[full] = line
        if isinstance(value, Mapping) and full.count(".") < DEEPEST - 1:
            _fill(value, f"{full}.", line, seen, found)


def _written(text: str) -> Iterator[tuple[str, int]]:
    """Keys and table headers in the order in which they are written."""
    prefix, at, line = "", 0, 1
    text = text.replace("\r\n", "\n")
    while at < len(text):
        header, key = _HEADER.match(text, at), _KEY.match(text, at)
        match = header or key
        if match:
            start, name = line + text.count("\n", at, match.start(1)), "" if header else prefix
            for part in _PART.findall(match[1])[:DEEPEST]:
                name += part.strip("\"'")
                yield name, start
                name += "."
            if header:
                prefix = name
            line += text.count("\n", at, match.end())
            at = match.end()
        end = _end_of_value(text, at)
        line += text.count("\n", at, end)
        at = end


def _end_of_value(text: str, at: int) -> int:
    """Place behind the line break that ends the value that begins at `at`."""
    depth = 0
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None:
            return len(text)  # not TOML; the parser would have said so
        at = token.end()
        if token[0] in "[{":
            depth += 1
        elif token[0] in "]}":
            depth -= 1
        elif token[0] == "\n" and depth <= 0:
            return at
    return at
