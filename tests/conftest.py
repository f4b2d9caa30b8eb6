"""Fixtures that several folders share; where a test goes is in README.md beside this file."""

import gc
import os
import shutil
import signal

import browser as browsers
import hypothesis
import kept_routes
import order
import pytest
import rerun_faults
import steady_cases
import zygote
from kept_pages import CONTEXT, Pages, Resident
from phone import Phone, Watched
from server_process import ServerProcess

# How long an example takes is the machine's affair: a benchmark looks at it, no test does.
hypothesis.settings.register_profile("fallbook", deadline=None)
hypothesis.settings.load_profile("fallbook")
steady_cases.hold()
kept_routes.hold()
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A shell ignores Ctrl-C for what it starts with "&", and every process that a test starts would too.
    signal.signal(signal.SIGINT, signal.default_int_handler)

LEFT_OUT = pytest.StashKey[int]()
PASSED = pytest.StashKey[bool]()


def pytest_addoption(parser):
    parser.addoption(
        "--no-browser", action="store_true", help="leave the browser tests out (the summary says so)"
    )
    rerun_faults.pytest_addoption(parser)


def pytest_configure(config):
    config.addinivalue_line("markers", "browser: drives a real browser")
    config.pluginmanager.register(order, "order")


def pytest_collection_modifyitems(config, items):
    for item in items:
        if "chromium_path" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)
            if net := rerun_faults.net(config):
                item.add_marker(net)
    if config.getoption("--no-browser"):
        gone = [item for item in items if item.get_closest_marker("browser")]
        items[:] = [item for item in items if item not in gone]
        config.hook.pytest_deselected(items=gone)
        config.stash[LEFT_OUT] = len(gone)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item):
    item.stash[PASSED] = False
    found = yield
    item.stash[PASSED] = True
    return found


def pytest_collection_finish():
    """Let the collector of garbage pass over thousands of tests, and come less often: it took an eighth."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


def pytest_terminal_summary(terminalreporter, config):
    count = config.stash.get(LEFT_OUT, 0)
    if count:
        terminalreporter.write_sep("!", f"{count} BROWSER TESTS WERE LEFT OUT (--no-browser)", red=True)
    rerun_faults.pytest_terminal_summary(terminalreporter)


@pytest.fixture(scope="session", autouse=True)
def packed_once(tmp_path_factory):
    """The app is packed by the first process that needs it; those beside it take what that one has made."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        zygote.share(tmp_path_factory.getbasetemp().parent)


@pytest.fixture(scope="session")
def chromium_path():
    """The browser's path; a machine without one fails, it does not skip."""
    path = browsers.find()
    if not path:
        pytest.fail(
            "no browser: install Chromium or set FALLBOOK_BROWSER, or pass --no-browser "
            "(python3 tests/run.py installs one)",
            pytrace=False,
        )
    return path


@pytest.fixture(scope="session")
def playwright_driver(chromium_path):
    from playwright.sync_api import sync_playwright

    with sync_playwright() as p:
        yield p


@pytest.fixture(scope="session")
def one_browser(playwright_driver, chromium_path):
    """One browser for the tests that need no profile on disk."""
    browser = playwright_driver.chromium.launch(executable_path=chromium_path, args=browsers.ARGS)
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def kept_pages(one_browser):
    """The pages of visitors, from one test to the next."""
    return Pages(one_browser)


@pytest.fixture
def visitor(one_browser, kept_pages):
    """Make cheap phones: ``visitor(url)``, each with storage of its own that ends with the test.

    Without a service worker: precaching the app for each would take most of the time.
    """
    made = []

    def make(url, **more):
        if more:
            one = Watched(url)
            one.watch(one_browser.new_context(**{**CONTEXT, **more}))
        else:
            one = kept_pages.lend(url)
        made.append(one)
        return one

    yield make
    for one in made:
        one.close()
    for one in made:
        one.check()


@pytest.fixture(scope="session")
def shared_phone(one_browser, shared_server):
    """The phone of every ``newcomer``, ``resident`` and ``page_kit``."""
    one = Resident(shared_server.url)
    one.watch(one_browser.new_context(**CONTEXT))
    yield one
    one.close()


@pytest.fixture
def newcomer(shared_phone):
    """A phone on the shared server that has just opened the app for the first time.

    As a visitor, with the page of the test before, from which everything was taken away: so the app is
    compiled once a process.  Not for tests that add scripts to pages, set their clock or count requests.
    """
    shared_phone.begin_again()
    shared_phone.load("/")
    yield shared_phone
    shared_phone.check()


@pytest.fixture
def resident(shared_phone, request):
    """The same in the app, with the jobs of the residents before: for a test that makes a job of its own."""
    shared_phone.go_on()
    yield shared_phone
    shared_phone.check()
    shared_phone.well_left = request.node.stash[PASSED]


@pytest.fixture
def page_kit(shared_phone):
    """A newcomer without the app's screens, on its store and sync alone."""
    shared_phone.begin_again()
    shared_phone.bare()
    yield shared_phone
    shared_phone.check()


@pytest.fixture
def live_server(tmp_path):
    """A real server process with an empty data folder."""
    server = ServerProcess(tmp_path / "data").start()
    yield server
    server.kill()


@pytest.fixture
def make_phone(playwright_driver, chromium_path, tmp_path):
    """Make phones: ``make_phone(url)``; each is closed and asked for complaints at the end."""
    made = []

    def make(url, name=None):
        profile = tmp_path / (name or f"phone{len(made)}")
        profile.mkdir()
        phone = Phone(playwright_driver, chromium_path, profile, url)
        made.append(phone)
        return phone

    yield make
    for phone in made:
        phone.close()
        shutil.rmtree(phone.profile, ignore_errors=True)
    for phone in made:
        phone.check()


@pytest.fixture
def phone(live_server, make_phone):
    """One phone on the real server, app loaded and kept by its service worker."""
    one = make_phone(live_server.url).open("/")
    one.wait_for_worker()
    return one


@pytest.fixture(scope="session")
def twin():
    """One long-lived Node process that answers for static/js/."""
    from twin import Twin

    one = Twin()
    yield one
    one.close()


@pytest.fixture(scope="session")
def shared_server(tmp_path_factory):
    """One server for the tests that do not mind what else it holds and never kill it."""
    server = ServerProcess(tmp_path_factory.mktemp("shared") / "data").start()
    yield server
    server.kill()


def pytest_make_parametrize_id(val: object) -> str | None:
    """Name bytes by their length: a zip made at collection holds the time, and names must not."""
    return f"{len(val)}-bytes" if isinstance(val, bytes) else None
