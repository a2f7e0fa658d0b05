"""A browser, and the small lesson opened in it; without a browser the tests are skipped and say why."""

import shutil

import pytest

from sim.lesson.page import lesson_data, lesson_rows, page_of, walks_text
from tests.browser.lesson_on_screen import AXES, BASE, SIZES

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


@pytest.fixture(scope="session")
def rows():
    return lesson_rows(BASE, AXES)


@pytest.fixture(scope="session")
def address(rows, tmp_path_factory):
    path = tmp_path_factory.mktemp("lesson") / "lesson.html"
    path.write_text(page_of(lesson_data(BASE, AXES, rows), walks_text(rows)), encoding="utf-8")
    return path.as_uri()


@pytest.fixture(scope="session")
def browser():
    api = pytest.importorskip("playwright.sync_api", reason="needs playwright: pip install playwright")
    path = next((found for found in map(shutil.which, BROWSERS) if found), None)
    if path is None:
        pytest.skip(f"needs one of {', '.join(BROWSERS)}: apt-get install chromium")
    with api.sync_playwright() as play:
        started = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def open_page(browser, address):
    """Opens the page in a window without network; at the end nothing may have been asked for or complained about."""
    contexts, faults, requests = [], [], []

    def opened(size="laptop", clock=False, where=address, **settings):
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True, **settings)
        contexts.append(context)
        context.on("request", lambda request: requests.append(request.url))
        page = context.new_page()
        page.on("console", lambda message: faults.append(message.text))
        page.on("pageerror", lambda error: faults.append(str(error)))
        if clock:  # time stands still until a test lets it run
            page.clock.install(time=0)
        page.goto(where)
        if clock:
            page.clock.pause_at(1_000_000)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert faults == []
    assert {url.rpartition("/")[2] for url in requests} <= {"lesson.html", "broken.html"}
    assert {url.partition(":")[0] for url in requests} == {"file"}
