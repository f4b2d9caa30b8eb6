"""The office in a real browser: take a job in, look at it, make its pack, and take that in elsewhere."""

import io
import zipfile

from playwright.sync_api import expect

from webapp import paths

SAMPLE = paths.SAMPLE_JOBS / "tidal_creek_drain"


def zipped(folder):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path in [folder / "job.json", *sorted((folder / "photos").iterdir())]:
            archive.write(path, path.relative_to(folder).as_posix())
    return out.getvalue()


def test_a_job_goes_in_and_comes_out_as_a_pack(visitor, live_server, tmp_path):
    one = visitor(live_server.url, accept_downloads=True)
    one.allowed.append("status of 422")  # the refusal below: the browser reports it, the page explains it
    page, held = one.page, []
    page.route("**/office.js*", lambda route: held.append(route))
    with page.expect_request("**/office.js*"):
        page.goto(f"{live_server.url}/office", wait_until="commit")
    page.get_by_text("No job has come in yet").wait_for()
    expect(page.get_by_role("button", name="Take it in")).to_be_disabled()  # nobody would hear it yet
    held[0].continue_()
    page.unroute("**/office.js*")

    page.get_by_label("A job pack, a job file").set_input_files(
        {"name": "odd.zip", "mimeType": "application/zip", "buffer": b"PK nothing"}
    )
    page.get_by_role("button", name="Take it in").click()
    page.get_by_text("The zip is damaged or incomplete.").wait_for()

    page.get_by_label("A job pack, a job file").set_input_files(
        {"name": "creek.zip", "mimeType": "application/zip", "buffer": zipped(SAMPLE)}
    )
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", name="Embankment drain, outfall to Tessamer Creek").wait_for()
    assert page.locator("img").count() == 7
    page.evaluate("() => Promise.all([...document.images].map((i) => (i.loading = 'eager', i.decode())))")

    page.get_by_role("button", name="Make the pack").click()
    page.get_by_role("progressbar").wait_for()
    with page.expect_download(timeout=120_000) as download:
        page.get_by_role("link", name="Download the pack").click(timeout=120_000)
    pack = tmp_path / download.value.suggested_filename
    download.value.save_as(pack)
    with zipfile.ZipFile(pack) as archive:
        assert {"report.pdf", "manifest.json", "job.json"} <= set(archive.namelist())

    page.goto(f"{live_server.url}/office")
    page.get_by_label("A job pack, a job file").set_input_files(pack)
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", name="Embankment drain, outfall to Tessamer Creek").wait_for()
    assert len(list((live_server.folder / "photos").rglob("*"))) == 15, (
        "seven folders, seven photos, the mark: none twice"
    )


# Links that stand alone or in a table and are too low for a thumb.
LOW = """() => [...document.querySelectorAll('main p > a:only-child, main td > a')].filter((a) =>
  a.parentElement.textContent.trim() === a.textContent.trim() && a.getBoundingClientRect().height < 43.9
).map((a) => a.textContent)"""


def test_the_office_fits_a_phone_and_a_thumb(visitor, live_server):
    one = visitor(live_server.url)
    one.page.set_viewport_size({"width": 320, "height": 700})
    one.page.goto(f"{live_server.url}/office")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 320
    for path, links in (("/office/phones", 2), ("/office/audit", 1)):
        one.page.goto(live_server.url + path)
        assert one.page.locator("main p > a:only-child").count() == links
        assert one.page.evaluate(LOW) == []
