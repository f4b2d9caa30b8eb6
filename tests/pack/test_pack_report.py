"""report.pdf: the standards it keeps, what it says, what it never says."""

import dataclasses
import io
import re
import unicodedata
import zipfile

import pdf_facts
import pytest
from pack_jobs import ROOT, SAMPLES, Maker, built, sample

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack import drawing, figure_words, glyphs, levels_svg, report_pdf, texts

WORDS = tables.messages()


@pytest.fixture(scope="module", params=SAMPLES)
def report(request):
    job, photos = sample(request.param)
    contents = dataclasses.replace(assemble(job), photo_bytes=photos)
    pdf = report_pdf.render(contents)
    return contents, pdf, pdf_facts.text(pdf)


def test_it_keeps_pdf_a_2b_and_pdf_ua_1(report):
    assert pdf_facts.faults(report[1]) == []


def test_it_is_a_sound_tagged_document_with_its_fonts_inside(report):
    contents, pdf, _ = report
    facts = pdf_facts.structure(pdf)
    assert facts["syntax"] == [] and not facts["encrypted"]
    assert (facts["pdfa"], facts["ua"], facts["lang"]) == ("2B", "1", "en-GB")
    assert facts["tagged"] and facts["shows_title"] and facts["title"] == contents.title
    assert facts["fonts"] == facts["embedded"] > 0
    day = report_pdf.dated(contents.dated_at).strftime("D:%Y%m%d%H%M%S")
    assert facts["made"].startswith(day)


def test_the_validator_would_see_a_document_without_its_metadata(report):
    import pikepdf

    with pikepdf.open(io.BytesIO(report[1])) as document:
        del document.Root.Metadata
        out = io.BytesIO()
        document.save(out)
    assert pdf_facts.faults(out.getvalue())


def test_a_wrong_stream_length_would_be_seen(report):
    pdf = report[1]
    assert pdf_facts.wrong_lengths(pdf) == []
    length = re.search(rb"/Length (\d{3,})", pdf)
    wrong = b"/Length " + str(int(length[1]) - 7).zfill(len(length[1])).encode()
    assert pdf_facts.wrong_lengths(pdf.replace(length[0], wrong, 1))


def test_page_one_says_how_far_each_run_got_and_why_it_ended(report):
    contents, _, pages = report
    for run in contents.runs:
        assert f"Run {run.ref}" in pages[0]
        assert f"{run.surveyed_m:.2f} m" in pages[0]
        assert run.end_reason_label in pages[0]
    assert "What could not be seen" in pages[0] and "What is needed next" in pages[0]


def test_every_reading_level_and_observation_is_in_it(report):
    contents, _, pages = report
    whole = "\n".join(pages)
    for run in contents.runs:
        for reading in run.readings:
            assert f"{reading.chainage_m:.2f}" in whole
            assert texts.level(WORDS, reading.level) in whole
        for observation in run.observations:
            assert observation.compact in whole and observation.title in whole
    for check in contents.checks:
        assert check.label in whole
    for answer in contents.safety:
        assert answer.question.split("?")[0][:40] in whole.replace("\n", "")


def test_it_never_says_nan_none_or_safe(report):
    whole = " ".join(report[2])
    assert not re.search(r"\bnan\b|\bNone\b(?! recorded)(?!\n)|\binf\b|Traceback|Decimal\(|Record\(", whole)
    for found in re.finditer(r"safe to enter", " ".join(whole.split())):
        before = " ".join(whole.split())[: found.start()]
        assert re.search(r"[Nn]othing here says that a (pipe or a chamber|chamber or a pipe) is $", before)


def test_a_reading_beyond_the_range_is_never_a_number(report):
    contents, _, pages = report
    whole = "\n".join(pages)
    for run in contents.runs:
        for reading in run.readings:
            if reading.over:
                assert reading.deg is None and reading.one_in is None
                assert f"beyond range, {reading.inclination['sense']}" in whole
        if run.over_range:
            assert any(texts.level(WORDS, r.level).startswith("at least") for r in run.readings)
            assert "at least" in figure_words.rise_text(WORDS, run.figures.rise)


def test_page_numbers_and_title_stand_on_every_page(report):
    contents, _, pages = report
    for place, page in enumerate(pages, 1):
        assert f"Page {place} of {len(pages)}" in page.replace("\n", "")
        assert contents.title in page


def test_the_conflict_of_the_school_is_told():
    job, photos = sample("school_foul_drain")
    pages = pdf_facts.text(report_pdf.render(dataclasses.replace(assemble(job), photo_bytes=photos)))
    assert "1 value is in dispute" in pages[0]
    last = "\n".join(pages[-2:])
    assert "25" in last and "30" in last and "BBA at counter 12.40 m" in last


def test_the_drawing_marks_what_is_bounded_and_what_was_not_surveyed():
    run = assemble(sample("tidal_creek_drain")[0]).runs[0]
    svg = drawing.run_svgs(WORDS, run)[0]
    assert svg.count("url(#h)") == sum(1 for level in run.figures.levels if level.sense)
    assert svg.count('fill-opacity="0.15"') == sum(1 for level in run.figures.levels if not level.sense) - 1
    assert "at least this high" in svg and "not surveyed" in svg and "tie 1.470" in svg
    known = dataclasses.replace(run.figures, levels=tuple(v for v in run.figures.levels if not v.sense))
    plain = dataclasses.replace(run, figures=known, remaining_m=None)
    assert (
        "url(#h)" not in drawing.run_svgs(WORDS, plain)[0]
        and "not surveyed" not in drawing.run_svgs(WORDS, plain)[0]
    )


def test_levels_svg_is_one_sound_xml_file():
    from xml.etree import ElementTree

    contents = assemble(sample("school_foul_drain")[0])
    root = ElementTree.fromstring(levels_svg.render(contents))
    words = ["".join(e.itertext()) for e in root.iter("{http://www.w3.org/2000/svg}text")]
    assert [w for w in words if w.startswith("Run ")] == ["Run F1", "Run F2"]
    empty = assemble(Maker().job_file())
    assert b"no runs" in levels_svg.render(empty)


def test_the_template_takes_nothing_from_elsewhere():
    source = (ROOT / "templates" / "print" / "report.typ").read_text()
    assert "@preview" not in source and "eval(" not in source and "http" not in source


def test_every_embedded_character_that_we_count_on_can_be_printed():
    maker = Maker()
    points = [c for low, high in glyphs.EMBEDDED for c in range(low, high + 1)]
    carriers = {True: "\u05d1", False: "\u0628"}  # a mark stands on a letter of its own script
    every = [(carriers[c < 0x600] if unicodedata.combining(chr(c)) else "") + chr(c) for c in points]
    maker.add("job", title="Every letter that the fonts inside Typst have")
    for start in range(0, len(every), 20):
        maker.add("remark", text=" ".join(every[start : start + 20]))
    contents = assemble(maker.job_file())
    assert "■" not in "".join(pdf_facts.text(report_pdf.render(contents)))


def test_the_report_of_a_pack_is_the_report(report):
    contents, pdf, _ = report
    name = next(n for n in SAMPLES if sample(n)[0]["job_id"] == contents.job_id)
    with zipfile.ZipFile(io.BytesIO(built(*sample(name))[0])) as archive:
        assert archive.read("report.pdf") == pdf
