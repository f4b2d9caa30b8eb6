"""Settings that are numbers: what they are at first, how little each may be, and what is no number."""

import re
from dataclasses import asdict

import pytest
from settings_kit import read, under

from webapp import config, paths


def test_the_budget_of_a_pack_is_read():
    budget = read(FALLBOOK_PACK_MEMORY_MB="300", FALLBOOK_PACK_SECONDS="60")["PACK_BUDGET"]
    assert (budget.memory_bytes, budget.seconds, budget.size_bytes) == (300 << 20, 60, 4096 << 20)


def test_the_table_of_settings_states_the_numbers_that_hold():
    table = (paths.PACKAGE / "recipes" / "README.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `(FALLBOOK_\w+)` \|.*\| (\d+) \|$", table, re.M))
    with under():
        found = config.settings(None)
    budget = found["PACK_BUDGET"]
    held = {
        "FALLBOOK_PACK_MEMORY_MB": budget.memory_bytes / 1024**2,
        "FALLBOOK_PACK_SECONDS": budget.seconds,
        "FALLBOOK_PACK_SIZE_MB": budget.size_bytes / 1024**2,
        "FALLBOOK_OFFICE_IDLE_HOURS": found["OFFICE_IDLE_S"] / 3600,
        "FALLBOOK_PROXIES": found["PROXIES"],
        **{f"FALLBOOK_KEEP_{name.upper()}_DAYS": n for name, n in asdict(found["KEEP_DAYS"]).items()},
    }
    assert {name: int(number) for name, number in rows.items()} == held
    for name, least in re.findall(r"^\| `(FALLBOOK_\w+)` \|.*at least (\d+)", table, re.M):
        assert isinstance(read(**{name: least}), dict), name
        assert read(**{name: str(int(least) - 1)}) == "setting_malformed", name


@pytest.mark.parametrize(
    "name, least",
    [("FALLBOOK_PACK_MEMORY_MB", 256), ("FALLBOOK_PACK_SECONDS", 10), ("FALLBOOK_PACK_SIZE_MB", 10)],
)
def test_a_budget_of_a_pack_is_a_whole_number_and_no_trap(name, least):
    assert read(**{name: str(least)}) != "setting_malformed"
    for text in (str(least - 1), "0", "-1", "1e3", "1.5", "1 GB", "99999999", "½"):
        assert read(**{name: text}) == "setting_malformed", text


@pytest.mark.parametrize(
    "name, least", [("UPLOADS", 1), ("INVITATIONS", 1), ("PACKS", 1), ("AUDIT", config.MIN_AUDIT_DAYS)]
)
def test_how_long_something_is_kept_is_in_whole_days_and_no_trap(name, least):
    name = f"FALLBOOK_KEEP_{name}_DAYS"
    for text in ("0", str(least), "36500"):
        assert isinstance(read(**{name: text}), dict), text
    for text in ("-1", "1.5", "30d", "36501", "", *([str(least - 1)] if least > 1 else [])):
        assert read(**{name: text}) == "setting_malformed", text
