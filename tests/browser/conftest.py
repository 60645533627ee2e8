"""Fixtures of the browser tests: the demo laboratory's site, a headless Chromium, and pages whose errors fail the test.

Every page opens from its file, without a server. A page that writes an error to the console, throws one, shows a
dialog or asks for anything outside the site fails the test that opened it.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

from pipelines.site import building
from pipelines.site.writing import Folder

ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
HEIGHT = 900
CHECKED_AT = datetime(2026, 10, 1, 3, 30)
"""The time of the last check on the pages of tests; long ago, so that the line on their age is visible."""

DRAW_ALL = """async () => {
    if (!window.sheetlorePage) return;
    const { page, draw } = window.sheetlorePage;
    await Promise.all(Object.keys(page.figures).map(draw));
}"""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder as one that needs a browser."""
    for item in items:
        if item.path.is_relative_to(Path(__file__).parent):
            item.add_marker("browser")


@pytest.fixture(scope="session")
def demo_site(demo_night, made_once) -> Path:
    """The site of the demo laboratory after its first run; tests only read it."""

    def make(folder: Path) -> Path:
        building.build(demo_night.snapshot, Folder(folder / "site"), CHECKED_AT)
        return folder / "site"

    return made_once("demo-site", make)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A headless Chromium, one per module, because its event loop would disturb the loops of other tests."""
    executable = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=executable, args=[*ARGUMENTS])
        yield chromium
        chromium.close()


@pytest.fixture
def opened(browser: Browser, demo_site: Path) -> Iterator[Callable[..., Page]]:
    """Open pages, by their path within the demo laboratory's site or within ``site``, and watch them to the test's end.

    A page has a second to load its scripts; charts in sight are drawn soon after, all of them by ``drawn``.
    """
    contexts, faults = [], []

    def open_page(
        path: str, width: int = 1200, scheme: str = "light", site: Path = demo_site, fragment: str = ""
    ) -> Page:
        context = browser.new_context(viewport={"width": width, "height": HEIGHT}, color_scheme=scheme)
        contexts.append(context)
        page = context.new_page()
        own = (site.as_uri() + "/", "data:", "blob:")
        page.on("console", lambda line: line.type in ("error", "warning") and faults.append(line.text))
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("dialog", lambda dialog: (faults.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.on("request", lambda asked: asked.url.startswith(own) or faults.append(f"request: {asked.url}"))
        page.on("requestfailed", lambda asked: faults.append(f"failed: {asked.url}"))
        page.goto((site / path).as_uri() + fragment)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not faults


@pytest.fixture(scope="session")
def drawn() -> Callable[[Page], Page]:
    """Draw every figure of a page, also those out of sight."""

    def draw(page: Page) -> Page:
        page.evaluate(DRAW_ALL)
        return page

    return draw


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], list[str]]:
    """Run axe-core on a page; returns each accessibility violation as its rule and the elements.

    Dark pages differ from light ones in their colours alone, so that only contrast is checked.
    """
    checker = Axe()

    def violations(page: Page) -> list[str]:
        # without «preload» it asks for no style sheet again, which the page's own policy would refuse
        options: dict[str, Any] = {"preload": False, "resultTypes": ["violations"]}
        if page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches"):
            options["runOnly"] = ["color-contrast"]
        found = checker.run(page, options=options).response["violations"]
        return [f"{rule['id']}: {[node['html'][:200] for node in rule['nodes'][:5]]}" for rule in found]

    return violations
