"""Files read with a limit; results written under a temporary name and renamed; one writer per folder.

A result is there whole or not at all, an older one is replaced only when asked, and what goes wrong with a file is one
sentence.
"""

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sim.errors import RampwalkError

LOCK = ".rampwalk.lock"
"""File in a folder of results that its writer holds locked."""
_REASONS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk quota is used up",
    errno.EACCES: "no permission",
    errno.EPERM: "no permission",
    errno.EROFS: "the disk is read-only",
    errno.ENOENT: "there is no such file or folder",
    errno.ENOTDIR: "a part of the path is a file, not a folder",
    errno.EISDIR: "it is a folder",
    errno.ENAMETOOLONG: "the name is too long",
    errno.ELOOP: "its links go in a circle",
}


def path_text(path: str | Path) -> str:
    """Path for a message; what cannot be printed is escaped."""
    text = str(path)
    return text if text and text.isprintable() else ascii(text)


def reason_of(err: OSError | ValueError) -> str:
    """Why the system refused, in plain words."""
    if isinstance(err, ValueError):  # a path with a zero byte
        return "the path is not one"
    return _REASONS.get(err.errno or 0) or err.strerror or str(err)


# -------------------------------------------------------------------------------- reading
def read_limited(path: str | Path, most_bytes: int, kind: str) -> bytes:
    """Content of a file that may come from anyone.

    Parameters
    ----------
    path : str or Path
    most_bytes : int
        Larger files are refused without reading them whole.
    kind : str
        What is expected, for messages.

    Raises
    ------
    RampwalkError
        If the file cannot be read or is too large.
    """
    if not isinstance(path, str | Path):
        raise RampwalkError(f"{path!r:.60} is not the path of a {kind}; give a text.", "path", path)
    try:
        with Path(path).open("rb") as file:
            raw = file.read(most_bytes + 1)
    except (OSError, ValueError) as err:
        raise RampwalkError(
            f"cannot read {path_text(path)}: {reason_of(err)}; give a {kind}.", "path", str(path)
        ) from err
    if len(raw) > most_bytes:
        raise RampwalkError(
            f"{path_text(path)} is larger than {most_bytes} bytes; give a smaller {kind}.", "path", str(path)
        )
    return raw


# -------------------------------------------------------------------------------- writing
def unwritable(path: str | Path, err: OSError | ValueError, option: str) -> RampwalkError:
    """Error (not raised) for a file or folder that cannot be written; `option` is what named it."""
    why = reason_of(err)
    return RampwalkError(
        f"{option} = {path_text(path)!s} cannot be written: {why}; give another place or make room there.",
        option,
        str(path),
    )


def check_target(given: str | Path, option: str, force: bool) -> Path:
    """Path of a file that may be written, found out before anything long is computed.

    Parameters
    ----------
    given : str or Path
    option : str
        What named it, for messages.
    force : bool
        An older file may be replaced.

    Raises
    ------
    RampwalkError
        If it is no file, its folder does not exist or cannot be written, or it exists and `force` is false.
    """
    path = Path(given)
    try:
        exists, regular = os.path.lexists(path), path.is_file()
        possible = str(given) and "\0" not in str(given) and path.parent.is_dir() and not path.is_dir()
    except (OSError, ValueError) as err:
        raise unwritable(path, err, option) from err
    if not possible:
        said = f"{option} = {path_text(given)} is not a file in a folder that exists; make the folder first."
        raise RampwalkError(said, option, str(given))
    if exists and not regular:
        said = f"{option} = {path_text(path)} is not a plain file; give the name of a new file."
        raise RampwalkError(said, option, str(path))
    if exists and not force:
        raise _in_the_way(path, option)
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise unwritable(path, PermissionError(errno.EACCES, ""), option)
    return path


def _in_the_way(path: Path, option: str) -> RampwalkError:
    said = f"{option}: {path_text(path)} exists; give another name, or --force to replace it."
    return RampwalkError(said, option, str(path))


def inside(folder: Path, name: str) -> Path:
    """Path of the file `name` in a folder. Raises RampwalkError if the name leads anywhere else."""
    plain = name and name not in {".", ".."} and not set(name) & set("/\\:\0") and name.isprintable()
    if not plain:
        raise RampwalkError(f"{name!a} is not a plain file name; use letters, digits, - and _.", "name", name)
    return folder / name


def make_folder(given: str | Path, option: str = "--out") -> Path:
    """Folder for results, made with its parents if it does not exist. Raises RampwalkError."""
    folder = Path(given)
    if not str(given):
        raise RampwalkError(f"{option} is empty; give the name of a folder.", option, given)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as err:
        raise unwritable(folder, err, option) from err
    if not os.access(folder, os.W_OK | os.X_OK):
        raise unwritable(folder, PermissionError(errno.EACCES, ""), option)
    return folder


@contextmanager
def new_files(folder: Path, force: bool = False, option: str = "--out") -> Iterator[Path]:
    """Several files that appear in a folder together, or not at all if the block fails.

    Parameters
    ----------
    folder : Path
        Must exist.
    force : bool
        Older files of the same names may be replaced.
    option : str
        What named the folder, for messages.

    Yields
    ------
    Path
        Empty hidden folder on the same disk. Plain files that the block leaves in it are renamed into `folder`.

    Raises
    ------
    RampwalkError
        If the system refuses, inside the block too, or a file of the same name exists and `force` is false.
    """
    try:
        scratch = Path(tempfile.mkdtemp(prefix=".rampwalk-", dir=folder))
    except (OSError, ValueError) as err:
        raise unwritable(folder, err, option) from err
    try:
        yield scratch
        made = sorted(scratch.iterdir())
        targets = [inside(folder, path.name) for path in made]
        for path, target in zip(made, targets, strict=True):
            if os.path.lexists(target) and not (force and target.is_file()):
                raise _in_the_way(target, option)
            _to_disk(path)
        for path, target in zip(made, targets, strict=True):
            _rename(path, target, force, option)
    except OSError as err:
        raise unwritable(folder, err, option) from err
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


def write_file(path: Path, content: str | bytes, force: bool = False, option: str = "--out") -> None:
    """Write one file, whole or not at all; text as UTF-8. Raises RampwalkError, see `new_files`."""
    raw = content.encode("utf-8") if isinstance(content, str) else content
    with new_files(path.parent, force, option) as scratch:
        (scratch / path.name).write_bytes(raw)


def _to_disk(path: Path) -> None:
    """Make sure that the content is on the disk before the name is: a full disk may only tell now."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _rename(path: Path, target: Path, force: bool, option: str) -> None:
    if force:
        path.replace(target)
        return
    try:
        os.link(path, target)  # unlike a rename this cannot replace a file that has just appeared
    except FileExistsError as err:
        raise _in_the_way(target, option) from err
    except OSError:  # a disk without hard links
        path.rename(target)


@contextmanager
def locked(folder: Path, option: str = "--out") -> Iterator[None]:
    """Hold a folder for one writer; the system lets go of it when the process ends, however it ends.

    Where the system or the disk knows no locks, the folder is not held.

    Raises
    ------
    RampwalkError
        If another process holds it.
    """
    try:
        import fcntl
    except ImportError:  # not on every system
        yield
        return
    path = folder / LOCK
    while True:
        try:
            descriptor = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0), 0o644)
        except OSError as err:
            raise unwritable(folder, err, option) from err
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as err:
            holder = os.read(descriptor, 100).decode("ascii", "replace")
            os.close(descriptor)
            number = f" (process {holder})" if holder.isdecimal() else ""
            said = f"{option} = {path_text(folder)}: another run{number} is writing there; wait for it or give another."
            raise RampwalkError(said, option, str(folder)) from err
        except OSError:  # a network disk without locks
            os.close(descriptor)
            yield
            return
        with suppress(FileNotFoundError):
            if os.path.samestat(os.fstat(descriptor), path.stat()):
                break
        os.close(descriptor)  # its holder has just removed it; take a new one
    try:
        os.ftruncate(descriptor, 0)
        os.write(descriptor, str(os.getpid()).encode("ascii"))
        yield
    finally:
        with suppress(OSError):
            path.unlink()
        os.close(descriptor)


# -------------------------------------------------------------------------------- texts in tables
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def safe_cell(text: str) -> str:
    """Text for a cell of a CSV file that no spreadsheet program takes for a formula: `'` goes before such a beginning.

    A text that begins with `'` gets one more, so that `plain_cell` can always take it away. For columns of text only;
    numbers begin with a minus and stay.
    """
    return f"'{text}" if text.startswith((*_FORMULA_STARTS, "'")) else text


def plain_cell(cell: str) -> str:
    """The text that `safe_cell` was given."""
    return cell.removeprefix("'")
