"""A browser test that fails runs once more, and that is a fault to find: the summary tells what went wrong.

``--no-reruns`` takes the net away: the first failure is red.
"""

import pytest

RERUNS = 1


def pytest_addoption(parser):
    parser.addoption("--no-reruns", action="store_true", help="a browser test that fails is red at once")


def net(config):
    """Return the mark of a browser test, or None where nothing may run twice."""
    return None if config.getoption("--no-reruns") else pytest.mark.flaky(reruns=RERUNS)


def pytest_terminal_summary(terminalreporter):
    reruns = terminalreporter.stats.get("rerun", [])
    if not reruns:
        return
    count = f"{len(reruns)} RERUN" if len(reruns) == 1 else f"{len(reruns)} RERUNS"
    terminalreporter.write_sep("!", f"{count}: EACH IS A FAULT TO FIND", red=True)
    for report in reruns:
        terminalreporter.write_sep("-", f"{report.nodeid} ({report.when})")
        terminalreporter.write_line(report.longreprtext)
