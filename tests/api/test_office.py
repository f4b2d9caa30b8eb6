"""The office pages."""

import hashlib
import re

import pytest
from servers import ONE_IN_80, entries, entry, error_of

from webapp import paths
from webapp.intake.jobs import take_job
from webapp.intake.open_job import open_job
from webapp.timesource import new_id
from webapp.web.state import state_of

A, B = "writer-aaaa", "writer-bbbb"


def test_an_empty_server_says_what_to_do(server):
    page = server.client.get("/office").text
    assert "No job has come in yet" in page and 'id="take-file"' in page


@pytest.mark.parametrize("path", ["/office/jobs/{job_id}", "/office/nowhere", "/office/jobs/1/nowhere"])
def test_a_browser_is_shown_a_page_where_nothing_is(server, job_id, path):
    path = path.format(job_id=job_id)
    answer = server.client.get(path, headers={"Accept": "text/html,*/*;q=0.8"})
    assert answer.status_code == 404 and answer.mimetype == "text/html"
    assert 'href="/office"' in answer.text and "Not here" in answer.text
    assert error_of(server.client.get(path))["code"].endswith("not_found")


def test_every_sample_has_a_page_with_units_and_no_empty_photo(server):
    for folder in sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json")):
        with server.app.app_context(), open_job(folder) as (job, photo_bytes):
            take_job(job, photo_bytes, state_of(server.app).photos)
        page = server.client.get(f"/office/jobs/{job.job_id}").text
        assert "Counter reading (m)" in page and "Make the pack" in page and "1 in " in page
        shots = [r.fields["inclination"] for r in job.records if r.kind == "reading" and not r.removed]
        assert ("beyond the range" in page) == any(one.get("over_range") for one in shots)
        assert " rising" in page and any(one.get("sense") == "rising" for one in shots)
        assert page.count("<img ") == len(job.photos) and "Still on the phone" not in page
        assert "(unit not known)" not in page and " for A" not in page
        assert job.job_id in server.client.get("/office").text


def test_conflicts_set_aside_and_missing_photos_are_shown(server, job_id):
    run, photo = new_id(), new_id()
    sha256 = hashlib.sha256(b"x").hexdigest()
    server.fates(
        [
            entry(job_id, A, 1, "job", {"title": "Weir"}),
            entry(job_id, A, 2, "run", {"run_ref": "R1"}, run),
            entry(job_id, A, 3, fields={"run_id": run, "counter_m": 5, "inclination": ONE_IN_80}),
            entry(
                job_id, A, 4, "photo", {"sha256": sha256, "size_bytes": 1, "media_type": "image/png"}, photo
            ),
            entry(job_id, A, 5, fields={"counter_m": -5}),
            entry(job_id, B, 1, "job", {"title": "Sluice"}),
        ]
    )
    server.fates([entry(job_id, B, 1, "job", {"title": "Another"})])
    page = server.client.get(f"/office/jobs/{job_id}").text
    assert "1 value on which phones disagree" in page and "Weir or Sluice" in page
    assert "Counter reading must lie between 0 and 5000 m." in page
    assert f"<b>{B}:1</b>" in page and "Still on the phone" in page
    assert "Run R1" in page and "1 in 80 falling" in page


def test_values_on_which_phones_disagree_have_their_unit(server):
    with server.app.app_context(), open_job(paths.SAMPLE_JOBS / "school_foul_drain") as (job, photo_bytes):
        take_job(job, photo_bytes, state_of(server.app).photos)
    page = server.client.get(f"/office/jobs/{job.job_id}").text
    assert "Quantification 1: 30 % or 25 %" in page
    assert '<span class="rival">30 %</span>' in page and '<span class="rival">25 %</span>' in page


def test_what_a_phone_typed_is_text_not_markup(server, job_id):
    server.fates(
        [entry(job_id, A, 1, "job", {"title": "<script>alert(1)</script>", "site": '"><img src=x>'})]
    )
    for path in ("/office", f"/office/jobs/{job_id}"):
        page = server.client.get(path).text
        assert "<script>alert" not in page and "<img src=x" not in page
        assert "&lt;script&gt;" in page


def test_pages_hold_no_inline_script_or_style(server, job_id):
    server.fates(entries(job_id, A, 1, 1))
    assert ">1 entry." in server.client.get(f"/office/jobs/{job_id}").text
    server.fates(entries(job_id, A, 2, 3))
    assert ">3 entries." in server.client.get(f"/office/jobs/{job_id}").text
    for path in ("/office", f"/office/jobs/{job_id}", "/"):
        page = server.client.get(path).text
        assert "<style" not in page and " style=" not in page and " onclick=" not in page
        page = re.sub(r'<script type="application/json" id="[\w-]+">[^<]*</script>', "", page)  # runs nothing
        assert page.count("<script") == len(re.findall(r'<script[^>]* src="/[^">]+"[^>]*></script>', page))


def test_a_button_waits_for_the_script_that_hears_it():
    buttons = [
        button
        for path in (paths.TEMPLATES / "office").glob("*.html")
        for button in re.findall(r"<button[^>]*>", path.read_text(encoding="utf-8"))
    ]
    assert len(buttons) > 10
    early = [button for button in buttons if " disabled" not in button and " hidden" not in button]
    assert [one for one in early if "open-instead" not in one] == []  # that one stands in a hidden part
