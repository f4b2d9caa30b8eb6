"""A pack in a second language: no word outside the catalogue, no decimal point."""

import re
import zipfile

import pdf_facts
import pytest
import second_language
from pack_jobs import SAMPLES

SHOWN = re.compile(r">([^<>]+)<")
WORD = re.compile(r"[^\W\d_]{2,}")


@pytest.fixture(scope="module", params=SAMPLES)
def shown(request, tmp_path_factory):
    """What a reader sees of a sample's pack: the report's text, and that of the drawings."""
    folder = tmp_path_factory.mktemp("words")
    root = second_language.app_in_it(folder)
    second_language.fallbook(root, "pack", f"sample_jobs/{request.param}", "-o", folder / "pack.zip")
    with zipfile.ZipFile(folder / "pack.zip") as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    report = " ".join(" ".join(page.split()) for page in pdf_facts.text(files["report.pdf"]))
    drawings = " ".join(SHOWN.findall(files["levels.svg"].decode("utf-8")))
    return {"report": report, "drawings": drawings, "csv": files["levels.csv"].decode("utf-8-sig")}


def laws():
    """The words of the sources; lines and pages break them, so they are not found whole."""
    return {word for law in second_language.sources() for word in WORD.findall(law)}


def test_no_word_stands_outside_the_catalogue(shown):
    assert set(second_language.outside(shown["report"])) - laws() == set()
    assert second_language.outside(shown["drawings"]) == []


def test_no_number_has_a_decimal_point(shown):
    recorded = second_language.recorded()
    found = {name: second_language.points(shown[name], recorded) for name in ("report", "drawings")}
    assert found == {"report": [], "drawings": []}
    assert len(re.findall(r"\d,\d", shown["report"])) > 200
    assert re.search(r"\d,\d", shown["drawings"])


def test_a_file_of_values_keeps_the_point(shown):
    assert re.search(r"(?m)^[^\n]*\d\.\d", shown["csv"])
