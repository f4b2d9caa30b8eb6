"""README's first job, step by step: what it prints in italics is what is pressed, so a renamed button is red here."""

import json
import os
import re
import signal
import time
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import expect
from zygote import command, fork

from webapp import paths

ROOT = Path(__file__).resolve().parent.parent.parent
MAX_S = 300
PICTURE = sorted((paths.SAMPLE_JOBS / "school_foul_drain" / "photos").iterdir())[0]
WORDS = re.compile(
    r'(?:(?:Under|Beside) "(?P<place>[^"]+)" press )?\*(?P<name>[^*]+)\*(?:\s+`(?P<typed>[^`]+)`)?|`(?P<way>/[a-z]+)`'
)
ROLES = ("button", "link", "textbox", "searchbox", "radio")


def steps():
    """Return the numbered steps of README's passage, each as (place, name, typed, way) in order."""
    passage = (ROOT / "README.md").read_text(encoding="utf-8").split("## A first job in five minutes")[1]
    numbered = passage.split("\n## ")[0].split("\n\n")[2]
    whole = [" ".join(one.split()) for one in re.split(r"^\d+\. ", numbered, flags=re.M) if one.strip()]
    return [[found.groupdict() for found in WORDS.finditer(one)] for one in whole]


def find(page, name, place, within_s):
    """Return the control of an accessible name: exactly that, or beginning with it, or holding it."""
    root = page
    if place:
        shown = page.locator("section, li, article, div").filter(has_text=place)
        root = shown.filter(has=page.get_by_role("button", name=name)).last
    begins, holds = re.compile(f"^{re.escape(name)}"), re.compile(re.escape(name))
    end_s = time.monotonic() + within_s
    while time.monotonic() < end_s:
        for how in ({"name": name, "exact": True}, {"name": begins}, {"name": holds}):
            for role in ROLES:
                found = root.get_by_role(role, **how)
                for one in found.all():
                    if one.is_visible() or one.get_attribute("type") in ("file", "radio"):
                        return one
        page.wait_for_timeout(100)
    raise AssertionError(
        f"README says {name!r}, and nothing of that name is on the screen:\n{page.inner_text('body')}"
    )


def press(page, name, typed=None, place=None, within_s=20):
    """Do what a reader does with one word in italics."""
    control = find(page, name, place, within_s)
    if typed:
        control.fill(typed)
    elif control.get_attribute("type") == "file":
        control.set_input_files(PICTURE)
        page.get_by_text("Photo saved on this phone.").wait_for()
    else:
        control.click()


@pytest.fixture
def demo(tmp_path):
    """The address that ``fallbook demo`` prints."""
    log = tmp_path / "demo.log"
    log.touch()
    words = ["demo", "--data", tmp_path / "demo", "--port", "0", "--quiet"]
    process = fork(words, log, {**os.environ})
    try:
        end_s = time.monotonic() + 60
        while not (found := re.search(r"Fallbook is at (http://\S+?)/ ", log.read_text("utf-8"))):
            assert process.poll() is None and time.monotonic() < end_s, log.read_text("utf-8")
            time.sleep(0.05)
        yield found[1]
    finally:
        process.send_signal(signal.SIGTERM)
        process.wait(20)


def test_the_passage_is_read_as_it_is_meant():
    """Six steps, from a sample job to a pack: so that nothing is skipped unseen."""
    names = [[one["name"] for one in step if one["name"]] for step in steps()]
    assert [len(step) for step in names] == [2, 7, 7, 8, 2, 3]
    assert names[0][0] == "Take onto this phone" and names[5][-1] == "Download the pack"
    typed = [one["typed"] for step in steps() for one in step if one["typed"]]
    assert typed == ["38.6", "76", "37.2", "38.2"]


def test_a_first_job_as_the_readme_says(demo, make_phone, tmp_path):
    started_s = time.monotonic()
    phone = make_phone(demo).open("/")
    page = phone.page
    with pytest.raises(AssertionError, match="README says"):
        press(page, "Take onto that phone", within_s=1)
    for step in steps()[:5]:
        for one in step:
            press(page, one["name"], one["typed"], one["place"])
        if one["name"] == "Before you leave":
            page.get_by_text("Nothing missing among").wait_for()
    page.get_by_text("Everything on this phone is on the server as well.").wait_for()
    way, *office, download = steps()[5]
    page.goto(demo + way["way"])
    for one in office:
        press(page, one["name"])
    expect(page.get_by_text("The pack is ready.")).to_be_visible(timeout=120_000)
    with page.expect_download() as coming:
        press(page, download["name"])
    pack = tmp_path / "pack.zip"
    coming.value.save_as(pack)
    assert time.monotonic() - started_s < MAX_S
    command(["verify", pack], tmp_path / "verify.log")
    is_full(pack)


def is_full(pack):
    """The pack has a report and every photo, and what was recorded on the way."""
    with zipfile.ZipFile(pack) as archive:
        manifest, job = (json.loads(archive.read(name)) for name in ("manifest.json", "job.json"))
        names = archive.namelist()
        assert archive.read("report.pdf").startswith(b"%PDF")
    assert manifest["photos_left_out"] == [] and manifest["conflicts"] == [] and manifest["set_aside"] == []
    assert manifest["not_closed_on_site"] == []
    taken = [r["fields"] for r in job["records"] if r["kind"] == "photo" and not r.get("removed")]
    assert all(any(one["sha256"][:16] in name or one["sha256"] in name for name in names) for one in taken)
    assert any(r["kind"] == "reading" and r["fields"].get("counter_m") == 38.6 for r in job["records"])
    roots = [r["fields"] for r in job["records"] if r["fields"].get("counter_m") == 37.2]
    assert [one["code"] for one in roots if "code" in one] == ["BBA"]
    assert len([1 for one in roots if "sha256" in one]) == 1
