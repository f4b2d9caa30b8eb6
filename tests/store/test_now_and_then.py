"""What a running server does now and then: a fault in one step stops neither the others nor the server."""

import json
import os
from dataclasses import asdict, replace

import pytest

from webapp import serve, timesource
from webapp.app import opened
from webapp.commands.run import listening
from webapp.commands.run.where import Where
from webapp.erasing import clearing
from webapp.upkeep import cleaning

WHERE = Where("127.0.0.1", 0, quiet=True, lan=False, name=None, lan_port=0, setup_port=0)


@pytest.fixture
def now_and_then(tmp_path, monkeypatch):
    """Return what ``fallbook serve`` hands to its loop, for a folder with a pack of long ago."""
    begun = []

    def begin(servers, _relay, tick):
        begun.append(tick)
        for server in servers:
            server.close()

    monkeypatch.setattr(serve, "run", begin)
    with opened({"DATA_FOLDER": tmp_path / "data", **listening.access_of(WHERE)}) as app, app.app_context():

        def made(watch=None):
            lan = replace(WHERE, lan=watch is not None)
            monkeypatch.setattr(listening, "listen_on_lan", lambda *_: ([], None, watch))
            listening.run(app, lan)
            pack = tmp_path / "data" / "packs" / "old.zip"
            pack.parent.mkdir(exist_ok=True)
            pack.write_bytes(b"PK")
            os.utime(pack, (0, 0))
            before_s = timesource.now_utc().timestamp() - 2 * cleaning.DAY_S  # the first look takes nothing
            stand = json.dumps(asdict(cleaning.Stand(before_s, before_s)))
            (tmp_path / "data" / cleaning.FILE).write_text(stand, encoding="utf-8")
            return begun.pop(), pack

        yield made


def test_it_clears_what_is_old_and_erases_on_its_day(now_and_then, monkeypatch):
    look, pack = now_and_then()
    days = []
    monkeypatch.setattr(clearing, "on_its_day", lambda *asked: days.append(asked))
    look()
    assert not pack.exists() and len(days) == 1
    look()
    assert len(days) == 2


@pytest.mark.parametrize(
    "fault", [OSError(28, "No space left on device"), ValueError("a broken certificate")]
)
def test_a_step_that_fails_is_in_the_log_and_the_next_one_is_done(now_and_then, monkeypatch, caplog, fault):
    def fails(*_asked):
        raise fault

    monkeypatch.setattr(clearing, "on_its_day", fails)
    look, pack = now_and_then(watch=fails)
    look()
    assert not pack.exists()
    assert [one.getMessage() for one in caplog.records if one.exc_info] == ["network", "erasing"]
