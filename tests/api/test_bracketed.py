"""A language in which every sentence stands in brackets: what is shown outside of them is data."""

import html
import json
import re

import pytest
from click.testing import CliRunner
from second_language import SPOKEN, spoken_here

from webapp import messages, paths
from webapp.cli import main
from webapp.dates import day_text
from webapp.intake.jobs import take_job
from webapp.intake.open_job import open_job
from webapp.tables import shipped
from webapp.web.state import state_of


@pytest.fixture
def bracketed(tmp_path):
    def put(template):
        if isinstance(template, dict):
            return {category: put(one) for category, one in template.items()}
        return f"⟦{template}⟧"

    words = {
        key: one if key[0] == "_" or key.startswith("list.") else put(one)
        for key, one in messages.messages().items()
    }
    with spoken_here(words, tmp_path):
        yield


def outside(text):
    """What of a text stands in no brackets."""
    while "⟦" in text and text != (text := re.sub(r"⟦[^⟦⟧]*⟧", " ", text)):
        pass
    return text


def shown(page):
    spoken = " ".join(SPOKEN.findall(page))
    return html.unescape(f"{re.sub(r'<[^>]*>', ' ', page)} {spoken}")


def letters(text):
    return set(re.findall(r"[^\W\d_]{2,}", text))


def data_words(value):
    """Every word of the records, and those of the trade that the tables hold themselves."""
    trade = [shipped(name) for name in ("observation_codes", "materials", "shapes", "linings")]
    months = " ".join(day_text({"_locale": "en-GB"}, f"2026-{month:02}-01") for month in range(1, 13))
    return letters(json.dumps([value, trade, months], ensure_ascii=False)) | {"Fallbook", "UTC", "mm", "deg"}


@pytest.mark.parametrize("folder", sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json")), ids=str)
def test_the_office_shows_nothing_but_sentences_and_data(bracketed, server, folder):
    with server.app.app_context(), open_job(folder) as (job, photo_bytes):
        take_job(job, photo_bytes, state_of(server.app).photos)
    known = data_words(json.loads((folder / "job.json").read_text(encoding="utf-8")))
    for path in ("/office", "/office/phones", f"/office/jobs/{job.job_id}"):
        page = server.client.get(path).text
        assert "⟦" in page, path
        assert letters(outside(shown(page))) <= known | {"m", "sd"}, path


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("get", "/api/nothing", None),
        ("post", "/api/sync", "[1"),
        ("post", "/api/sync", '{"protocol": 1, "device_id": ""}'),
        ("post", "/api/sync", '{"protocol": 1, "device_id": "a", "jobs": {"x": {}}}'),
        ("get", "/api/jobs/not-one", None),
        ("post", "/api/invitations", "{}"),
        ("put", "/api/photos/zz", "x"),
        ("post", "/api/import", "PK"),
    ],
)
def test_an_error_of_the_interface_is_a_sentence(bracketed, server, method, path, body):
    headers = {"Content-Type": "application/json"} if body else {}
    found = getattr(server.client, method)(path, data=body, headers=headers).json["errors"]
    for one in found:
        assert one["message"].startswith("⟦") and letters(outside(one["message"])) == set(), one


@pytest.mark.parametrize(
    "words",
    [("jobs",), ("check", "job.json"), ("link", "list"), ("import", "--create", "job.json"), ("nothing",)],
)
def test_a_command_prints_nothing_but_sentences_and_data(bracketed, tmp_path, monkeypatch, words):
    bad = {"format": "fallbook-job", "version": 1, "job_id": "x", "records": [{"kind": "job"}], "more": 1}
    (tmp_path / "job.json").write_text(json.dumps(bad))
    monkeypatch.setenv("FALLBOOK_DATA", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, list(words))
    printed = re.sub(r"\[\w+\]$", "", outside(done.output), flags=re.M)  # the code of a failure
    assert "⟦" in done.output, done.output
    names = re.sub(r"[^\s()]*(job\.json|/data)[^\s()]*", "", printed)  # of files and places
    assert letters(names) <= {"fallbook", "job", "id", "records", "more"}  # parts of the file
