"""The packs of the sample jobs, against what an earlier version made of them.

    python tests/pack/unchanged.py                   # names every file that differs
    python tests/pack/unchanged.py --diff CHECKOUT   # and how, beside the packs that this checkout makes
    python tests/pack/unchanged.py --write           # what is made now becomes what is expected

``unchanged/files.json`` holds the SHA-256 of each file of a pack and of ``fallbook figures --json``;
``unchanged/<sample>.txt`` the text of the report, ``unchanged/rewordings.json`` how it was reworded since.
"""

import argparse
import difflib
import hashlib
import json
import os
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import pdf_facts
from click.testing import CliRunner

from webapp import cli, paths

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).resolve().parent / "unchanged"
SAMPLES = ("school_foul_drain", "tidal_creek_drain")
FIGURES = "figures.json"
READ = ("report.pdf", "manifest.json")  # compared by their words; the manifest only repeats the hashes


def made(sample, root=ROOT):
    """Return the files that a checkout makes of a sample job, by name."""
    with tempfile.TemporaryDirectory() as folder:
        pack = Path(folder) / "pack.zip"
        fallbook(root, "pack", f"sample_jobs/{sample}", "-o", str(pack))
        with zipfile.ZipFile(pack) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
    return files | {FIGURES: fallbook(root, "figures", "--json", f"sample_jobs/{sample}")}


def fallbook(root, *words):
    """Return what a command prints, of this checkout in this process, of another in one of its own."""
    if root == ROOT == paths.PACKAGE.parent:  # the environment may be that of another checkout
        done = CliRunner().invoke(
            cli.main, [str(root / word) if word.startswith("sample_jobs/") else word for word in words]
        )
        assert done.exit_code == 0, done.output
        return done.stdout_bytes
    env = {**os.environ, "PYTHONPATH": str(root)}
    done = subprocess.run(
        [sys.executable, "-m", "webapp", *words], cwd=root, env=env, capture_output=True, check=True
    )
    return done.stdout


def hashes(files):
    """Return the SHA-256 of every file that must stay as it is, to the byte."""
    return {
        name: hashlib.sha256(data).hexdigest() for name, data in sorted(files.items()) if name not in READ
    }


def report_text(files):
    """Return the words of the report, a page a line."""
    return "".join(" ".join(page.split()) + "\n" for page in pdf_facts.text(files["report.pdf"]))


def kept(sample):
    """Return what is expected of a sample: hashes, and the report's text with its rewordings made."""
    text = (HERE / f"{sample}.txt").read_text(encoding="utf-8")
    for before, after in rewordings():
        text = text.replace(before, after)
    return json.loads((HERE / "files.json").read_text(encoding="utf-8"))[sample], text


def rewordings():
    """Return the list of (before, after), in the order in which they are made."""
    return json.loads((HERE / "rewordings.json").read_text(encoding="utf-8"))


def differences(before, after):
    """Return in lines how the words of two reports differ."""
    words = [text.replace("\n", " \f ").split(" ") for text in (before, after)]
    lines = difflib.unified_diff(*words, "before", "after", n=6, lineterm="")
    return [line for line in lines if line.strip()]


def write():
    """Keep what is made now."""
    files = {sample: made(sample) for sample in SAMPLES}
    HERE.mkdir(exist_ok=True)
    for sample in SAMPLES:
        (HERE / f"{sample}.txt").write_text(report_text(files[sample]), encoding="utf-8")
    found = {sample: hashes(files[sample]) for sample in SAMPLES}
    (HERE / "files.json").write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    (HERE / "rewordings.json").write_text("[]\n", encoding="utf-8")


def diff(checkout):
    """Print how the packs of another checkout differ from ours."""
    for sample in SAMPLES:
        theirs, ours = made(sample, checkout), made(sample)
        for name in sorted(theirs.keys() | ours.keys()):
            pair = [files.get(name, b"") for files in (theirs, ours)]
            if name == "manifest.json" or pair[0] == pair[1]:
                continue
            print(f"{sample}/{name}")
            if name == "report.pdf":
                print("\n".join(differences(*(report_text(files) for files in (theirs, ours)))))
            else:
                lines = [data.decode("utf-8", "replace").splitlines() for data in pair]
                print("\n".join(difflib.unified_diff(*lines, "before", "after", n=0, lineterm="")))


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--write", action="store_true")
    words.add_argument("--diff", metavar="CHECKOUT", type=Path)
    requested = words.parse_args()
    if requested.write:
        write()
    elif requested.diff:
        diff(requested.diff.resolve())
    else:
        for sample in SAMPLES:
            files, (expected, text) = made(sample), kept(sample)
            found = hashes(files)
            for name in sorted(expected.keys() | found.keys()):
                if expected.get(name) != found.get(name):
                    print(f"{sample}: {name} differs")
            print("\n".join(differences(text, report_text(files))))


if __name__ == "__main__":
    main()
