"""Long lists held small: cells made when they are asked for, keys of rows as numbers, where rows are in a file.

A sweep of 100,000 walks then costs its parent some ten bytes a row and list, not some hundred.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from array import array
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Generic, TypeVar, overload

import numpy as np
from numpy.typing import NDArray

Item = TypeVar("Item")
Values = dict[str, object]


class _Made(Sequence[Item], Generic[Item]):
    """A list whose items are made when they are asked for."""

    @abstractmethod
    def item(self, index: int) -> Item:
        """Item at an index of 0 or more."""

    @overload
    def __getitem__(self, index: int) -> Item: ...

    @overload
    def __getitem__(self, index: slice) -> list[Item]: ...

    def __getitem__(self, index: int | slice) -> Item | list[Item]:
        if isinstance(index, slice):
            return [self.item(k) for k in range(*index.indices(len(self)))]
        place = index + len(self) if index < 0 else index
        if not 0 <= place < len(self):
            raise IndexError(index)
        return self.item(place)

    def __iter__(self) -> Iterator[Item]:
        return map(self.item, range(len(self)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Sequence):
            return NotImplemented
        return len(self) == len(other) and all(a == b for a, b in zip(self, other, strict=True))

    __hash__ = None  # type: ignore[assignment]  # compared by content, like a list


class CellGrid(_Made[Values]):
    """Every combination of some values, the last axis changing fastest."""

    def __init__(self, axes: Mapping[str, Sequence[object]]) -> None:
        self.axes = {name: tuple(values) for name, values in axes.items()}
        self.size = math.prod(len(values) for values in self.axes.values())

    def __len__(self) -> int:
        return self.size

    def item(self, index: int) -> Values:
        """Cell at an index."""
        places = []
        for values in reversed(self.axes.values()):
            index, place = divmod(index, len(values))
            places.append(values[place])
        return dict(zip(self.axes, reversed(places), strict=True))


class CellColumns(_Made[Values]):
    """Cells from one column of values per setting.

    Parameters
    ----------
    names : sequence of str
    cells : iterable of dict
        Each with these names; taken one at a time.
    """

    def __init__(self, names: Sequence[str], cells: Iterable[Mapping[str, object]]) -> None:
        held: dict[str, Any] = {name: array("d") for name in names}
        self.size = 0
        for cell in cells:
            for name in names:
                column, value = held[name], cell[name]
                if isinstance(column, array) and type(value) is not float:
                    column = held[name] = list(column)
                column.append(value)
            self.size += 1
        self.columns = held

    def __len__(self) -> int:
        return self.size

    def item(self, index: int) -> Values:
        """Cell at an index."""
        return {name: column[index] for name, column in self.columns.items()}


class Chosen(_Made[Item]):
    """Some items of another list.

    Parameters
    ----------
    items : sequence
    places : iterable of int
    """

    def __init__(self, items: Sequence[Item], places: Iterable[int]) -> None:
        self.items, self.places = items, array("q", places)

    def __len__(self) -> int:
        return len(self.places)

    def item(self, index: int) -> Item:
        """Item at an index."""
        return self.items[self.places[index]]


class Replaced(_Made[Item]):
    """Another list with some items replaced, by index."""

    def __init__(self, items: Sequence[Item], others: Mapping[int, Item]) -> None:
        self.items, self.others = items, others

    def __len__(self) -> int:
        return len(self.items)

    def item(self, index: int) -> Item:
        """Item at an index."""
        return self.others[index] if index in self.others else self.items[index]


class KeyList(_Made[str]):
    """Keys of rows, 16 hexadecimal digits each, held as numbers."""

    def __init__(self, keys: Iterable[str]) -> None:
        self.numbers = array("Q", (int(key, 16) for key in keys))

    def __len__(self) -> int:
        return len(self.numbers)

    def item(self, index: int) -> str:
        """Key at an index."""
        return f"{self.numbers[index]:016x}"

    def first_places(self) -> list[int]:
        """Where each key comes for the first time, rising."""
        if not self.numbers:
            return []
        found: list[int] = np.sort(np.unique(np.array(self.numbers, np.uint64), return_index=True)[1]).tolist()
        return found


class RowIndex:
    """Where rows are in a file, and how their walks ended; of rows with the same key the last one counts."""

    def __init__(self) -> None:
        self._keys, self._starts, self._ended = array("Q"), array("q"), bytearray()
        self._words: list[str] = []
        self._sorted: tuple[NDArray[np.uint64], NDArray[np.int64]] | None = None

    def add(self, key: str, start: int, outcome: str) -> None:
        """Add a row that begins at a byte of the file. Raises ValueError if the key is not one."""
        number = int(key, 16)
        if outcome not in self._words:
            self._words.append(outcome)
        self._keys.append(number)
        self._starts.append(start)
        self._ended.append(self._words.index(outcome))
        self._sorted = None

    def _place(self, key: str) -> int | None:
        if self._sorted is None:
            keys = np.array(self._keys, np.uint64)
            order = np.argsort(keys, kind="stable")
            self._sorted = keys[order], order
        keys, order = self._sorted
        number = np.uint64(int(key, 16))
        at = int(np.searchsorted(keys, number, "right")) - 1
        return int(order[at]) if at >= 0 and keys[at] == number else None

    def start(self, key: str) -> int | None:
        """Where the row begins [bytes]; None if there is none."""
        place = self._place(key)
        return None if place is None else self._starts[place]

    def outcome(self, key: str) -> str | None:
        """How the walk ended; None if there is no row."""
        place = self._place(key)
        return None if place is None else self._words[self._ended[place]]
