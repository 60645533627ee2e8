"""Draw the picture that README.md begins with: a trial's page of the demo laboratory.

uv run python tests/documentation/picture.py
"""

import os
import shutil
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from pipelines.demo import laboratory as demo_laboratory
from pipelines.flows import steps

PICTURE = Path(__file__).parents[2] / "fixtures" / "readme" / "trial-page.png"
TRIAL = "jet-to-wire ladder"
WIDTH, MARGIN = 1100, 16
CHARTS = 3


def draw(site: Path, picture: Path) -> None:
    """Photograph the first charts of the trial's page in a headless Chromium."""
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": WIDTH, "height": 900}, color_scheme="light")
        page.goto((site / "index.html").as_uri())
        page.get_by_role("link", name=TRIAL).first.click()
        page.locator("figure canvas, figure svg").first.wait_for()
        boxes = [page.locator("figure").nth(number).bounding_box() for number in range(CHARTS)]
        top = min(box["y"] for box in boxes) - MARGIN
        bottom = max(box["y"] + box["height"] for box in boxes) + MARGIN
        clip = {"x": 0, "y": top, "width": WIDTH, "height": bottom - top}
        page.screenshot(path=picture, full_page=True, clip=clip)
        browser.close()


def main() -> None:
    """Make the demo laboratory in a folder of its own and draw the picture."""
    with tempfile.TemporaryDirectory() as folder:
        laboratory = demo_laboratory.write(Path(folder) / "demo-lab").laboratory
        steps.run(laboratory)
        draw(laboratory.site, PICTURE)


if __name__ == "__main__":
    main()
