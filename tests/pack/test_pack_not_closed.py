"""What was not closed on site: in the report, the manifest and the command, with the words for it."""

import dataclasses
import json

from pack_jobs import sample

from webapp.assembly.job import assemble
from webapp.pack import manifest_json
from webapp.pack.not_closed import not_closed, not_closed_lines
from webapp.pack.report import report_data
from webapp.pack.summary import summary
from webapp.report_model.contents import OpenItem, OpenItems

ITEM = OpenItem("photo_missing", "site", "R1", "BAC at counter 3.00 m", "BAC has no photo.", "why", "id")
CHECKS = ("a photo where the code asks for one", "a size for every stretch")


def school():
    return assemble(sample("school_foul_drain")[0])


def with_items(contents, *items, unmeasured=0):
    bare = {"runs": (), "photos": ()}  # what the report's data need no pictures for
    return dataclasses.replace(contents, not_closed=OpenItems(items, CHECKS, unmeasured), **bare)


def test_an_open_item_is_a_row_with_its_severity_in_words():
    contents = with_items(school(), ITEM, dataclasses.replace(ITEM, severity="desk", run_ref="", about=""))
    section = report_data(contents, {}, {})["not_closed"]
    assert section["rows"] == [
        ["R1", "BAC at counter 3.00 m", "BAC has no photo.", "Cannot be fixed later"],
        ["", "", "BAC has no photo.", "Can be fixed at the desk"],
    ]
    assert section["lines"] == []
    (first,) = [line for line in report_data(contents, {}, {})["summary"]["next"] if "closed" in line]
    assert "cannot be fixed later (1;" in first
    assert list(not_closed_lines(contents))[1:3] == [
        "  - Run R1, BAC at counter 3.00 m: BAC has no photo. Cannot be fixed later.",
        "  - BAC has no photo. Can be fixed at the desk.",
    ]
    (one, _) = manifest_json.manifest(contents, [], [])["not_closed_on_site"]
    assert (one["code"], one["severity"], one["run"]) == ("photo_missing", "site", "R1")


def test_an_empty_list_says_what_was_looked_at_and_judges_nothing():
    section = not_closed(with_items(school(), unmeasured=2))
    assert section.lines == (f"Nothing missing among these 2 checks: {'; '.join(CHECKS)}.",)
    assert section.note.endswith(
        "2 photos were not measured, so their sharpness and brightness are not known."
    )
    words = json.dumps([section.lines, section.note]).lower()
    assert "safe" not in words and "complete" not in words


def test_the_phones_own_checks_are_not_claimed_here():
    looked_at = school().not_closed.looked_at
    assert "a size for every stretch" in looked_at and not any("sent" in one.split() for one in looked_at)


def test_page_one_asks_for_the_level_that_the_open_item_asks_for():
    contents = assemble(sample("tidal_creek_drain")[0])
    wanted = [one for one in contents.not_closed.items if one.code.startswith("rise_needs_")]
    assert wanted and all("level tie" in one.sentence for one in wanted)
    requested = [line for line in summary(contents, 0)["next"] if "level tie" in line]
    assert requested == [f"Run {one.run_ref}: {one.sentence[0].lower()}{one.sentence[1:]}" for one in wanted]
    settled = dataclasses.replace(contents, not_closed=OpenItems((), CHECKS))
    assert not any("level tie" in line for line in summary(settled, 0)["next"])
