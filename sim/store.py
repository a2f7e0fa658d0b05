"""Rows of a sweep on disk: written as they come, each whole or absent, found again by their key.

A folder holds `rows.csv`, one line per row in the order in which walks ended, and `sweep.json`, what they were walked
with. A line is the row as in `table.csv` and a checksum. It is handed to the system at once, so a killed program loses
nothing that it had written; what a crash of the machine left of a last line is cut off.
"""

from __future__ import annotations

import csv
import io
import json
import os
import time
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sim.compact import RowIndex
from sim.errors import RampwalkError, shown
from sim.files import locked
from sim.scenario import Scenario
from sim.table import Row, as_column, code_version, columns, csv_header, csv_row, setting_values

if TYPE_CHECKING:
    import pandas as pd

ROWS, ABOUT = "rows.csv", "sweep.json"
#: Longest time after which rows are on the disk itself, not only with the operating system [s] (ours).
SYNC_S = 2.0
_OUTCOME = columns().index("outcome")
_CHECK = ",check\n"


class Store:
    """Rows of one sweep in a folder; made by `open_store`."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.index = RowIndex()
        self.dropped = 0
        flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
        self._file = os.open(folder / ROWS, flags, 0o644)
        self._end = 0
        self._synced = time.monotonic()

    def __contains__(self, key: str) -> bool:
        """Whether a walk has its row; one that crashed is walked again."""
        return self.index.outcome(key) not in {None, "crashed"}

    def add(self, rows: Iterable[Row]) -> None:
        """Append rows; a later row of the same key counts."""
        lines = [(str(row["key"]), _checked_line(row), str(row["outcome"])) for row in rows]
        _write_all(self._file, b"".join(line for _, line, _ in lines))
        for key, line, outcome in lines:
            self.index.add(key, self._end, outcome)
            self._end += len(line)
        if time.monotonic() - self._synced > SYNC_S:
            self.sync()

    def outcome(self, key: str) -> str:
        """How a walk ended. Raises KeyError if it has no row."""
        outcome = self.index.outcome(key)
        if outcome is None:
            raise KeyError(key)
        return outcome

    def sync(self) -> None:
        """Have the system put everything on the disk."""
        os.fsync(self._file)
        self._synced = time.monotonic()

    def lines(self, keys: Iterable[str]) -> Iterator[str]:
        """Rows of these keys as lines of `table.csv`, one at a time; keys without a row are left out."""
        with (self.folder / ROWS).open("rb") as file:
            for key in keys:
                start = self.index.start(key)
                if start is not None:
                    file.seek(start)
                    yield file.readline().decode().rpartition(",")[0]

    def write_table(self, keys: Iterable[str], path: Path) -> None:
        """`table.csv` of these keys in their order, put in place when it is whole."""
        part = path.with_name(f"{path.name}.part")
        with part.open("w", encoding="utf-8", newline="") as file:
            file.write(csv_header() + "\n")
            for line in self.lines(keys):
                file.write(line + "\n")
        part.replace(path)

    def some_columns(self, keys: Iterable[str], only: Sequence[str]) -> pd.DataFrame:
        """Table of these keys in their order with a few columns."""
        import pandas as pd

        places = [columns().index(name) for name in only]
        found = [[fields[place] for place in places] for fields in csv.reader(self.lines(keys))]
        data = {name: as_column(name, [row[k] for row in found]) for k, name in enumerate(only)}
        return pd.DataFrame(data)

    def close(self) -> None:
        """Everything on disk, file closed."""
        self.sync()
        os.close(self._file)

    def read(self) -> None:
        """Find the whole rows of the file, and cut off what is left of a torn one at its end."""
        header = (csv_header() + _CHECK).encode()
        with (self.folder / ROWS).open("rb") as file:
            found = file.readline()
            if found.endswith(b"\n") and found != header:
                raise _other(self.folder, f"{ROWS} there has other columns")
            if found == header:
                self._end = len(found)
                for line in file:
                    if not line.endswith(b"\n"):
                        self.dropped += 1
                        break
                    self._note(line)
                    self._end += len(line)
        os.truncate(self.folder / ROWS, self._end)
        if not self._end:
            _write_all(self._file, header)
            self._end = len(header)

    def _note(self, line: bytes) -> None:
        row, _, check = line[:-1].rpartition(b",")
        if check != _checksum(row):
            self.dropped += 1
            return
        fields = next(csv.reader(io.StringIO(row.decode())))
        try:
            self.index.add(fields[0], self._end, fields[_OUTCOME])
        except (ValueError, IndexError, OverflowError):  # whole, and not a row of ours
            self.dropped += 1


def _checked_line(row: Row) -> bytes:
    line = csv_row(row).encode()
    return line + b"," + _checksum(line) + b"\n"


def _checksum(line: bytes) -> bytes:
    return f"{zlib.crc32(line):08x}".encode()


def _write_all(file: int, data: bytes) -> None:
    while data:
        data = data[os.write(file, data) :]


# -------------------------------------------------------------------------------- what the rows belong to
@contextmanager
def open_store(folder: Path, base: Scenario, fresh: bool = False) -> Iterator[Store]:
    """Store of a sweep, locked against other programs while the block runs.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.
    base : Scenario
        What all walks share, with the settings of the engine (`numerics`).
    fresh : bool
        Start over: rows that are there are deleted.

    Raises
    ------
    RampwalkError
        If rows are there that were walked by other code or from other settings, or another program writes there.
    OSError
        If the folder cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with locked(folder):
        store = Store(folder)
        try:
            if fresh:
                os.truncate(folder / ROWS, 0)
                (folder / ABOUT).unlink(missing_ok=True)
            _claim(folder, {"code_version": code_version(), "base": setting_values(base)})
            store.read()
            yield store
        finally:
            store.close()


def _claim(folder: Path, mine: Mapping[str, Any]) -> None:
    """Write down what the rows belong to, or compare with what is written there. Raises RampwalkError."""
    about, rows = folder / ABOUT, folder / ROWS
    if not about.is_file():
        if rows.stat().st_size > len(csv_header()) + len(_CHECK):
            raise _other(folder, f"{ROWS} there has no {ABOUT} beside it that says how its rows were made")
        part = about.with_name(f"{ABOUT}.part")
        part.write_text(json.dumps(mine, indent=2) + "\n", encoding="utf-8")
        part.replace(about)
        return
    try:
        theirs = json.loads(about.read_text(encoding="utf-8"))
        base, code = dict(theirs["base"]), str(theirs["code_version"])
    except (ValueError, KeyError, TypeError) as err:
        raise _other(folder, f"{ABOUT} there cannot be read") from err
    if code != mine["code_version"]:
        raise _other(folder, f"its rows were made by other code, gains or libraries ({code}, now {code_version()})")
    changed = [name for name in {**base, **mine["base"]} if base.get(name, ...) != mine["base"].get(name, ...)]
    if changed:
        raise _other(folder, f"its rows were made with {_changes(changed, base, mine['base'])}")


def _changes(names: Sequence[str], theirs: Mapping[str, Any], mine: Mapping[str, Any]) -> str:
    told = [f"{name} = {shown(theirs.get(name))}, not {shown(mine.get(name))}" for name in names[:3]]
    more = f" and {len(names) - 3} more settings" if len(names) > 3 else ""
    return ", ".join(told) + more


def _other(folder: Path, why: str) -> RampwalkError:
    remedy = "give another folder (--out), or --fresh to delete it and start over"
    message = f"{folder} holds another sweep: {why}; {remedy}."
    return RampwalkError(message, "--out", str(folder))
