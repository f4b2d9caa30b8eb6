"""What nobody would record on purpose: every one of these still gives a sound pack."""

import io
import math
import zipfile

import pdf_facts
import pytest
from pack_jobs import Maker, built
from PIL import Image

from webapp.assembly.job import assemble
from webapp.pack import report_pdf

HOSTILE = [
    "Roots 🌳🌳 near the 👩🏽‍🔧 joint, 日本語, ไทย, 한국어",
    "مرحبا بالعالم ١٢٣, then English again",
    "שלום עולם, בִּדְיָקָה 123",
    "\u202edetrevni\u202c \u200bzero\u200d \ufeff\u2066x\u2069 \U000e0041",
    '#panic() #read("/etc/passwd") $x^2$ #eval("1") *b* _i_ `c` @ref <label> \\ // /* */ ]',
    "=1+1", "@SUM(A1)", "x" * 400, "ü" * 399, "\n" * 200, "\t\t|\t", "a\u0300\u0301\u0302" * 60,
    "\ufffe\uffff\ue000\U000f0000", "<script>&amp;]]></svg>", "{{ x }} {% raise %} ${y}",
    "a\u05b0\u0651b\u0300\u05d0", "½ ² ₂ ‰ ≤ ≥ − × σ",
]  # fmt: skip


def jpeg(mode="RGB", size=(320, 240), **more):
    out = io.BytesIO()
    Image.new(mode, size, 40).save(out, "JPEG", **more)
    return out.getvalue()


def sound(job, photos=None):
    """Build the pack, check its report, return its text, its manifest and its bytes."""
    data, manifest = built(job, (photos or {}).get)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        pdf = archive.read("report.pdf")
    assert pdf_facts.faults(pdf) == []
    return "\n".join(pdf_facts.text(pdf)), manifest, data


def run_with(maker, *pairs, **fields):
    run_id = maker.add("run", **{"run_ref": "R1", "counter_zero_m": 0, **fields})
    maker.readings(run_id, *pairs)
    return run_id


def test_hostile_text_in_every_field_of_text_is_printed_or_marked():
    maker = Maker()
    maker.add("job", title=HOSTILE[0][:120], site="".join(HOSTILE)[:400], surveyor=HOSTILE[2][:80])
    for place, text in enumerate(HOSTILE):
        run_id = run_with(maker, (0, 1), (2, 1), run_ref=text[:60], remark=text[:400])
        node_id = maker.add("node", node_ref=text[:60], node_type="manhole", position_note=text[:240])
        maker.add("run", run_id, writer="writer-two", start_node_id=node_id)
        maker.add("observation", run_id=run_id, counter_m=place, code="BAB", characterisation_1=text[:8],
                  remark=text[:400])  # fmt: skip
        maker.add("remark", run_id=run_id, text=(text * 40)[:4000])
        maker.add("stretch", run_id=run_id, from_counter_m=0, to_counter_m=2, remark=text[:400])
    whole, _, _ = sound(maker.job_file())
    assert "characters could not be printed and show as ■" in whole.replace("\n", "")
    assert '#read("/etc/passwd")' in whole and "#panic()" in whole
    assert "root:" not in whole


def test_a_long_remark_of_4000_characters_passes():
    maker = Maker()
    maker.add("job", title="Long")
    maker.add("remark", text="pebble " * 500)
    maker.add("remark", text="x" * 4000)
    assert sound(maker.job_file())[0].count("pebble") == 500


def test_a_job_with_nothing_in_it():
    whole, manifest, _ = sound(Maker().job_file())
    assert "Job without a title" in whole and "No run has been recorded yet." in whole
    assert "nothing was seen of any pipe" in whole and "Nothing was recorded as unseen" not in whole
    assert manifest["dated_at"].startswith("2000-01-01")


def test_a_run_with_no_readings():
    maker = Maker()
    run_with(maker)
    whole, _, _ = sound(maker.job_file())
    assert "too few readings" in whole


def test_one_reading():
    maker = Maker()
    run_with(maker, (3, -1))
    whole, _, _ = sound(maker.job_file())
    assert "1 in 57" in whole


def test_all_readings_beyond_the_range_and_no_limit_known():
    maker = Maker()
    run_with(maker, (0, "+"), (2, "+"), (4, "+"))
    whole, _, _ = sound(maker.job_file())
    assert "at least" in whole and "beyond range" in whole
    run = assemble(maker.job_file()).runs[0]
    rise = run.figures.rise
    assert run.figures.instruments.limit_known == "assumed" and rise.known == "bounded"
    assert rise.low_m == pytest.approx(4 * math.sin(math.radians(10))) and rise.high_m == pytest.approx(4.0)
    assert run.figures.levels[-1].sense == "at_least" and "rises at least 0.695 m" in whole.replace("\n", " ")


def test_rising_and_falling_beyond_the_range_are_between_bounds():
    maker = Maker()
    run_with(maker, (0, 1), (2, "+"), (4, "-"), (6, -1))
    whole, _, _ = sound(maker.job_file())
    assert "between" in whole
    assert assemble(maker.job_file()).runs[0].figures.levels[-1].sense == "between"


def test_a_level_or_vertical_pipe_and_places_before_zero():
    maker = Maker()
    run_id = run_with(maker, (0.2, 0), (2, 0), (3, 90), (3, -90), (3, 1), counter_zero_m=1.0)
    maker.add("observation", run_id=run_id, counter_m=0.1, code="BDA")
    maker.add("reading", run_id=run_id, counter_m=2.5)
    maker.add("reading", run_id=run_id, inclination={"size": 1, "unit": "deg", "sense": "falling"})
    maker.add("stretch", run_id=run_id, from_counter_m=3, to_counter_m=9)
    whole, _, _ = sound(maker.job_file())
    assert "vertical" in whole and "−0.80" in whole and "not recorded" in whole


def test_readings_out_of_order_and_twice_are_kept_sorted_and_told():
    maker = Maker()
    run_with(maker, (4, 1), (2, 1), (2, 2), (6, 1))
    contents = assemble(maker.job_file())
    assert [r.counter_m for r in contents.runs[0].readings] == [2, 2, 4, 6]
    whole, _, _ = sound(maker.job_file())
    assert "another reading at 2 m" in whole and "driven back" in whole


def test_records_of_a_removed_run_are_told_and_kept():
    maker = Maker()
    run_id = run_with(maker, (1, 1), (2, 1))
    maker.add("run", run_id, removed=True)
    job = maker.job_file()
    job["entries"][-1]["seen"] = {"*": ["writer-one:1"]}
    from webapp.records import job_file

    job = job_file.build(maker.job_id, job["entries"], {}, [])
    whole, manifest, _ = sound(job)
    assert manifest["records_that_name_no_run"] == 2 and "2 records belong to no run that is left" in whole


def test_an_entry_that_breaks_a_rule_is_set_aside_and_told():
    maker = Maker()
    run_id = run_with(maker, (1, 1), (2, 1))
    maker.add("reading", run_id=run_id, counter_m=-4.0)
    _, manifest, _ = sound(maker.job_file())
    assert [a["entry"] for a in manifest["set_aside"]] == ["writer-one:4"]
    assert "between 0 and 5000" in manifest["set_aside"][0]["reasons"][0]


@pytest.mark.parametrize(
    "stamp", ["1970-01-01T00:00:00Z", "9999-12-31T23:59:59-14:00", "-0001-01-01T00:00:00Z"]
)
def test_a_phone_with_a_wild_clock(stamp):
    maker = Maker()
    maker.add("job", title="Wild clock")
    maker.entries[0]["recorded_at"] = stamp
    whole, _, _ = sound(maker.job_file())
    assert "Wild clock" in whole
    assert report_pdf.dated(stamp).year >= 1970 or report_pdf.dated(stamp) == report_pdf.UNDATED


def test_photos_that_are_missing_damaged_or_of_a_kind_we_cannot_show():
    maker = Maker()
    run_id = run_with(maker, (0, 1), (5, 1))
    heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00heicmif1" + bytes(2000)
    good = jpeg(exif=_turned())
    photos = {
        maker.photo(heic, "image/heic", run_id=run_id, counter_m=1, caption="HEIC"): heic,
        maker.photo(good[: len(good) // 2], run_id=run_id, caption="Truncated"): good[: len(good) // 2],
        maker.photo(jpeg("CMYK"), run_id=run_id, caption="CMYK"): jpeg("CMYK"),
        maker.photo(jpeg("L"), caption="Grey"): jpeg("L"),
        maker.photo(good, caption="Turned"): good,
        maker.photo(b"other", caption="Damaged"): b"not these bytes",
    }
    lost = maker.photo(b"on a phone", caption="Lost")
    whole, manifest, data = sound(maker.job_file(), photos)
    flat = whole.replace("\n", "")
    assert "2 photos cannot be shown here; they are in the pack as files." in flat
    assert "1 photo is still on a phone" in flat and "1 photo is damaged" in flat
    assert {p["sha256"] for p in manifest["photos_left_out"]} == {lost, maker_sha(b"other")}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.read(f"photos/{maker_sha(heic)}.heic") == heic


def maker_sha(data):
    import hashlib

    return hashlib.sha256(data).hexdigest()


def _turned():
    exif = Image.Exif()
    exif[0x0112] = 6
    return exif


def test_the_orientation_of_a_photo_is_honoured():
    from webapp.pack.pictures import picture

    data = jpeg(size=(320, 240), exif=_turned())
    shown = picture(maker_sha(data), {maker_sha(data): data}.get)
    with Image.open(io.BytesIO(shown.data)) as image:
        assert image.size == (240, 320) and image.getexif().get(0x0112, 1) == 1


def test_a_photo_of_100_megapixels_is_scaled():
    from webapp.pack.pictures import LARGEST_PX, picture

    data = jpeg("L", (12_000, 8_400), quality=20)
    shown = picture(maker_sha(data), {maker_sha(data): data}.get)
    with Image.open(io.BytesIO(shown.data)) as image:
        assert max(image.size) == LARGEST_PX and image.mode == "RGB"


def test_a_bomb_of_a_picture_stays_a_file():
    from webapp.pack.pictures import picture

    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")
    assert (
        picture(maker_sha(out.getvalue()), {maker_sha(out.getvalue()): out.getvalue()}.get).state
        == "file_only"
    )


def test_a_photo_of_png_with_transparency_is_put_on_white():
    from webapp.pack.pictures import picture

    out = io.BytesIO()
    Image.new("RGBA", (60, 40), (255, 0, 0, 0)).save(out, "PNG")
    shown = picture(maker_sha(out.getvalue()), {maker_sha(out.getvalue()): out.getvalue()}.get)
    with Image.open(io.BytesIO(shown.data)) as image:
        assert min(image.getpixel((5, 5))) > 245


def test_two_records_of_one_photo_store_it_once():
    maker = Maker()
    data = jpeg()
    sha256 = maker.photo(data, caption="One")
    maker.photo(data, caption="Two")
    _, manifest, _ = sound(maker.job_file(), {sha256: data})
    assert sum(1 for f in manifest["files"] if f["name"].startswith("photos/")) == 1


def test_hebrew_and_arabic_are_printed_as_they_are():
    maker = Maker()
    maker.add("job", title="שלום עולם")
    run_id = run_with(maker, (0, 1), (2, 1), run_ref="مرحبا ١٢٣", remark="בִּדְיָקָה")
    maker.add("remark", run_id=run_id, text="مُرحباً بالعالم and then English again")
    whole, _, _ = sound(maker.job_file())
    assert "■" not in whole and set("שלום") <= set(whole)


def test_text_made_at_random_never_stops_a_report():
    import random

    pools = [range(0x20, 0x250), range(0x300, 0x370), range(0x370, 0x530), range(0x590, 0x700),
             range(0x2000, 0x2100), range(0x2190, 0x2600), range(0x1F300, 0x1F700), range(0xE000, 0xE010),
             range(0xFB00, 0xFE10), range(0x4E00, 0x4F00)]  # fmt: skip
    rng = random.Random(5)

    def words(longest):
        chosen = rng.sample(pools, rng.randint(1, 4))
        text = "".join(chr(rng.choice(rng.choice(chosen))) for _ in range(rng.randint(1, longest)))
        return text.replace("\x7f", "")

    for _ in range(3):
        maker = Maker()
        maker.add("job", title=words(60))
        for _ in range(6):
            run_id = run_with(maker, (0, 1), (2, 1), run_ref=words(60))
            maker.add("observation", run_id=run_id, counter_m=1, code="BAB", characterisation_1=words(8))
            maker.add("remark", run_id=run_id, text=" ".join(words(60) for _ in range(40))[:4000])
        assert report_pdf.render(assemble(maker.job_file())).startswith(b"%PDF-1.7")


def test_a_cluster_that_no_font_can_shape_falls_back_to_what_is_sure():
    from webapp.pack.glyphs import Cleaner

    assert Cleaner().text("ש") == "ש" and Cleaner(embedded=False).text("ש") == "■"
    assert Cleaner().text("a\u05b0") == "a■", "a Hebrew point on a Latin letter has no font"
    cleaner = Cleaner()
    assert cleaner.drawn("b\u0300 🌳") == "b ■" and cleaner.replaced == 0


def test_long_words_get_places_to_break():
    from webapp.pack.glyphs import BREAK, Cleaner

    assert Cleaner().text("x" * 40) == BREAK.join(["x" * 14, "x" * 14, "x" * 12])
    assert Cleaner().text("a word of usual length") == "a word of usual length"


def test_a_picture_says_what_it_is_to_those_who_cannot_see_it():
    maker = Maker()
    data = jpeg()
    run_id = run_with(maker, (0, 1), (2, 1))
    sha256 = maker.photo(data, run_id=run_id, counter_m=1, caption="A step at a joint")
    pdf = zipfile.ZipFile(io.BytesIO(sound(maker.job_file(), {sha256: data})[2])).read("report.pdf")
    alternatives = pdf_facts.alternatives(pdf)
    assert "Photo in run R1: A step at a joint, 1.00 m" in alternatives
    assert any(a.startswith("Levels drawing of run R1") for a in alternatives)


def test_a_conflict_is_told_in_words_and_names():
    maker = Maker()
    run_id = run_with(maker, (0, 1), (2, 1), end_reason="water")
    first, second = (maker.add("node", node_ref=name) for name in ("MH-1", "MH-2"))
    maker.add("run", run_id, writer="writer-two", end_reason="obstruction", start_node_id=first)
    maker.add("run", run_id, writer="writer-six", start_node_id=second, removed=True)
    found = {c.field: {c.shown, *c.others} for c in assemble(maker.job_file()).conflicts}
    assert found["How the run ended"] == {"Water too deep", "Obstruction"}
    assert found["Start node"] == {"MH-1", "MH-2"}
    assert found["Removed"] == {"yes", "no"}
    sound(maker.job_file())
