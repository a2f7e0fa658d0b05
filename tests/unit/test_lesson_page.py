"""One file, nothing loaded, every text a text."""

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from sim.activities.walk import walk
from sim.caution import CAUTION, SAFETY_PAGE
from sim.cli import main
from sim.errors import RampwalkError
from sim.grid import axes_of, cells_of
from sim.lesson import page as page_module
from sim.lesson.page import SCRIPTS, json_for_page, lesson_data, lesson_rows, page_of, walks_text
from sim.lesson.plan import LESSONS, QUESTIONS, lesson_base
from sim.lesson.texts import PAGES, checked_texts, default_texts, read_texts
from sim.plots.data import RESISTANCE, SLOPE, STEP
from sim.scenario import Scenario

ROOT = Path(__file__).parents[2]
AXES = axes_of({SLOPE: (-10.0,), STEP: (0.5, 0.55), RESISTANCE: (10.0, 40.0)})
BASE = Scenario(strides=2)
HOSTILE = [
    "<script>document.title='taken'</script>",
    "</script></title></style><img src=x onerror=document.title=1>",
    "\"><svg onload=alert(1)>",
    "]]><!-- & &amp; &#60; <!--<script",
    "$caution $walks $$ $",
]


@pytest.fixture(scope="module")
def rows():
    return lesson_rows(BASE, AXES)


@pytest.fixture(scope="module")
def made(rows):
    def make(texts=None):
        return page_of(lesson_data(BASE, AXES, rows), walks_text(rows), texts)

    return make


class Page(HTMLParser):
    """Tags in order, attributes, and the content of each script and style."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.attributes, self.inside, self.text = [], [], {}, ""
        self.now = None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += attributes
        if tag in {"script", "style"}:
            self.now = dict(attributes).get("id", tag)
            self.inside[self.now] = ""

    def handle_endtag(self, tag):
        if tag in {"script", "style"}:
            self.now = None

    def handle_data(self, data):
        if self.now:
            self.inside[self.now] += data
        else:
            self.text += data


def test_the_page_holds_the_walks_in_the_order_of_the_grid(made, rows):
    page = Page(made())
    data = json.loads(page.inside["lesson-data"])
    cells = cells_of(AXES)
    assert {name: tuple(values) for name, values in data["axes"].items()} == AXES
    assert len(data["walks"]) == len(cells) == len(rows)
    text = page.inside["lesson-walks"]
    assert sum(told["length"] for told in data["walks"]) == len(text)
    for told, row in zip(data["walks"], rows, strict=True):
        piece = text[told["begin"] : told["begin"] + told["length"]]
        assert base64.b64decode(piece, validate=True) == row["packed"]
        assert told["outcome"] == row["outcome"]
    assert {row["outcome"] for row in rows} == {"walked", "fell"}


def test_nothing_is_loaded_and_only_its_own_script_may_run(made):
    text = made()
    page = Page(text)
    policy = next(value for name, value in page.attributes if name == "content" and "default-src" in value)
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    for kind in ("script", "style"):
        digest = base64.b64encode(hashlib.sha256(page.inside[kind].encode()).digest()).decode()
        assert rules[f"{kind}-src"] == f"'sha256-{digest}'"
    assert "unsafe" not in policy
    assert not {"link", "img", "iframe", "object", "base", "form"} & set(page.tags)
    assert not {"src", "href", "srcset", "action"} & {name for name, _ in page.attributes}
    assert not [name for name, _ in page.attributes if name.startswith("on")]
    plain = text.replace("http://www.w3.org/2000/svg", "")  # a name, not an address
    assert not re.search(r"https?:|//[a-z]+\.|@import|url\((?!#)", plain)
    script = page.inside["script"]
    for word in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(", "fetch(",
                 "XMLHttpRequest", "WebSocket", "sendBeacon", "import(", "localStorage", "cookie"):  # fmt: skip
        assert word not in script


def test_the_caution_and_the_safety_page_are_on_it(made):
    page = Page(made())
    assert CAUTION in page.text
    assert SAFETY_PAGE in page.text
    assert (ROOT / SAFETY_PAGE).is_file()


@pytest.mark.parametrize("said", HOSTILE)
def test_texts_of_others_stay_texts(made, said):
    given = {name: said + "".join(re.findall(r"\{\w+\}", text)) for name, text in default_texts().items()}
    texts = checked_texts(given | {"language": "en", "direction": "ltr"})
    page, plain = Page(made(texts)), Page(made())
    assert page.tags == plain.tags
    assert [name for name, _ in page.attributes] == [name for name, _ in plain.attributes]
    assert page.text.count(said) > 10
    assert json.loads(page.inside["lesson-texts"]) == texts
    assert page.inside["script"] == plain.inside["script"]
    assert CAUTION in page.text


def test_json_inside_a_page_cannot_end_its_element():
    value = {"a": "</script><!--<script>&amp;"}
    assert not set(json_for_page(value)) & set("<>&")
    assert json.loads(json_for_page(value)) == value


def test_every_text_that_the_script_asks_for_exists_and_every_text_is_used():
    script = "".join((PAGES / name).read_text(encoding="utf-8") for name in SCRIPTS)
    page = (PAGES / "page.html").read_text(encoding="utf-8")
    texts = default_texts()
    asked = set(re.findall(r"say\('(\w+)'", script)) | set(re.findall(r"'(\w+)'", script)) & set(texts)
    assert set(re.findall(r"say\('(\w+)'", script)) <= set(texts)
    used = asked | set(re.findall(r"\$t_(\w+)", page))
    used |= {f"answer_{question}_{answer}" for question, answers in QUESTIONS.items() for answer in answers}
    used |= {f"{kind}_{question}" for question in QUESTIONS for kind in ("question", "topic")}
    used |= {f"lesson_{lesson}" for lesson in LESSONS}
    used |= {f"rule_{lesson}_{k + 1}" for lesson, comparisons in LESSONS.items() for k in range(len(comparisons))}
    used |= {f"outcome_{outcome}" for outcome in ("walked", "fell", "stalled", "invalid", "crashed")}
    used |= {f"fell_{way}{early}" for way in ("forward", "backward") for early in ("", "_early")}
    used |= {f"plot_{plot}{unit}" for plot in ("force", "knee", "mass") for unit in ("", "_unit")}
    used |= {f"legend_{name}" for name in ("sound", "prosthetic", "mass", "arrow")}
    assert used == set(texts)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"title": ""}, "empty"),
        ({"title": 3}, "printable"),
        ({"title": "a\nb"}, "printable"),
        ({"title": "x" * 2000}, "at most"),
        ({"snap": "no mark"}, "{count}"),
        ({"title": "{count}"}, "marks"),
        ({"language": "<b>"}, "language tag"),
        ({"direction": "up"}, "ltr or rtl"),
        ({"titel": "x"}, "did you mean 'title'"),
    ],
)
def test_a_wrong_translation_is_refused_in_one_sentence(tmp_path, capsys, changes, words):
    path = tmp_path / "texts.json"
    path.write_text(json.dumps(default_texts() | changes), encoding="utf-8")
    assert main(["lesson", "--texts", str(path), "--out", str(tmp_path / "x.html")]) == 2
    said = capsys.readouterr()
    assert words in said.err
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert not (tmp_path / "x.html").exists()


@pytest.mark.parametrize("content", [b"", b"[]", b"{", b"\xff\xfe", b"{}", b"[" * 100_000, b" " * 300_000])
def test_a_file_that_is_no_texts_is_refused(tmp_path, content):
    path = tmp_path / "texts.json"
    path.write_bytes(content)
    with pytest.raises(RampwalkError):
        read_texts(path)


def test_a_translation_is_used(made, tmp_path):
    path = tmp_path / "texts.json"
    path.write_text(json.dumps(default_texts() | {"title": "Zwei gehen bergab", "language": "de"}), encoding="utf-8")
    page = made(read_texts(path))
    assert '<html lang="de" dir="ltr">' in page
    assert page.count("<title>Zwei gehen bergab</title>") == 1


def test_an_older_page_is_kept_unless_asked(tmp_path, capsys):
    target = tmp_path / "lesson.html"
    target.write_text("mine")
    assert main(["lesson", "--out", str(target)]) == 2
    assert "--force" in capsys.readouterr().err
    assert target.read_text() == "mine"


def test_a_page_is_named_as_one(tmp_path, capsys):
    assert main(["lesson", "--out", str(tmp_path / "lesson.txt")]) == 2
    assert "must end in .html" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_the_command_writes_the_page_and_says_what_is_in_it(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(page_module, "lesson_axes", lambda _small: AXES)
    target = tmp_path / "lesson.html"
    assert main(["lesson", "--small", "--workers", "1", "--out", str(target)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("4 walks: ")
    assert CAUTION in said
    assert len(json.loads(Page(target.read_text(encoding="utf-8")).inside["lesson-data"])["walks"]) == 4


def test_no_page_comes_of_walks_that_all_failed():
    with pytest.raises(RampwalkError, match="no walk of the lesson"):
        lesson_rows(BASE, {SLOPE: (-99.0,), STEP: (0.5,), RESISTANCE: (40.0,)})


def luminance(colour):
    wide = "".join(2 * digit for digit in colour) if len(colour) == 3 else colour
    parts = [int(wide[k : k + 2], 16) / 255 for k in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_enough_for_texts_and_lines():
    """4.5 for text, 3 for lines that carry meaning (Web Content Accessibility Guidelines 2.2, from memory)."""
    colours = dict(re.findall(r"--([a-z]+): #([0-9a-f]{3,6})", (PAGES / "page.css").read_text(encoding="utf-8")))
    for name in ("ink", "soft"):
        for ground in ("paper", "panel"):
            assert contrast(colours[name], colours[ground]) >= 4.5, (name, ground)
    for name in ("sound", "prosthetic", "mass", "line", "focus"):
        assert contrast(colours[name], colours["paper"]) >= 3.0, name
    assert contrast("6b6b6b", colours["paper"]) >= 4.5


@pytest.mark.slow
def test_the_whole_lesson_is_below_three_megabytes_and_holds_every_walk(tmp_path, capsys):
    target = tmp_path / "lesson.html"
    assert main(["lesson", "--out", str(target)]) == 0
    assert target.stat().st_size < 3_000_000
    told = json.loads(Page(target.read_text(encoding="utf-8")).inside["lesson-data"])
    assert len(told["walks"]) >= 5 * 5 * 6
    assert all(each["length"] > 0 for each in told["walks"])
    assert "walked" in capsys.readouterr().out
    index = 3 * 6 * 8 + 2 * 8 + 4  # -8 deg, 0.5 m, 40 N m s/rad, as `rampwalk walk` would make it
    cell = cells_of({name: tuple(values) for name, values in told["axes"].items()})[index]
    assert cell == {SLOPE: -8.0, STEP: 0.5, RESISTANCE: 40.0}
    again = walk(Scenario(slope_deg=-8.0, step_length_m=0.5, strides=lesson_base().strides))
    assert told["walks"][index]["numbers"]["sound_peak_force_bw"] == pytest.approx(
        again.metrics["sound_peak_force_bw"], abs=1e-3
    )
