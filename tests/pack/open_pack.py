"""A pack, opened as a stranger would, beside the figures of the same job; numbers as people read them."""

import csv
import io
import json
import re
import zipfile
from pathlib import Path

import pdf_facts
from click.testing import CliRunner

from webapp.cli import main

CODES = Path(__file__).resolve().parents[2] / "webapp" / "tables" / "observation_codes.json"
DEFECTS = {
    row["code"] for row in json.loads(CODES.read_text(encoding="utf-8"))["rows"]
    if row["group"] in ("fabric", "operation")
}  # fmt: skip


class Pack:
    """The files of a pack, opened, beside the figures of the same job."""

    def __init__(self, data, job):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            self.files = {name: archive.read(name) for name in archive.namelist()}
        done = CliRunner().invoke(main, ["figures", "--json", "-"], input=json.dumps(job))
        assert done.exit_code == 0, done.output
        self.figures = json.loads(done.stdout)
        self.printed = flat(CliRunner().invoke(main, ["figures", "-"], input=json.dumps(job)).stdout)
        self.runs = {run["run_id"]: run for run in self.figures["runs"]}
        self.refs = [run["run_ref"] for run in self.figures["runs"]]
        self.manifest = json.loads(self.files["manifest.json"])
        self.places = json.loads(self.files["plan.geojson"])["features"]
        pages = pdf_facts.text(self.files["report.pdf"]) if "report.pdf" in self.files else []
        self.pages = [flat(page) for page in pages]
        self.report = " ".join(self.pages)
        self.one = self.pages[0] + (" " + self.pages[1] if len(pages) > 1 else "") if pages else ""

    def rows(self, name):
        """The rows of a CSV."""
        text = self.files[name].decode("utf-8-sig")
        return list(csv.DictReader(io.StringIO(text, newline="")))


def flat(text):
    """Text on one line."""
    return " ".join(text.split())


def shown(value, places):
    """A number as people read it, rounded half away from zero."""
    whole = int(abs(value) * 10**places + 0.5 + 1e-9)
    text = f"{whole / 10**places:.{places}f}"
    return f"−{text}" if value < 0 and whole else text


def digits_of(sd_m):
    """With how many decimals a value stands beside its spread."""
    return 3 if sd_m < 0.1 else 2 if sd_m < 1 else 1


def same(reported, value, digits=4):
    """Whether a cell holds a number of the figures, to so many decimals."""
    if value is None or reported == "":
        return value is None and reported == ""
    return abs(float(reported) - value) <= 0.51 * 10**-digits


def joined(text):
    """A text without what a line break may put into a word."""
    return re.sub(r"[-\u00ad\s]", "", text)


def by_id(pack, kind):
    """Return every figure of one kind, over all runs, by its record."""
    return {one["record_id"]: one for run in pack.figures["runs"] for one in run[kind]}


def recorded_runs(pack):
    """The recorded runs in order: that of the figures, observations from its own start, whether turned."""
    found = {}
    for run in pack.figures["runs"]:
        length = run["length"]
        if length is None or not length["joined"]:
            places = {one["record_id"]: one["chainage_m"] for one in run["observations"]}
            found[run["run_id"]] = run, places, False
            continue
        for piece in length["runs"]:
            places, turned = {}, piece["from_other_end"]
            for one in run["observations"]:
                at_m = one["chainage_m"]
                if one["recorded_in_run"] == piece["ref"]:
                    places[one["record_id"]] = (
                        length["length_m"] - at_m if turned and at_m is not None else at_m
                    )
            found[piece["record_id"]] = run, places, turned
    return [found[name] for name in sorted(found)]
