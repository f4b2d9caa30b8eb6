"""Very long runs and very many: what is printed can be read, the files hold all, and the report says so."""

import csv
import io
import re
import zipfile

import growth_jobs
import pdf_facts
import pytest
from open_pack import flat
from pack_jobs import built

from webapp import tables
from webapp.pack import condensed, report, report_parts, typesetting
from webapp.report_model.levels import Level
from webapp.report_model.section import Section


def texts(data):
    """Return the text of every PDF of a pack, by its name; each of them is sound."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        pdfs = {n: archive.read(n) for n in archive.namelist() if n.endswith(".pdf")}
    assert {n: pdf_facts.faults(pdf) for n, pdf in pdfs.items()} == {name: [] for name in pdfs}
    return {n: flat(" ".join(pdf_facts.text(pdf))) for n, pdf in pdfs.items()}


def level_at(n, level_m):
    return Level(float(n), level_m, 0.01, None, None, None, None, "computed", "")


@pytest.mark.parametrize("count, most", [(0, 8), (1, 8), (8, 8), (9, 8), (1000, 8), (100, 99)])
def test_what_is_spread_keeps_its_ends_and_its_order(count, most):
    found = condensed.spread(range(count), most)
    assert found == sorted(set(found)) and len(found) <= most
    assert len(found) == count if count <= most else len(found) > most // 2
    assert not count or (found[0], found[-1]) == (0, count - 1)


def test_what_is_wanted_comes_first():
    found = condensed.spread(range(10_000), 100, lambda n: n % 1000 == 7)
    assert {n for n in range(10_000) if n % 1000 == 7} <= set(found) and len(found) <= 100
    crowded = condensed.spread(range(10_000), 100, lambda n: n % 2 == 1)
    assert len(crowded) <= 100 and sum(n % 2 for n in crowded) >= 75


def test_the_worst_are_the_largest_in_their_order():
    assert condensed.worst([5, 1, 9, 3, 7], 3, float) == (5, 9, 7)


def test_a_condensed_drawing_keeps_every_peak():
    levels = [level_at(n, 500.0 if n == 4321 else -500.0 if n == 777 else n % 3) for n in range(9000)]
    drawn = condensed.drawn(levels, lambda v: v.level_m)
    heights = [v.level_m for v in drawn]
    assert len(drawn) <= 2 * condensed.MAX_DRAWN and {500.0, -500.0} <= set(heights)
    assert drawn == sorted(drawn, key=lambda v: v.chainage_m)
    assert (drawn[0], drawn[-1]) == (levels[0], levels[-1])


def test_a_long_run_is_printed_in_part_and_the_files_hold_all(monkeypatch):
    monkeypatch.setattr(condensed, "MAX_ROWS", 30)
    monkeypatch.setattr(condensed, "MAX_DRAWN", 40)
    monkeypatch.setattr(condensed, "MAX_WORST", 5)
    data, _ = built(growth_jobs.job(250))
    (text,) = texts(data).values()
    assert "30 of 250 readings are printed" in text and "readings.csv holds all" in text
    assert "lengths are printed, evenly spread. falls.csv holds all" in text
    assert "the largest 10 are printed" in text and "levels at each place; levels.csv holds all" in text
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        rows = list(csv.reader(io.StringIO(archive.read("readings.csv").decode("utf-8-sig"))))
    assert len([row for row in rows if row]) >= 251


def test_a_usual_run_is_printed_whole():
    data, _ = built(growth_jobs.job(120))
    (text,) = texts(data).values()
    assert "are printed" not in text


def test_many_runs_stand_in_several_files_each_once(monkeypatch):
    monkeypatch.setattr(report_parts, "WHOLE_CELLS", 2_000)
    monkeypatch.setattr(report_parts, "PART_CELLS", 2_100)
    job = growth_jobs.many_runs(5, 30)
    data, manifest = built(job)
    found = texts(data)
    assert list(found) == ["report.pdf", "report_2.pdf", "report_3.pdf", "report_4.pdf"][: len(found)]
    assert len(found) > 2 and set(found) <= {f["name"] for f in manifest["files"]}
    first = found.pop("report.pdf")
    for n in range(1, 6):
        chapters = [name for name, text in found.items() if f"Run R{n} from type" in text]
        assert len(chapters) == 1 and f"R{n} {chapters[0]}" in first
    assert "Where each run is" in first and "Safety" in first and "Safety" not in " ".join(found.values())
    assert built(job)[0] == data, "the same job gives the same bytes"


def test_a_run_with_more_than_a_file_holds_goes_on_in_the_next(monkeypatch):
    monkeypatch.setattr(report_parts, "WHOLE_CELLS", 2_000)
    monkeypatch.setattr(report_parts, "PART_CELLS", 2_100)
    job = growth_jobs.many_runs(3, 30)
    number = 777_000
    for n in range(300):
        crack = {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A"}
        place = {"run_id": growth_jobs.uid(20_002), "counter_m": n / 10}
        fields = {**crack, **place, "remark": f"crack-{n:03}-here"}
        job["records"].append({"kind": "observation", "id": growth_jobs.uid(number + n), "fields": fields})
    data, _ = built(job)
    found = texts(data)
    first = found.pop("report.pdf")
    printed = re.findall(r"crack-(\d+)-here", " ".join(found.values()))
    assert sorted(printed) == [f"{n:03}" for n in range(300)], "each of them once"
    names = [name for name, text in found.items() if "Run R2" in text]
    assert len(names) == 3 and all(f"R2 {name}" in first for name in names)
    for name, then in zip(names, [*names[1:], None], strict=True):
        assert ("Run R2, continued" in found[name]) is (name != names[0])
        assert f"More observations or photos of this run are in {then}." in found[name] or then is None
    assert "More observations" not in found[names[-1]]
    assert "Run R3 from type" in found[list(found)[-1]] and "None recorded" not in found[names[0]]


def test_a_process_that_sets_a_part_says_what_went_wrong(tmp_path, monkeypatch):
    from datetime import UTC, datetime

    (tmp_path / "fonts").mkdir()
    (tmp_path / typesetting.MAIN).write_text("#panic()", encoding="utf-8")
    with pytest.raises(typesetting.DocumentFault, match="panick"):
        typesetting.typeset_apart(tmp_path, datetime(2020, 1, 1, tzinfo=UTC))


def test_a_long_table_of_classes_says_that_it_is_printed_in_part():
    section = Section("graded", "Classes", ("a",), tuple((str(n),) for n in range(900)), note="Ours.")
    printed = report.fewer_rows(tables.messages(), section)
    assert len(printed.rows) == condensed.MAX_ROWS and printed.rows[0] == ("0",)
    assert printed.note == "Ours. 500 of 900 rows are printed, evenly spread. condition.csv holds all."
    assert report.fewer_rows(tables.messages(), printed) == printed
