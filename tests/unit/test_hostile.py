"""Texts of others stay texts: in pages, pictures, tables and JSON."""

import ast
import json
import shutil
import subprocess
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

import pandas as pd
import pytest

from sim.activities.walk import walk
from sim.cli import main
from sim.errors import RampwalkError
from sim.pages.demo import demo_page
from sim.plots import save_figure, walk_figure
from sim.plots.data import walk_data
from sim.scenario import Scenario, from_toml, to_toml
from sim.survey import Survey, default_axes
from sim.survey_figures import FIGURES
from sim.table import as_table, csv_header, csv_row, result_row, write_table
from sim.table_reader import LARGEST_TABLE, read_table

ROOT = Path(__file__).parents[2]
NAMES = [
    "<script>document.title='taken'</script>",
    "</title></style></script><img src=x onerror=document.title=1>",
    "\"><svg onload=alert(1)>",
    "]]><!-- & &amp; &#60;",
    "--><script>",
    "$\\frac{1}{0$ $$ \\input{x} %",
    "=cmd|' /C calc'!A0",
    "+1",
    "-1+1",
    "@SUM(A1)",
    "'=1",
    "../../etc/passwd",
    "{} {0} %s %(a)s $caution ${caution}",
    "a,b;\"c\"",
]


class Tags(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.attributes, self.text = [], [], ""
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += [name for name, _ in attributes]

    def handle_data(self, data):
        self.text += data


def page_saying(folder, said):
    """Page whose every text that is not the program's own is `said`."""
    for name in FIGURES:
        (folder / f"{name}.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    row = result_row(walk(Scenario(strides=1, name=said)), "key")
    survey = Survey(Scenario(strides=1, name=said), default_axes(), as_table([row]), 1.0, 1)
    return demo_page(survey, [said, said], folder, list(FIGURES), said)


@pytest.mark.parametrize("said", NAMES)
def test_a_page_keeps_every_text_a_text(tmp_path, said):
    tags, plain = Tags(page_saying(tmp_path, said)), Tags(page_saying(tmp_path, "plain"))
    assert tags.tags == plain.tags
    assert not {"script", "iframe", "object"} & set(tags.tags)
    assert not [name for name in tags.attributes if name.startswith("on")]
    assert tags.text.count(said) == 3


def test_a_page_loads_nothing_and_runs_nothing(tmp_path):
    page = page_saying(tmp_path, "plain")
    assert "default-src 'none'" in page
    assert "script-src" not in page
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "")
    assert "https://" not in page


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("chromium") is None, reason="needs a browser: apt-get install chromium")
@pytest.mark.parametrize("said", NAMES[:5])
def test_a_browser_runs_nothing(tmp_path, said):
    """The page as the browser has built it, after everything that could run had run."""
    target = tmp_path / "page.html"
    control = "<!doctype html><title>before</title><p>a</p><script>document.title='taken'</script>"
    for page, taken in ((page_saying(tmp_path, said), False), (control, True)):
        target.write_text(page, encoding="utf-8")
        profile = f"--user-data-dir={tmp_path / 'profile'}"
        run = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", profile, "--dump-dom", target.as_uri()]
        done = subprocess.run(run, capture_output=True, text=True, check=True, timeout=120)
        assert ("<title>taken" in done.stdout) == taken
        assert ("<script>" in done.stdout) == taken


@pytest.mark.parametrize("name", NAMES)
def test_a_walk_of_any_name_is_drawn_kept_and_read_back(tmp_path, name):
    scenario = Scenario(strides=1, name=name)
    path = tmp_path / "walk.toml"
    path.write_text(to_toml(scenario), encoding="utf-8")
    assert from_toml(path) == scenario
    result = walk(scenario)
    assert json.loads(json.dumps(result.to_json_dict()))["scenario"]["name"] == name
    save_figure(walk_figure(result), tmp_path / "walk.svg", walk_data(result))
    tags = {element.tag.rpartition("}")[2] for element in ET.parse(tmp_path / "walk.svg").iter()}  # ours
    assert "path" in tags
    assert not tags & {"script", "foreignObject", "image"}
    table = as_table([result_row(result, "key")])
    write_table(table, tmp_path / "table.csv")
    assert read_table(tmp_path / "table.csv").equals(table)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("way", ["table", "line"])
def test_no_cell_of_a_table_is_a_formula(tmp_path, name, way):
    row = result_row(walk(Scenario(strides=1)), "key") | {"name": name, "reason": name, "message": name}
    path = tmp_path / "table.csv"
    if way == "table":
        write_table(as_table([row]), path)
    else:
        path.write_text(f"{csv_header()}\n{csv_row(row)}\n", encoding="utf-8")
    raw = pd.read_csv(path, dtype=str, keep_default_na=False)
    for column in ("name", "reason", "message"):
        assert not raw[column][0].startswith(("=", "+", "-", "@", "\t", "\r"))
    back = read_table(path)
    assert back[["name", "reason", "message"]].iloc[0].tolist() == [name] * 3
    assert float(raw["slope_deg"][0]) == -8.0  # a number keeps its minus


def test_names_with_signs_that_cannot_be_printed_are_refused():
    for name in ("\x00", "\u202e", "\ud800", "a\nb", "\x1b]0;title\x07"):
        with pytest.raises(RampwalkError) as caught:
            Scenario(name=name)
        assert str(caught.value).isprintable()


def test_the_command_line_says_what_it_was_given_without_acting_it_out(capsys):
    for word in NAMES:
        values = (["walk", f"--law={word}"], ["walk", f"--scenario={word}"])
        for arguments in (*values, [f"--{word}"], ["walk", f"--x{word}"]):
            assert main(arguments) == 2
            said = capsys.readouterr().err
            assert said.count("\n") == 1
            assert said.startswith("rampwalk: ")


def test_nothing_in_the_package_runs_what_it_reads():
    """No pickle, eval, exec or shell anywhere in the package, and no YAML or other reader that builds objects."""
    unwanted = {"pickle", "marshal", "shelve", "yaml", "dill", "cloudpickle", "subprocess", "socket", "urllib", "http"}
    for path in (ROOT / "sim").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                assert not {alias.name.partition(".")[0] for alias in node.names} & unwanted, path
            if isinstance(node, ast.ImportFrom):
                assert (node.module or "").partition(".")[0] not in unwanted, path
            if isinstance(node, ast.Call):
                name, attribute = getattr(node.func, "id", ""), getattr(node.func, "attr", "")
                assert name not in {"eval", "exec", "compile", "__import__"}, path
                assert attribute not in {"system", "popen", "read_pickle", "loads_pickle", "eval"}, path
                assert "allow_pickle" not in {word.arg for word in node.keywords}, path


# -------------------------------------------------------------------------------- tables from others
def test_a_table_that_is_too_large_is_refused_before_it_is_read(tmp_path, monkeypatch):
    path = tmp_path / "table.csv"
    with path.open("wb") as file:
        file.truncate(LARGEST_TABLE + 1)  # a hole: it takes no room on the disk
    monkeypatch.setattr(pd, "read_csv", lambda *_, **__: pytest.fail("it was read"))
    for only in (None, ["slope_deg"]):
        with pytest.raises(RampwalkError, match="100 MB, more than the 100 MB that are read") as caught:
            read_table(path, only)
        assert "most_bytes=None if you trust it" in str(caught.value)


def test_a_trusted_table_has_no_limit(tmp_path):
    row = result_row(walk(Scenario(strides=1)), "0")
    write_table(as_table([row]), tmp_path / "table.csv")
    with pytest.raises(RampwalkError, match="more than the 0 MB"):
        read_table(tmp_path / "table.csv", most_bytes=10)
    assert len(read_table(tmp_path / "table.csv", most_bytes=None)) == 1


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "No columns"),
        (b"a,b\n1,2\n", "no columns key and outcome"),
        (b"\xff\xfe\x00\x01\x80,\n", "codec"),
        (b"key,outcome,slope_deg\n0,walked,steep\n", "could not convert string to float"),
        (b"key,outcome\n0,walked\n0,walked,more,and,more\n", "Expected 2 fields"),
        (b'key,outcome\n"' + b"x" * 1000, "EOF inside string"),
    ],
)
def test_what_is_no_table_gets_one_sentence(tmp_path, content, why):
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    with pytest.raises(RampwalkError, match=why) as caught:
        read_table(path)
    assert str(caught.value).endswith("give the table.csv of a sweep.")
    assert len(str(caught.value)) < 600


def test_a_table_that_is_not_there_or_no_file_gets_one_sentence(tmp_path):
    for path, said in (
        (tmp_path / "missing.csv", "there is no such file"),
        (tmp_path, "not a plain file"),
        ("/dev/zero", "not a plain file"),
        (tmp_path / "a\0b", "the path is not one"),
    ):
        with pytest.raises(RampwalkError, match=said):
            read_table(path)
