"""What people write in their own script is printed; what no face has is counted and named by script."""

import re

import pdf_facts
import pytest
import typst
from pack_jobs import Maker

from webapp import tables
from webapp.assembly.job import assemble
from webapp.pack import glyphs, report_pdf

WORDS = tables.messages()

CYRILLIC, GREEK = "Канализация у школы, смотровой колодец", "Αποχέτευση του σχολείου, φρεάτιο"
STYLES = {
    "regular": "",
    "semibold": "weight: 600",
    "bold": "weight: 700",
    "italic": 'style: "italic"',
    "semibold italic": 'style: "italic", weight: 600',
}


def job(**fields):
    maker = Maker()
    maker.add("job", **fields)
    node = maker.add("node", node_ref=fields["title"][:12], node_type="manhole")
    run = maker.add(
        "run", run_ref=fields["title"][:8], start_node_id=node, direction="with_flow", remark=CYRILLIC
    )
    maker.readings(run, (0, -1), (10, -1))
    maker.add("stretch", run_id=run, from_counter_m=0, remark=GREEK)
    maker.add("observation", run_id=run, counter_m=3, code="BBA", remark=f"{GREEK} {CYRILLIC}")
    maker.add("remark", run_id=run, counter_m=4, text=CYRILLIC)
    maker.add("check", check_type="counter_tape", instrument=CYRILLIC, remark=GREEK)
    return assemble(maker.job_file())


@pytest.mark.parametrize("words", [CYRILLIC, GREEK], ids=["Cyrillic", "Greek"])
def test_a_job_in_its_own_script_is_printed_as_typed(words):
    contents = job(title=words, site=words, surveyor=words, client_reference=words)
    pages = pdf_facts.text(report_pdf.render(contents))
    whole = " ".join(" ".join(pages).split())
    assert glyphs.MARK not in whole and "could not be printed" not in whole
    assert words in " ".join(pages[0].split()) and CYRILLIC in whole and GREEK in whole


@pytest.mark.parametrize("style", STYLES)
def test_every_letter_of_our_font_is_printed_in_every_face(style, tmp_path):
    """The italic face has half of them: the rest come from the next font, and none stops the report."""
    points = sorted(c for c in glyphs.coverage(embedded=False) if re.match(r"\w", chr(c)))
    assert {ord("Ж"), ord("ψ"), ord("ß")} <= set(points)
    (tmp_path / "fonts").mkdir()
    words = " ".join("".join(map(chr, points[n : n + 20])) for n in range(0, len(points), 20))
    main = tmp_path / "main.typ"
    fonts = '("Source Sans Pro", "Libertinus Serif", "DejaVu Sans Mono")'
    main.write_text(
        f'#set document(title: "x")\n#set text(lang: "en", font: {fonts})\n#text({STYLES[style]})[{words}]\n',
        encoding="utf-8",
    )
    pdf = typst.compile(
        main,
        font_paths=report_pdf.report_fonts(tmp_path / "fonts"),
        format="pdf",
        pdf_standards=["a-2b", "ua-1"],
    )
    shown = "".join("".join(pdf_facts.text(pdf)).split())
    assert glyphs.MARK not in shown
    missing = [chr(c) for c in points if chr(c) not in shown]
    # Ligatures and letters of two parts come back from a PDF as their parts.
    assert len(missing) < 25, missing


def test_what_no_face_has_is_named_by_its_script():
    contents = job(title="Drain", site="ถนน 下水道 하수도 🙂", surveyor=CYRILLIC)
    page = " ".join(pdf_facts.text(report_pdf.render(contents))[0].split())
    reported = re.search(r"(\d+) characters could not be printed and show as ■ \(([^)]+)\)", page)
    assert reported, page
    counts = dict(
        re.findall(r"([A-Z a-z]+?) (\d+)", reported[2].replace(", ", ",").replace(",", " ").strip())
    )
    named = {name.strip(): int(count) for name, count in counts.items()}
    assert set(named) == {"Chinese or Japanese", "Hangul", "Thai", "symbols"}
    assert int(reported[1]) == sum(named.values())


def test_one_character_is_one_character():
    cleaner = glyphs.Cleaner()
    assert cleaner.sentence(WORDS) == ""
    cleaner.line("ก")
    assert cleaner.sentence(WORDS).startswith("1 character could not be printed and shows as ■ (Thai 1)")
    cleaner.drawn("ก")
    assert cleaner.replaced == 1, "a drawing repeats what the tables hold"


@pytest.mark.parametrize(
    ("char", "name"),
    [
        ("ก", "Thai"),
        ("下", "ideographs"),
        ("ひ", "Hiragana"),
        ("🙂", "symbols"),
        ("\ue000", "symbols"),
    ],
)
def test_scripts_by_name(char, name):
    assert glyphs.script_name(char) == name
