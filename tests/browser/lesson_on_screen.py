"""The small lesson that all browser tests open, and what can be read of and done to its page."""

import json

import numpy as np

from sim.body import TOE
from sim.grid import axes_of, cells_of
from sim.plots.data import RESISTANCE, SLOPE, STEP, ground_heights
from sim.scenario import Scenario

AXES = axes_of({SLOPE: (-10.0,), STEP: (0.5, 0.55), RESISTANCE: (10.0, 25.0, 40.0)})
BASE = Scenario(strides=3)
CELLS = cells_of(AXES)
FALLS, SOFT, ENOUGH = 0, 1, 2  # places on the axis of resistance
SIZES = {"phone": (390, 844), "small phone": (320, 568), "phone on its side": (844, 390), "laptop": (1366, 768),
         "projector": (1920, 1080)}  # fmt: skip


def value(page, name):
    return page.evaluate(f"document.getElementById({json.dumps(name)}).value")


def set_slider(page, name, place):
    page.evaluate(
        "([name, place]) => { const input = document.getElementById(name); input.value = place;"
        " input.dispatchEvent(new Event('input', { bubbles: true })); }",
        [name, str(place)],
    )


def compare(page, a, b):
    """Choose two walks by (step, resistance) places."""
    for side, (step, resistance) in zip("ab", (a, b), strict=True):
        set_slider(page, f"step-{side}", step)
        set_slider(page, f"resistance-{side}", resistance)


def moment(page):
    return int(value(page, "scrub"))


def go_to(page, place):
    set_slider(page, "scrub", place)


def shown_walk(page, side):
    data = page.evaluate(f"({{...document.querySelector('#walker-{side} .stage').dataset}})")
    return {name: float(text) for name, text in data.items()}


def joints_on_screen(page, side):
    """Centre of every joint from the upper left corner of its picture [px], y down: the page may be scrolling."""
    return page.evaluate(
        "(side) => { const picture = document.querySelector(`#walker-${side} .stage`).getBoundingClientRect();"
        " return Object.fromEntries([...document.querySelectorAll(`#walker-${side} .joint`)].map((joint) => {"
        " const box = joint.getBoundingClientRect();"
        " return [joint.dataset.joint,"
        " [box.x + box.width / 2 - picture.x, box.y + box.height / 2 - picture.y]]; })); }",
        side,
    )


def picture_on_screen(page, side):
    """Width and height of the picture, and the head in it from its upper left corner (left, top, right) [px]."""
    return page.evaluate(
        "(side) => { const box = (name) => document.querySelector(`#walker-${side} ${name}`).getBoundingClientRect();"
        " const picture = box('.stage'), head = box('.head');"
        " return [picture.width, picture.height,"
        " [head.left - picture.x, head.top - picture.y, head.right - picture.x]]; }",
        side,
    )


def ground_on_screen(page, side):
    """Points of the line of the ground from the upper left corner of the picture [px], y down."""
    return np.array(page.evaluate(
        "(side) => { const ground = document.querySelector(`#walker-${side} .ground`);"
        " const picture = document.querySelector(`#walker-${side} .stage`).getBoundingClientRect();"
        " const to = ground.getScreenCTM(); const seen = (point) => point.matrixTransform(to);"
        " return [...ground.points].slice(0, -2).map(seen)"
        ".map((point) => [point.x - picture.x, point.y - picture.y]); }",
        side,
    ))  # fmt: skip


def joints_of_walk(result, frame):
    """Places of the same joints [m], y up."""
    series = result.series
    places = {"hip": series.hip[frame]}
    for leg, side in enumerate(("prosthetic", "sound")):
        places |= {f"{side}-knee": series.knee[frame, leg], f"{side}-ankle": series.ankle[frame, leg]}
        places[f"{side}-toe"] = series.sole[frame, leg, TOE]
    return places


def height_above_ground(result, place):
    """Plumb height of a place above the ground [m]."""
    return float(place[1] - ground_heights(result.scenario, np.array([place[0]]))[0])
