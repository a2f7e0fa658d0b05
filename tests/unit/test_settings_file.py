"""Settings files from anyone: every fault with its line, and nothing that a file can do but be refused."""

import time
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.errors import MOST_FAULTS, RampwalkError
from sim.scenario import Scenario, from_toml, to_toml
from sim.settings_file import LARGEST_FILE
from sim.toml_lines import key_lines

TEXT = """# a comment = 3
name = "a = b # no comment"  # slope_deg = 1
slope_deg = [
  1, # one
  "]",
]

  [ person ]
mass_kg = 80
"stature_m" = 1.8
limbs = '''
knee = 3
'''
[knee]
law.x.y = 1
foot = { a = 1, b = { c = 2 } }
prosthetic_side = \"\"\"a
[contact]
\\\"\"\" b\"\"\"
friction = 1979-05-27T07:32:00Z
[[many]]
one = 1
[[many]]
two = 2
"""


def lines_of(text):
    return key_lines(text, tomllib.loads(text))


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_every_key_is_found_on_its_line(end):
    found = lines_of(TEXT.replace("\n", end))
    assert found == {
        "name": 2,
        "slope_deg": 3,
        "person": 8,
        "person.mass_kg": 9,
        "person.stature_m": 10,
        "person.limbs": 11,
        "knee": 14,
        "knee.law": 15,
        "knee.law.x": 15,
        "knee.law.x.y": 15,
        "knee.foot": 16,
        "knee.foot.a": 16,
        "knee.foot.b": 16,
        "knee.foot.b.c": 16,
        "knee.prosthetic_side": 17,
        "knee.friction": 20,
        "many": 21,
    }


def test_the_lines_of_a_written_scenario_are_those_of_its_text():
    text = to_toml(Scenario(name="[knee]"))
    found = lines_of(text)
    rows = text.splitlines()
    assert len(found) > 40
    for name, line in found.items():
        assert rows[line - 1].lstrip("[").startswith(name.rpartition(".")[2])


@given(st.text(alphabet="ab.=[]{}\"'#\\\n\r 1,", max_size=60))
def test_lines_of_any_text_that_is_toml_are_lines_of_it(text):
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        data = {}
    assert all(1 <= line <= text.count("\n") + 1 for line in key_lines(text, data).values())


def refused(tmp_path, content):
    path = tmp_path / "walk.toml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(RampwalkError) as caught:
        from_toml(path)
    return caught.value


def test_a_single_fault_has_file_and_line(tmp_path):
    error = refused(tmp_path, "# mine\n\nslope_deg = -90\n")
    assert str(error).startswith(f"{tmp_path / 'walk.toml'}, line 3: slope_deg = -90 deg is outside -20 to 15 deg")
    assert (error.name, error.value) == ("slope_deg", -90)


def test_all_faults_have_their_lines(tmp_path):
    content = "slop_deg = 5\nspeed_m_s = 1\ncadence_steps_per_min = 90\n[knee]\nload_on_n = 50\nload_off_n = 60\n"
    error = refused(tmp_path, content)
    first, *rest = str(error).splitlines()
    assert first.endswith("walk.toml has 3 faults:")
    assert [line.strip().partition(":")[0] for line in rest] == ["line 1", "lines 5 and 6", "lines 2 and 3"]
    assert [fault.name for fault in error.faults] == ["slop_deg", "knee.load_off_n", "speed_m_s"]


def test_a_contradiction_with_a_default_names_the_line_that_is_there(tmp_path):
    assert ", line 2: knee.load_off_n = 300 N must be below" in str(refused(tmp_path, "[knee]\nload_off_n = 300\n"))


def test_a_byte_order_mark_does_no_harm(tmp_path):
    path = tmp_path / "walk.toml"
    path.write_bytes(b"\xef\xbb\xbfslope_deg = -5\n")
    assert from_toml(path).slope_deg == -5.0


HOSTILE = {
    "number of many digits": "strides = " + "9" * 90_000,
    "number out of range": "slope_deg = 1e400",
    "negative number of many digits": "[person]\nmass_kg = -" + "1" * 4000,
    "no date": "slope_deg = 2024-99-99",
    "deep array": "a = " + "[" * 20_000 + "]" * 20_000,
    "deep inline table": "a = " + "{a=" * 20_000 + "1" + "}" * 20_000,
    "nested as deep as a line allows": "a = " + "[" * 990 + "]" * 990,
    "deep key": ".".join(["a"] * 40_000) + " = 1",
    "deep header": "[" + ".".join(["a"] * 40_000) + "]",
    "long key": "a" * 90_000 + " = 1",
    "many keys": "".join(f"slope_{i} = 1\n" for i in range(5_000)),
    "many tables": "".join(f"[kne{i}]\n" for i in range(8_000)),
    "zero bytes": b"\0" * 100,
    "not unicode": b"name = '\xff\xfe'",
    "escape sequence": 'name = "\\u001b[2J"',
    "right-to-left mark": 'name = "a\\u202eb"',
    "many deep keys": "".join(".".join([f"a{i}"] * 300) + " = 1\n" for i in range(60)),
    "python": "!!python/object/apply:os.system ['true']",
    "pickle": b"\x80\x04\x8c\x05posix\x94.",
    "section as number": "person = 3",
    "number as section": "[slope_deg]",
    "list of sections": "[[person]]",
    "infinite": "[knee]\nflexion_resistance = inf",
    "not a number": "slope_deg = nan",
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_hostile_files_are_refused_shortly_and_soon(tmp_path, kind):
    start = time.process_time()
    error = refused(tmp_path, HOSTILE[kind])
    assert time.process_time() - start < 5.0
    assert "walk.toml" in str(error)
    assert len(str(error)) < 250 * (MOST_FAULTS + 2)
    assert str(error).replace("\n", "").isprintable()


def test_a_large_file_is_refused_without_reading_it_whole(tmp_path):
    path = tmp_path / "walk.toml"
    with path.open("wb") as file:
        file.truncate(10 * 1024**3)  # takes no room on disk
    with pytest.raises(RampwalkError, match=f"is larger than {LARGEST_FILE} bytes"):
        from_toml(path)
    with pytest.raises(RampwalkError, match="is larger than"):
        from_toml("/dev/zero")


@pytest.mark.parametrize("path", [None, 3, b"walk.toml", "", "a\0b", "x" * 5000, "nowhere/walk.toml", "/"])
def test_paths_that_are_none(path):
    with pytest.raises(RampwalkError):
        from_toml(path)
