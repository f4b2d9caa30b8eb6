"""fallbook selfcheck --coverage: the shares are met, and a wrong model is found out."""

import json

from click.testing import CliRunner

from webapp.cli import main
from webapp.selfcheck import coverage


def test_the_shares_are_met():
    done = CliRunner().invoke(
        main, ["selfcheck", "--coverage", "--only", "shares", "--surveys", "1000", "--json"]
    )
    assert done.exit_code == 0, done.output
    rows = json.loads(done.output)
    assert all(row["ok"] for row in rows)
    assert len([row for row in rows if "unrecorded at each joint" in row["what"]]) == 1
    assert any(row["broken"] for row in rows)
    assert rows[0]["count"] > 2000 and rows[1]["count"] > 300 and rows[2]["count"] == 1000


def test_bands_too_narrow_are_found_out(monkeypatch):
    monkeypatch.setattr(coverage, "SIGMAS_95", 1.5)
    done = CliRunner().invoke(main, ["selfcheck", "--coverage", "--only", "shares", "--surveys", "300"])
    assert done.exit_code == 1
    assert "BAD levels inside" in done.output
    assert "reported only" in done.output
