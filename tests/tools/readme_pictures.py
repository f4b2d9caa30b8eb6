"""Take the pictures of README.md from the running demo, into static/pictures/.

python tests/tools/readme_pictures.py
"""

import io
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "static" / "pictures"
JOB, RUN = "Foul drain of Tarnholt School", re.compile("^F1")
SIZE, QUALITY = (390, 844), 60


def keep(page: Page, name: str) -> None:
    """Write what the screen shows as a small picture."""
    page.wait_for_timeout(500)  # a message at the foot of the screen goes, and pictures are drawn
    picture = Image.open(io.BytesIO(page.screenshot()))
    picture.save(FOLDER / f"{name}.webp", quality=QUALITY, method=6)


def take(page: Page, address: str) -> None:
    """Go through the app as far as the pictures need."""
    page.goto(address)
    card = page.locator("section, li, article, div").filter(has_text=JOB)
    card.filter(has=page.get_by_role("button", name="Take onto this phone")).last.get_by_role(
        "button", name="Take onto this phone"
    ).click()
    page.get_by_role("link", name=JOB).first.click()
    job = page.url
    page.get_by_role("link", name=RUN).first.click()
    page.locator("svg").first.wait_for()
    keep(page, "log")
    page.get_by_role("link", name="Observation", exact=True).click()
    page.get_by_role("textbox", name="Counter reading").fill("37.2")
    page.get_by_role("button", name="Roots: fine").click()
    page.get_by_role("radio", name="10 %").or_(page.get_by_role("button", name="10 %")).first.click()
    keep(page, "observation")
    page.goto(job)
    page.get_by_role("link", name=re.compile("^Before you leave")).first.click()
    page.get_by_role("heading", name="Before you leave").wait_for()
    keep(page, "leave")


def main() -> None:
    """Run the demo, take the pictures, stop it."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as data:
        words = ["demo", "--data", f"{data}/demo", "--port", "0", "--quiet"]
        start = "from webapp.cli import main; main()"
        demo = subprocess.Popen(
            [sys.executable, "-u", "-c", start, *words], cwd=ROOT, stdout=subprocess.PIPE, text=True
        )
        try:
            assert demo.stdout is not None
            found = (re.search(r"Fallbook is at (http://\S+?)/ ", line) for line in demo.stdout)
            address = next(one for one in found if one)[1]
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path="/usr/bin/chromium")
                page = browser.new_page(viewport={"width": SIZE[0], "height": SIZE[1]})
                take(page, address + "/")
                browser.close()
        finally:
            demo.terminate()
            demo.wait(20)


if __name__ == "__main__":
    main()
