"""First a guess, then the walk; and everything that can be pressed, dragged or typed."""

import re

import pytest

from sim.lesson.frames import SAMPLE_S
from sim.lesson.plan import SAME_PEAK_BW
from tests.browser.lesson_on_screen import CELLS, ENOUGH, FALLS, SOFT, compare, go_to, moment, shown_walk, value


def test_nothing_is_shown_before_the_guess(open_page):
    page = open_page(clock=True)
    compare(page, (1, FALLS), (1, ENOUGH))
    assert page.is_visible("#guess")
    assert not page.is_visible("#verdict")
    for side in "ab":
        assert page.text_content(f"#walker-{side} .outcome") == "?"
        assert not page.is_visible(f"#walker-{side} .readouts")
        assert "fell" not in page.get_attribute(f"#walker-{side} .stage", "aria-label")
    assert page.is_disabled("#scrub")
    page.keyboard.press("Space")
    page.keyboard.press("ArrowRight")
    page.click("#play", force=True)
    page.click("#walker-a [data-plot=knee]")
    page.clock.run_for(500)
    assert moment(page) == 0
    assert "guess" in page.text_content("#verdict")
    assert page.text_content("#walker-a .outcome") == "?"


@pytest.mark.parametrize("answer", ["both", "b"])
def test_the_guess_is_held_against_the_walk_when_it_has_been_seen(open_page, rows, answer):
    assert [rows[3 + FALLS]["outcome"], rows[3 + ENOUGH]["outcome"]] == ["fell", "walked"]
    page = open_page(clock=True)
    page.select_option("#choose-question", "fall")
    compare(page, (1, FALLS), (1, ENOUGH))
    page.click(f"[data-answer={answer}]")
    page.clock.run_for(300)
    assert page.text_content("#walker-a .outcome") == "?"
    page.clock.run_for(8000)
    said = page.text_content("#verdict")
    assert ("right" in said) == (answer == "b")
    assert "only B" in said
    assert "fell" in page.text_content("#walker-a .outcome")
    assert "walked" in page.text_content("#walker-b .outcome")
    page.click("#guess-again")
    assert page.is_visible("#guess")
    assert page.text_content("#walker-a .outcome") == "?"


@pytest.mark.parametrize("question", ["peak", "leg"])
def test_the_answer_follows_from_the_numbers(open_page, rows, question):
    page = open_page()
    page.select_option("#choose-question", question)
    compare(page, (1, SOFT), (1, ENOUGH))
    page.click("#no-guess")
    page.click("#show-answer")
    said = page.text_content("#verdict")
    numbers = [rows[3 + place]["numbers"] for place in (SOFT, ENOUGH)]
    if question == "peak":
        values, words = [each["sound_peak_force_bw"] for each in numbers], ("A's", "B's")
    else:
        values = [numbers[1][f"{side}_peak_force_bw"] for side in ("prosthetic", "sound")]
        words = ("the prosthetic foot", "the sound foot")
    same = abs(values[0] - values[1]) < SAME_PEAK_BW
    assert f"In the model: {'about the same' if same else words[int(values[0] < values[1])]}." in said
    shown = [float(number) for number in re.findall(r"(\d\.\d\d) body weights", said)]
    for each in values:  # the page rounds a half up, Python to even
        assert min(abs(number - each) for number in shown) < 0.0051


def test_sliders_jump_to_computed_walks_and_ask_anew(open_page):
    page = open_page()
    page.focus("#resistance-b")
    page.keyboard.press("End")
    assert shown_walk(page, "b")["walk"] == cell_place(page, "b")
    assert value(page, "resistance-b") == str(ENOUGH)
    before = page.text_content("#changed")
    page.click("#no-guess")
    assert value(page, "step-a") == "1"
    page.focus("#step-a")
    page.keyboard.press("ArrowLeft")
    assert shown_walk(page, "a")["walk"] == cell_place(page, "a")
    assert page.text_content("#changed") != before
    assert page.is_visible("#guess")
    assert page.get_attribute("#step-a", "aria-valuetext") == "50 cm"
    assert page.text_content("#comparisons .own")
    assert str(len(CELLS)) in page.text_content("#snap")


def cell_place(page, side):
    return 3 * int(value(page, f"step-{side}")) + int(value(page, f"resistance-{side}"))


def test_one_sentence_says_what_changed(open_page):
    page = open_page()
    compare(page, (0, ENOUGH), (1, ENOUGH))
    said = page.text_content("#changed")
    assert "step length" in said
    assert "50 cm" in said
    assert "A is also slower" in said
    compare(page, (1, SOFT), (1, ENOUGH))
    said = page.text_content("#changed")
    assert "A's gives way more easily" in said
    assert "25" in said
    compare(page, (0, SOFT), (1, ENOUGH))
    assert "Two things differ" in page.text_content("#changed")
    compare(page, (1, ENOUGH), (1, ENOUGH))
    assert "same walk" in page.text_content("#changed")


def test_play_pause_slow_scrub_and_steps(open_page):
    page = open_page(clock=True)
    page.click("#no-guess")
    page.clock.run_for(100)
    start = moment(page)
    page.clock.run_for(1000)
    assert moment(page) - start == pytest.approx(1 / SAMPLE_S, abs=5)
    page.click("#play")
    held = moment(page)
    page.clock.run_for(500)
    assert moment(page) == held
    page.click("#forward")
    assert moment(page) == held + 1
    page.click("#back")
    page.click("#back")
    assert moment(page) == held - 1
    page.check("input[name=speed][value='1']", force=True)
    page.click("#play")
    page.clock.run_for(100)
    start = moment(page)
    page.clock.run_for(1000)
    assert moment(page) - start == pytest.approx(0.25 / SAMPLE_S, abs=3)
    page.click("#play")
    go_to(page, 37)
    assert page.text_content("#time") == "0.37 s"
    assert page.get_attribute("#scrub", "aria-valuetext") == "0.37 s"


def test_keys(open_page):
    page = open_page(clock=True)
    page.click("#no-guess")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Space")
    assert page.text_content("#play") == "Play"
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    assert moment(page) == 11
    page.keyboard.press("ArrowLeft")
    assert moment(page) == 10
    for key, speed in (("s", "2"), ("s", "1"), ("f", "2")):
        page.keyboard.press(key)
        assert page.evaluate("document.querySelector('input[name=speed]:checked').value") == speed
    page.keyboard.press("Space")
    page.clock.run_for(200)
    assert page.text_content("#play") == "Pause"
    assert moment(page) > 10


@pytest.mark.slow
def test_everything_can_be_reached_and_pressed_with_the_tabulator(open_page):
    page = open_page()
    reached = []
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.dataset.answer"))
        if reached[-1] == "a":
            break
    page.keyboard.press("Enter")
    assert page.text_content("#play") == "Pause"
    for _ in range(20):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id"))
    wanted = {"slope", "step-a", "resistance-a", "step-b", "resistance-b", "back", "forward", "scrub"}
    wanted |= {"choose-question"}
    assert wanted <= set(reached)


@pytest.mark.slow
def test_touch_drags_through_time(open_page):
    page = open_page("phone", has_touch=True, is_mobile=True)
    page.tap("#no-guess")
    page.tap("#play")
    plot = page.locator("#walker-b [data-plot=knee]")
    size = plot.bounding_box()

    def tap(share):  # waits until the page no longer scrolls
        plot.tap(position={"x": share * size["width"], "y": size["height"] / 2})

    tap(0.4)
    first = moment(page)
    tap(0.8)
    assert 0 < first < moment(page)
    assert page.text_content("#play") == "Play"


@pytest.mark.slow
def test_ready_lessons_open(open_page):
    page = open_page()
    for lesson in ("steps", "resistance", "sound"):
        page.click(f"[data-lesson={lesson}]")
        assert page.get_attribute(f"[data-lesson={lesson}]", "aria-pressed") == "true"
        for button in range(page.locator("#comparisons button").count()):
            page.locator("#comparisons button").nth(button).click()
            page.click("#no-guess")
            page.click("#show-answer")
            assert "In the model" in page.text_content("#verdict")
            assert "ule of thumb" in page.text_content("#verdict")
