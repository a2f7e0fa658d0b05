"""On any screen, without colours, without motion, by ear."""

import time

import pytest

from tests.browser.lesson_on_screen import moment

THREE = ("phone", "laptop", "projector")
MORE = ("small phone", "phone on its side")


@pytest.mark.parametrize("phase", ["before", "after"])
@pytest.mark.parametrize("size", [*THREE, *(pytest.param(size, marks=pytest.mark.slow) for size in MORE)])
def test_nothing_runs_over_the_edge(open_page, size, phase):
    page = open_page(size)
    page.click("#about summary")
    if phase == "after":
        page.click("#no-guess")
        page.click("#show-answer")
        page.click("#play")
    wide = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide[0] <= wide[1]
    over = page.evaluate(
        """() => [...document.querySelectorAll('button, output, figcaption, legend, p, dt, dd, label, h1, h2, select')]
          .filter((part) => part.offsetParent && !part.closest('.hidden-text'))
          .filter((part) => { const box = part.getBoundingClientRect();
            return box.left < -0.5 || box.right > innerWidth + 0.5 || part.scrollWidth > part.clientWidth + 1 && part.clientWidth; })
          .map((part) => part.id + part.tagName + part.textContent)"""  # noqa: E501
    )
    assert over == []
    small = page.evaluate(
        """() => [...document.querySelectorAll('button, select, input[type=range]')].filter((part) => part.offsetParent)
          .filter((part) => part.getBoundingClientRect().height < 24).map((part) => part.id + part.textContent)"""
    )
    assert small == []


@pytest.mark.parametrize("size", ["laptop", "projector"])
def test_walkers_and_curves_are_seen_without_scrolling(open_page, size):
    page = open_page(size)
    page.click("#no-guess")
    every = "[...document.querySelectorAll('.plot')].map((plot) => plot.getBoundingClientRect().bottom)"
    player = "document.getElementById('player').getBoundingClientRect().top"
    bottoms, top = page.evaluate(f"[{every}, {player}]")
    assert max(bottoms) <= top


def test_reduced_motion_is_respected(open_page):
    page = open_page(reduced_motion="reduce", clock=True)
    page.click("#no-guess")
    page.clock.run_for(1000)
    assert moment(page) == 0
    assert page.text_content("#play") == "Play"
    assert "In the model" in page.text_content("#verdict")
    assert page.get_attribute("#walker-a [data-plot=force] .whole", "visibility") == "visible"
    page.click("#play")  # asked for
    page.clock.run_for(300)
    assert moment(page) > 0


def test_reduced_motion_switched_on_later_stops_the_walkers(open_page):
    page = open_page(reduced_motion="no-preference", clock=True)
    page.click("#no-guess")
    assert page.text_content("#play") == "Pause"
    page.emulate_media(reduced_motion="reduce")
    deadline = time.monotonic() + 30
    while page.text_content("#play") == "Pause" and time.monotonic() < deadline:
        time.sleep(0.05)  # the browser tells the page with its next picture
    assert page.text_content("#play") == "Play"


def test_every_control_and_picture_has_a_name(open_page):
    page = open_page()
    page.click("#no-guess")
    page.click("#show-answer")
    nameless = page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, svg[role=img], nav, [role=group]')]
          .filter((part) => { const by = document.getElementById(part.getAttribute('aria-labelledby'));
          const names = [part.getAttribute('aria-label'), part.labels && part.labels[0] && part.labels[0].textContent,
            by && by.textContent, part.tagName === 'BUTTON' && part.textContent];
          return !names.some((name) => name && name.trim()); }).map((part) => part.outerHTML.slice(0, 80))"""
    )
    assert nameless == []
    assert page.get_attribute("html", "lang") == "en"
    assert page.get_attribute("#verdict", "aria-live") == "polite"
    label = page.get_attribute("#walker-a [data-plot=force]", "aria-label")
    assert "body weights" in label


def test_legs_differ_in_line_and_joints_not_only_in_colour(open_page):
    page = open_page()
    style = "(part) => getComputedStyle(document.querySelector(part)).strokeDasharray"
    for part in ("limb", "curve"):
        place = ".leg.{} .limb" if part == "limb" else ".built .curve.{}"
        assert page.evaluate(style, place.format("sound")) == "none"
        assert page.evaluate(style, place.format("prosthetic")) != "none"
    assert page.locator(".leg.sound circle.joint").count() == page.locator(".leg.prosthetic rect.joint").count() > 0
