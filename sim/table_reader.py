"""A table of walks read back from its CSV file, which may come from anyone: nothing in it runs, its size is limited."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from sim.errors import RampwalkError
from sim.files import path_text, reason_of
from sim.table import as_column, as_table, is_words, with_unit

if TYPE_CHECKING:
    import pandas as pd

LARGEST_TABLE = 100_000_000
"""Largest file that is read unless the caller trusts it [bytes] (ours: 25,000 walks; some ten times that in memory)."""
#: Rows of a large table that are read together (ours: some MB of texts).
ROWS_AT_A_TIME = 2_000


def read_table(
    path: str | Path, only: Iterable[str] | None = None, most_bytes: int | None = LARGEST_TABLE
) -> pd.DataFrame:
    """Table as it was before `sim.table.write_table`.

    Parameters
    ----------
    path : str or Path
    only : iterable of str, optional
        Names of columns: just these, read in pieces, for tables too large to hold.
    most_bytes : int, optional
        Larger files are refused; None: the file is trusted, whatever its size.

    Raises
    ------
    RampwalkError
        If the file cannot be read, is too large, or is no table of walks.
    """
    import pandas as pd

    where = path_text(path)
    try:
        regular, size = Path(path).is_file(), Path(path).stat().st_size
    except (OSError, ValueError) as err:
        raise RampwalkError(f"cannot read {where}: {reason_of(err)}; give a table.csv.", "path", str(path)) from err
    if not regular:
        raise RampwalkError(f"{where} is not a plain file; give a table.csv.", "path", str(path))
    if most_bytes is not None and size > most_bytes:
        raise RampwalkError(
            f"{where} has {size / 1e6:.0f} MB, more than the {most_bytes / 1e6:.0f} MB that are read from a file of "
            "unknown origin; give a smaller table, or most_bytes=None if you trust it.",
            "path",
            str(path),
        )
    try:
        return _whole(Path(path)) if only is None else _some_columns(Path(path), {with_unit(name) for name in only})
    except (ValueError, KeyError, pd.errors.ParserError) as err:  # what pandas raises for a bad file is a ValueError
        why = " ".join(str(err).split())[:200]
        said = f"{where} is not a table of walks ({why}); give the table.csv of a sweep."
        raise RampwalkError(said, "path", str(path)) from err


def _whole(path: Path) -> pd.DataFrame:
    import pandas as pd

    table = pd.read_csv(path, dtype=str, keep_default_na=False)
    table = table.rename(columns=lambda column: str(column).partition(" [")[0])
    if not {"key", "outcome"} <= set(table.columns):
        raise ValueError("it has no columns key and outcome")
    table = table.assign(**{name: as_column(name, table[name]) for name in table.columns})
    return as_table(table.to_dict("records"))  # type: ignore[arg-type]  # its own rows


def _some_columns(path: Path, wanted: set[str]) -> pd.DataFrame:
    """Columns of these names in the file, read in pieces, so that their texts are never held together."""
    import pandas as pd

    pieces = []
    with pd.read_csv(
        path, dtype=str, keep_default_na=False, usecols=wanted.__contains__, chunksize=ROWS_AT_A_TIME
    ) as reader:
        for texts in reader:
            piece = texts.rename(columns=lambda column: str(column).partition(" [")[0])
            values = {name: as_column(name, piece[name]) for name in piece.columns}
            pieces.append(pd.DataFrame(values, index=piece.index))
    return pd.concat(pieces).astype({name: object for name in pieces[0].columns if is_words(name)})
