"""Which tests come first where several processes share them: the slow ones, so that none is left for the end.

pytest-xdist (``--dist worksteal``) gives each process one stretch of the list; whoever is done takes over the
second half of what another one has left. So each stretch begins with its share of the slow files, browsers
and arithmetic mixed, and ends with tests that take no time. The tests of a file stay together and in order.
"""

import itertools
import os

import pytest

# Measured on two cores: seconds of the processor, more where a test waits. A file that is not here is quick.
SECONDS = {
    "browser/test_keeping.py": 64,
    "figures/test_figures_parity.py": 62,
    "browser/test_watchdog.py": 39,
    "store/test_durability.py": 39,
    "browser/test_dock.py": 33,
    "survey/test_capacity_parity.py": 32,
    "survey/test_coverage_command.py": 32,
    "survey/test_plan_parity.py": 32,
    "test_read_only.py": 32,
    "browser/test_away.py": 28,
    "survey/test_readings_columns.py": 28,
    "survey/test_pipe_length_parity.py": 27,
    "survey/test_run_culvert.py": 25,
    "test_platforms.py": 24,
    "survey/test_grading_parity.py": 24,
    "browser/test_photos_taken.py": 20,
    "browser/test_starts.py": 18,
    "test_encodings.py": 18,
    "survey/test_level_parity.py": 18,
    "ways/test_ways_sync.py": 18,
    "browser/test_forms.py": 17,
    "ways/test_ways_phone.py": 17,
    "browser/test_end_to_end.py": 16,
    "browser/test_screens.py": 16,
    "store/test_salvage.py": 16,
    "browser/test_sync.py": 15,
    "browser/test_worker.py": 15,
    "pack/test_pack_confident.py": 15,
    "figures/test_jobs_parity.py": 15,
    "api/test_sync_refusals.py": 14,
    "browser/test_figures_of_runs.py": 14,
    "browser/test_observation_touches.py": 14,
    "store/test_damaged_pages.py": 14,
    "access/test_example_client.py": 13,
    "browser/test_figures.py": 13,
    "test_lint.py": 13,
    "browser/test_clock_helper.py": 12,
    "pack/test_pack_agreement.py": 12,
    "pack/test_pack_process.py": 12,
    "api/test_budgets.py": 11,
    "pack/test_pack_length.py": 11,
    "pack/test_pack_pictures.py": 11,
    "sync/test_convergence_machine.py": 11,
    "browser/test_readings_file.py": 10,
    "browser/test_store.py": 10,
    "pack/test_pack_hostile.py": 10,
    "store/test_backup.py": 10,
    "upgrade/test_phone_upgrade.py": 10,
    "browser/test_first_job.py": 9,
    "browser/test_opening.py": 9,
    "browser/test_ready.py": 9,
    "test_cli_language.py": 9,
    "pack/test_pack_bad_numbers.py": 9,
    "browser/test_length.py": 8,
    "test_js.py": 8,
    "browser/test_culvert.py": 7,
    "browser/test_photos.py": 7,
    "browser/test_second_language.py": 7,
    "test_typed_records.py": 7,
    "browser/test_adjusted_levels.py": 5,
    "browser/test_entry_budget.py": 5,
    "browser/test_handover.py": 5,
}


@pytest.hookimpl(trylast=True)  # once it is settled which tests run
def pytest_collection_modifyitems(items):
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    if workers > 1:
        items[:] = arranged(items, workers)


def file_of(item):
    """Return the file of a test, as it stands in the table."""
    return item.nodeid.split("::")[0].removeprefix("tests/")


def stretches(count, workers):
    """Return how many tests each process is given at first."""
    sizes = []
    for left in range(workers, 0, -1):
        sizes.append((count - sum(sizes)) // left)
    return sizes


def shares(files, workers):
    """Return the slow files by process: the slowest first, each to whoever has least."""
    found, seconds = [[] for _ in range(workers)], [0] * workers
    for name in sorted(files & SECONDS.keys(), key=lambda one: (-SECONDS[one], one)):
        least = seconds.index(min(seconds))
        found[least].append(name)
        seconds[least] += SECONDS[name]
    return found


def arranged(items, workers):
    """Return the tests in the order in which so many processes share them best."""
    by_file = {}
    for item in items:
        by_file.setdefault(file_of(item), []).append(item)
    quick = itertools.chain.from_iterable(some for name, some in by_file.items() if name not in SECONDS)
    found, end = [], 0
    for size, names in zip(stretches(len(items), workers), shares(set(by_file), workers), strict=True):
        end += size
        for name in names:
            found += by_file[name]
        found += itertools.islice(quick, max(end - len(found), 0))
    return [*found, *quick]
