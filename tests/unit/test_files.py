"""Results appear whole or not at all, nothing is overwritten unasked, and every refusal is one sentence."""

import errno
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from sim.cli import main
from sim.errors import RampwalkError
from sim.files import (
    LOCK,
    check_target,
    inside,
    locked,
    make_folder,
    new_files,
    path_text,
    plain_cell,
    read_limited,
    reason_of,
    safe_cell,
    write_file,
)

ROOT = Path(__file__).parents[2]
WALK = ["walk", "--strides", "1"]


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def no_room(*_arguments, **_more):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


# -------------------------------------------------------------------------------- whole or not at all
def test_files_appear_together_when_all_is_done(tmp_path):
    with new_files(tmp_path) as scratch:
        assert scratch.parent == tmp_path
        (scratch / "a.txt").write_text("a")
        (scratch / "b.csv").write_text("b")
        assert not (tmp_path / "a.txt").exists()
    assert names_in(tmp_path) == ["a.txt", "b.csv"]


@pytest.mark.parametrize("failure", [RuntimeError, KeyboardInterrupt, SystemExit])
def test_a_failure_leaves_nothing_behind(tmp_path, failure):
    def write_and_fail():
        with new_files(tmp_path) as scratch:
            (scratch / "a.txt").write_text("half")
            raise failure

    with pytest.raises(failure):
        write_and_fail()
    assert names_in(tmp_path) == []


@pytest.mark.parametrize("step", ["mkdtemp", "write", "fsync", "link"])
def test_a_full_disk_is_one_sentence_and_the_old_file_stays(tmp_path, monkeypatch, step):
    path = tmp_path / "result.json"
    path.write_text("old")
    target = {
        "mkdtemp": "sim.files.tempfile.mkdtemp",
        "write": "pathlib.Path.write_bytes",
        "fsync": "os.fsync",
        "link": "pathlib.Path.replace",
    }
    monkeypatch.setattr(target[step], no_room)
    with pytest.raises(RampwalkError, match=r"--json = .*result.* cannot be written: the disk is full; |: the disk is"):
        write_file(path, "new", force=True, option="--json")
    monkeypatch.undo()
    assert path.read_text() == "old"
    assert names_in(tmp_path) == ["result.json"]


def test_a_process_that_is_killed_leaves_no_half_file(tmp_path):
    code = (
        "import sys, time; from pathlib import Path; from sim.files import new_files\n"
        f"with new_files(Path({str(tmp_path)!r})) as scratch:\n"
        "    file = (scratch / 'a.txt').open('w'); file.write('half'); file.flush()\n"
        "    print('ready', flush=True); time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=ROOT) as process:
        assert process.stdout.readline() == "ready\n"
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert not (tmp_path / "a.txt").exists()
    write_file(tmp_path / "a.txt", "whole")
    assert (tmp_path / "a.txt").read_text() == "whole"


# -------------------------------------------------------------------------------- nothing replaced unasked
def test_an_older_file_is_replaced_only_when_asked(tmp_path):
    path = tmp_path / "a.txt"
    write_file(path, "old")
    with pytest.raises(RampwalkError, match="exists; give another name, or --force to replace it"):
        write_file(path, "new")
    with pytest.raises(RampwalkError, match="--force"):
        check_target(path, "--json", force=False)
    assert path.read_text() == "old"
    assert check_target(path, "--json", force=True) == path
    write_file(path, "new", force=True)
    assert path.read_text() == "new"


def test_a_file_that_appears_meanwhile_is_not_replaced(tmp_path, monkeypatch):
    """Between the last look and the renaming another program makes the file."""
    path = tmp_path / "a.txt"
    link = os.link

    def late(source, target):
        path.write_text("theirs")
        return link(source, target)

    monkeypatch.setattr("os.link", late)
    with pytest.raises(RampwalkError, match="exists"):
        write_file(path, "mine")
    assert path.read_text() == "theirs"


def test_one_file_in_the_way_keeps_all_others_out(tmp_path):
    (tmp_path / "b.csv").write_text("old")

    def write_two():
        with new_files(tmp_path) as scratch:
            (scratch / "a.txt").write_text("a")
            (scratch / "b.csv").write_text("b")

    with pytest.raises(RampwalkError, match=r"b\.csv exists"):
        write_two()
    assert names_in(tmp_path) == ["b.csv"]
    assert (tmp_path / "b.csv").read_text() == "old"


def test_a_disk_without_hard_links_is_good_enough(tmp_path, monkeypatch):
    def refuse(*_arguments):
        raise OSError(errno.EPERM, "no links")

    monkeypatch.setattr("os.link", refuse)
    write_file(tmp_path / "a.txt", "a")
    assert names_in(tmp_path) == ["a.txt"]


def test_a_link_planted_in_the_folder_is_replaced_not_followed(tmp_path):
    victim, folder = tmp_path / "victim", tmp_path / "out"
    victim.write_text("mine")
    folder.mkdir()
    (folder / "a.txt").symlink_to(victim)
    with pytest.raises(RampwalkError, match="exists"):
        write_file(folder / "a.txt", "new")
    write_file(folder / "a.txt", "new", force=True)
    assert victim.read_text() == "mine"
    assert (folder / "a.txt").read_text() == "new"


# -------------------------------------------------------------------------------- places that cannot be
@pytest.mark.parametrize("given", ["", "nowhere/a.txt", ".", "/", "a\0b", "x" * 300, "x" * 5000, "/dev/null", "\ud800"])
@pytest.mark.parametrize("force", [False, True])
def test_targets_that_cannot_be(tmp_path, monkeypatch, given, force):
    monkeypatch.chdir(tmp_path)
    if given == "\ud800":  # written by some systems for a byte that is no letter; not on this one
        given = "nowhere\ud800/a.txt"
    if given == "x" * 300:
        with pytest.raises(RampwalkError):
            write_file(check_target(given, "--json", force), "text", force, "--json")
    else:
        with pytest.raises(RampwalkError) as caught:
            check_target(given, "--json", force)
        assert str(caught.value).isprintable()
    assert names_in(tmp_path) == []


@pytest.mark.parametrize("given", ["", "a\0b", "file/below", "x" * 300])
def test_folders_that_cannot_be(tmp_path, monkeypatch, given):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(RampwalkError, match="--out"):
        make_folder(given)


@pytest.mark.parametrize("name", ["with space", "Übung ↘ 坂道", "quote'\"", "semi;colon & more", "-dash", "%d {0}"])
def test_any_letters_in_paths(tmp_path, name, capsys):
    folder = make_folder(tmp_path / name / name)
    path = folder / f"{name}.json"
    assert main([*WALK, f"--json={path}", f"--figure={folder / name}.png"]) == 0
    assert capsys.readouterr().out == ""
    assert json.loads(path.read_text())["scenario"]["strides"] == 1
    assert names_in(folder) == sorted([f"{name}.json", f"{name}.png", f"{name}.csv"])
    assert main([*WALK, f"--json={path}"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert name in said


def test_a_read_only_folder_is_found_out_before_the_walk():
    """In another process, which gives up the administrator's right to write anywhere."""
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        folder = Path(place) / "read only"
        folder.mkdir(mode=0o555)
        code = (
            "import os, sys; from sim.cli import main\n"
            "main(['walk', '--json=/nowhere/a.json'])\n"  # loads what is needed while it can still be read
            "if os.geteuid() == 0: os.setuid(65534)\n"
            f"sys.exit(main(['walk', '--strides', '1', {f'--json={folder}/a.json'!r}]))"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 2
    assert done.stderr.splitlines()[1].startswith("rampwalk: --json = ")
    assert "cannot be written: no permission" in done.stderr


def test_a_folder_without_permission(tmp_path, monkeypatch):
    """The same for any user: the system says no."""
    monkeypatch.setattr("os.access", lambda *_: False)
    with pytest.raises(RampwalkError, match="no permission"):
        check_target(tmp_path / "a.txt", "--json", force=False)
    with pytest.raises(RampwalkError, match="no permission"):
        make_folder(tmp_path)


@pytest.mark.parametrize("name", ["", ".", "..", "../a", "/etc/a", "a/b", "a\\b", "c:a", "a\0", "a\nb"])
def test_no_name_leads_out_of_the_folder(tmp_path, name):
    with pytest.raises(RampwalkError, match="is not a plain file name"):
        inside(tmp_path, name)
    assert inside(tmp_path, "walk 1 <b>.csv").parent == tmp_path


def test_messages_are_printable_and_plain():
    assert path_text("a\nb\x1b") == r"'a\nb\x1b'"
    assert path_text("Übung ↘") == "Übung ↘"
    assert path_text("") == "''"
    assert reason_of(OSError(errno.EROFS, "x")) == "the disk is read-only"
    assert reason_of(OSError(9999, "odd")) == "odd"


# -------------------------------------------------------------------------------- one writer per folder
def test_a_folder_has_one_writer(tmp_path):
    code = (
        "import sys, time; from pathlib import Path; from sim.files import locked\n"
        f"with locked(Path({str(tmp_path)!r})):\n"
        "    print('ready', flush=True); sys.stdin.readline()\n"
    )
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True, "cwd": ROOT}
    with subprocess.Popen([sys.executable, "-c", code], **pipes) as process:
        assert process.stdout.readline() == "ready\n"
        said = rf"another run \(process {process.pid}\) is writing there; wait for it or give another"
        with pytest.raises(RampwalkError, match=said), locked(tmp_path):
            pass
        process.send_signal(signal.SIGKILL)  # however the holder ends, the folder is free again
        process.wait()
    deadline = time.monotonic() + 10.0
    with locked(tmp_path):
        assert time.monotonic() < deadline
        assert names_in(tmp_path) == [LOCK]
    assert names_in(tmp_path) == []


def test_the_lock_is_let_go_after_a_failure(tmp_path):
    def fail():
        with locked(tmp_path):
            raise RuntimeError

    for _ in range(2):
        with pytest.raises(RuntimeError):
            fail()


def test_of_many_at_once_one_writes(tmp_path):
    """Eight processes begin together and try for a while; never are two inside."""
    code = (
        "import os, sys, time; from pathlib import Path; from sim.files import locked\n"
        "from sim.errors import RampwalkError\n"
        f"folder = Path({str(tmp_path)!r}); inside = folder / 'inside'; end = time.monotonic() + 1.5; turns = 0\n"
        "while time.monotonic() < end:\n"
        "    try:\n"
        "        with locked(folder):\n"
        "            descriptor = os.open(inside, os.O_CREAT | os.O_EXCL); os.close(descriptor)\n"
        "            inside.unlink(); turns += 1\n"
        "    except RampwalkError: pass\n"
        "print(turns)\n"
    )
    run = [sys.executable, "-c", code]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True, "cwd": ROOT}
    processes = [subprocess.Popen(run, **pipes) for _ in range(4)]
    told = [process.communicate(timeout=120) for process in processes]
    assert [err for _, err in told] == [""] * 4
    assert sum(int(out) for out, _ in told) > 10


# -------------------------------------------------------------------------------- reading and cells
def test_reading_has_a_limit(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b"12345")
    assert read_limited(path, 5, "table") == b"12345"
    with pytest.raises(RampwalkError, match="is larger than 4 bytes; give a smaller table"):
        read_limited(path, 4, "table")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1", "'", "'=1", "''", "=cmd|' /C calc'!A0"])
def test_no_cell_is_a_formula(text):
    cell = safe_cell(text)
    assert cell == f"'{text}"
    assert plain_cell(cell) == text


@pytest.mark.parametrize("text", ["", "walk", "a=b", " =1", "1-2", "<script>"])
def test_other_cells_stay_as_they_are(text):
    assert safe_cell(text) == text == plain_cell(text)
