"""Phones whose page goes from test to test: the app is compiled once a process, and fewer processes start."""

import contextlib

from phone import VIEWPORT, Watched

CONTEXT = {"viewport": VIEWPORT, "has_touch": True, "service_workers": "block"}
MAX_FREE = 3
# Goes to a screen as a tap would, where the app runs; says whether it does.
GO = """async (path) => {
  if (!window.fallbook) return false;
  await window.fallbook.ready;
  await window.fallbook.app.go(path);
  return true;
}"""
# Larger text and the night theme, which a test may have put on.
AS_DRAWN = """() => {
  document.documentElement.removeAttribute('style');
  document.documentElement.removeAttribute('class');
}"""
LEFT = "async () => (await indexedDB.databases()).length + localStorage.length + history.length - 1"
EMPTY = {
    "content_type": "text/html",
    "body": '<!doctype html><title>left</title><link rel="icon" href="data:,">',
}
UNUSED = "() => document.title === 'left' && !document.getElementById('start-words')"
# What leaves something on a context, a page or a clock that cannot be taken away again.
LASTING = (
    *("add_init_script", "add_locator_handler", "emulate_media", "expose_binding", "expose_function"),
    *("new_cdp_session", "on", "once", "route_web_socket", "set_extra_http_headers"),
    *("install", "fast_forward", "pause_at", "resume", "run_for", "set_fixed_time", "set_system_time"),
)


class Emptied(Watched):
    """A phone on a page that others had before it."""

    def take_back(self) -> None:
        """Take away what a test has set, but for what is stored."""
        for page in self.context.pages:
            if page is not self.page:
                page.close()
        self.context.unroute_all(behavior="ignoreErrors")
        self.page.unroute_all(behavior="ignoreErrors")
        self.context.set_offline(False)
        self.context.clear_permissions()
        self.context.set_geolocation(None)
        self.page.set_viewport_size(VIEWPORT)

    def begin_again(self) -> None:
        """Be a phone again on which nothing is stored and no test has set anything; the page is kept."""
        self.take_back()
        self.leave()
        assert self.page.evaluate(LEFT) == 0, "something of the phone before is left"
        self.allowed, self.problems = [], []

    def bare(self, page=None) -> None:
        """Have a page without screens; what was left just now is one."""
        if page is None and self.page.evaluate(UNUSED):
            self.give_words(self.page)
        else:
            super().bare(page)

    def leave(self) -> None:
        """Go from the app to an empty page, for which no server is needed, and empty the storage."""
        self.page.route("**/healthz", lambda route: route.fulfill(**EMPTY))
        # Not to a page of another origin: that is another process.
        self.page.goto(f"{self.url}/healthz")
        self.page.unroute_all()
        self.page.evaluate("() => sessionStorage.clear()")
        self.context.clear_cookies()
        session = type(self.context).new_cdp_session(self.context, self.page)
        session.send("Storage.clearDataForOrigin", {"origin": self.url, "storageTypes": "all"})
        session.send("Page.resetNavigationHistory")
        session.detach()


class Resident(Emptied):
    """The phone of the shared server."""

    def __init__(self, url: str):
        super().__init__(url)
        self.well_left = False  # by a test that leaves its jobs to the next

    def goto(self, path: str, page=None) -> None:
        """Go to a screen as a tap would, where the app runs already; ``load`` opens the address anew."""
        if page in (None, self.page) and self.page.evaluate(GO, path):
            return
        self.load(path, page)

    def go_on(self) -> None:
        """Be the phone that the test before has left, in the app; where that one failed, begin again."""
        if self.well_left:
            self.well_left = False
            self.take_back()
        else:
            self.begin_again()
        self.goto("/")  # a form goes back to where it was come to from
        self.page.evaluate(AS_DRAWN)
        self.allowed, self.problems = [], []

    def begin_again(self) -> None:
        """Be a phone again on which nothing is stored."""
        self.well_left = False
        super().begin_again()


class Lent(Emptied):
    """A visitor: closed, it gives its page back."""

    def __init__(self, url: str, pages: "Pages"):
        super().__init__(url)
        self.pages = pages

    def close(self) -> None:
        """Be gone, with all that was stored."""
        if self.context:
            self.pages.take(self)
        self.context = self.page = None


class Pages:
    """Pages that visitors have left, for those who come."""

    def __init__(self, browser):
        self.browser = browser
        self.free: list = []

    def lend(self, url: str) -> Lent:
        """Return a visitor on which nothing is stored, on a page of a server that it has not opened yet."""
        one = Lent(url, self)
        if self.free:
            one.context = self.free.pop()
            one.page = one.context.pages[0]
            one.hear_errors()
            one.begin_again()
        else:
            one.watch(self.browser.new_context(**CONTEXT))
            note_what_lasts(one.context)
        return one

    def take(self, one: Lent) -> None:
        """Take a page back, unless something is on it that stays."""
        for of, event, handler in one.heard:
            of.remove_listener(event, handler)
        one.heard.clear()
        if not one.context.spoilt and len(self.free) < MAX_FREE and not one.page.is_closed():
            with contextlib.suppress(Exception):  # a page that crashed: it goes
                one.take_back()
                one.leave()
                self.free.append(one.context)
                return
        with contextlib.suppress(Exception):
            one.context.close()


def note_what_lasts(context) -> None:
    """Note on a context when something is done to it that lasts."""
    context.spoilt = False

    def noting(function):
        def call(*given, **named):
            context.spoilt = True
            return function(*given, **named)

        return call

    for of in (context, context.pages[0], context.clock, context.pages[0].clock):
        for name in LASTING:
            if hasattr(of, name):
                setattr(of, name, noting(getattr(of, name)))
