"""A second language is one file: with one made here, each sentence in brackets, no screen says a word outside them."""

import json
import re

import pytest
from phone import VIEWPORT, Watched
from second_language import CLOSES, OPENS, app_in_it, points, recorded, sources, without
from server_process import ServerProcess
from test_screens import PATHS, SAMPLES, TAKE_SAMPLES, show
from zygote import command

# What is said in no language: units, letters of codes, the name of a file.
LISTS = {"und", "oder"}  # the browser's own, for the language
UNITS = {
    "m",
    "mm",
    "cm",
    "km",
    "l",
    "s",
    "l/s",
    "m/s",
    "Pa",
    "°",
    "%",
    "‰",
    "deg",
    "mag",
    "×",
    "px",
    "kB",
    "MB",
    "m³",
}
SAID = """() => {
  const found = [document.title];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const { parentElement, textContent } = walker.currentNode;
    if (!parentElement.closest('script, style, noscript')) found.push(textContent);
  }
  for (const one of document.body.querySelectorAll('*')) {
    for (const name of ['aria-label', 'title', 'alt', 'placeholder', 'aria-valuetext', 'aria-roledescription']) {
      if (one.getAttribute(name)) found.push(one.getAttribute(name));
    }
  }
  return found.filter((text) => /\\p{L}/u.test(text));
}"""


@pytest.fixture(scope="module")
def german(tmp_path_factory, one_browser):
    """A phone on a server that speaks the language made here, with both sample jobs."""
    root = app_in_it(tmp_path_factory.mktemp("second"))
    server = ServerProcess(tmp_path_factory.mktemp("german") / "data", root=root)
    command(
        ["import", "--create", "--data", server.folder, *(one / "job.json" for one in SAMPLES)], server.log
    )
    server.start()
    one = Watched(server.url)
    one.watch(one_browser.new_context(viewport=VIEWPORT, has_touch=True, service_workers="block"))
    one.goto("/")
    yield one, one.app(TAKE_SAMPLES)
    one.close()
    one.check()
    server.kill()


@pytest.fixture(scope="module")
def known():
    """What the surveyors of the samples typed, and where the tables have their content from."""
    return [*recorded(), *sources()]


def outside(text, known):
    """What stands outside every bracket and was typed by nobody."""
    depth, rest = 0, ""
    for sign in text:
        depth += (sign == OPENS) - (sign == CLOSES)
        rest += sign if depth == 0 and sign != CLOSES else " " if depth == 0 else ""
    rest = without(rest, known)
    rest = re.sub(
        r"\d{1,2}\. \w+\.? \d{4}|[A-Z]{3}( [A-Z])*|^[A-Z]$|http\S+", " ", rest
    )  # a day, a code, an address
    left = [one for one in re.split(r"[\s,;.:·()\[\]“”+×–—−=/#\d]+", rest) if re.search(r"[^\W\d_]", one)]
    return [one for one in left if one not in UNITS | LISTS]


def test_no_screen_speaks_outside_the_catalogue(german, known):
    one, (ids, *_) = german
    assert one.page.evaluate("document.documentElement.lang") == "de"
    leaks, looked_at = {}, set()
    for path in PATHS:
        show(one, path, ids)
        said = set(one.page.evaluate(SAID)) - looked_at  # most of a screen stands on others too
        looked_at |= said
        for text in sorted(said):
            if left := [*outside(text, known), *points(text, known)]:
                leaks.setdefault(text.strip()[:120], [path, *left])
    assert leaks == {}, json.dumps(leaks, indent=1, ensure_ascii=False)
    assert len(looked_at) > 500


def test_numbers_and_days_are_those_of_the_language(german):
    one, (ids, *_) = german
    show(one, "/jobs/{job}/runs/{run}/readings/{reading}", ids)
    shown = one.app(
        "async () => { const f = fallbook.module('ui/format.js'); return [f.fixed(1.25, 2), f.bytesText(2.5e6), f.clockTime('2026-11-25T10:31:00')]; }"
    )
    assert shown == ["1,25", f"{OPENS}2,5 MB{CLOSES}", "10:31"]


# Values of two other phones, neither of which has seen the other's; the same once more, set aside by the server.
DIFFER = """async (app, [job, both, marks]) => app.store.take(job, both, marks)"""
MEASURED = """async (app, job) => (await app.store.job(job)).records('observation')
  .find(({ fields }) => fields.code === 'BDD' && fields.quantification_1)?.id"""  # water level, in per cent
VALUES = [
    ("job", "surveyed_on", "2026-11-24", "2026-11-25"),
    ("job", "declination_deg", -1.5, 2.25),
    ("check", "first_made_at", "2026-11-24T08:30:00+01:00", "2026-11-25T09:00:00+01:00"),
    ("node", "position", {"lat_deg": 51.5, "lon_deg": -0.1}, {"lat_deg": 51.75, "lon_deg": -0.1, "sd_m": 2.5}),
    ("photo", "taken_at", "2026-11-24T08:30:00+01:00", "2026-11-25T09:00:00+01:00"),
    ("photo", "size_bytes", 1250000, 2500000),
    ("reading", "counter_m", 3.25, 4.5),
    ("reading", "removed", True, False),
    ("observation", "quantification_1", 12.5, 15.25),
    ("run", "start_bearing", {"bearing_deg": 80.5, "north": "magnetic"}, {"bearing_deg": 81.5, "north": "true"}),
]  # fmt: skip


@pytest.fixture
def differing(german):
    """The phone, where other phones differ and the server has turned the same values down."""
    one, all_ids = german
    ids = next({**some, "observation": id} for some in all_ids if (id := one.app(MEASURED, some["job"])))
    entries, marks = [], {}
    for n, (kind, name, *values) in enumerate(VALUES):
        record = ids["job"] if kind == "job" else ids[kind]
        for writer, value in zip(("far", "near"), values, strict=True):
            for state in ("kept", "aside"):
                entries.append(
                    {
                        "job_id": ids["job"], "writer": f"{writer}-{kind}-{name}-{state}", "number": 1,
                        "device_id": "7", "record_id": record, "kind": kind, "fields": {name: value},
                        "recorded_at": f"2026-11-25T10:{n:02}:00+00:00",
                    }
                )  # fmt: skip
        for writer in ("far", "near"):
            marks[f"{writer}-{kind}-{name}-aside:1"] = {"code": "entry_refused", "reasons": {name: ["7"]}}
    one.app(DIFFER, [ids["job"], entries, marks])
    return one, ids


def without_brackets(text):
    return re.sub(f"[{OPENS}{CLOSES}]", "", text).replace("\u00a0", " ")


@pytest.mark.parametrize("path", ["/jobs/{job}/conflicts", "/outbox"])
def test_values_that_differ_or_were_set_aside_are_told_in_the_language(differing, known, path):
    one, ids = differing
    show(one, path, ids)
    main = one.page.locator("main")
    main.get_by_text("81,5").first.wait_for()
    said = [text for text in one.page.evaluate(SAID) if text.strip()]
    assert {text: left for text in said if (left := [*outside(text, known), *points(text, known)])} == {}
    shown = main.inner_text()
    assert not re.search(r"\d{4}-\d\d|[{}|]", shown), "a date as in a file, an object, or a list of units"
    units = ("25. Nov. 2026", "−1,5 degrees", "2,25 degrees", "3,25 m", "12,5 %")
    assert [one for one in units if one not in without_brackets(shown)] == []


def test_a_word_outside_is_seen(known):
    assert outside(f"{OPENS}Open {OPENS}12,5 m{CLOSES} on{CLOSES} · {known[0]}, 3,5 m", known) == []
    assert outside(f"{OPENS}Open{CLOSES} stray door 3 m", known) == ["stray", "door"]
    assert points("at 3.5 m", known) == ["3.5"]
