"""Start the app again and again in one profile and count the starts that never come to a first screen.

The loop looks at the page from outside: a start that came to its screen only because something loaded
the page once more is counted apart, whoever loaded it.
"""

import time
from dataclasses import dataclass, field

from engines import Engine

HEADING = "Jobs"
POLL_S = 0.05
KEPT_WITHIN_S = 120
LOOK = """() => JSON.stringify({
  place: location.search, began: String(performance.timeOrigin),
  heading: document.querySelector('#app h1')?.textContent ?? '',
  loaded: performance.getEntriesByType('navigation')[0]?.type ?? '',
  said: (document.body?.innerText ?? '').replace(/\\s+/g, ' ').slice(0, 100),
})"""
# The app says so; an older one says nothing: then all that the page has loaded lies in the cache.
KEPT = """async () => {
  const { phase } = globalThis.fallbook?.app.kept?.state ?? {};
  if (phase) return JSON.stringify(phase === 'ready');
  if (!navigator.serviceWorker?.controller || document.querySelector('#app h1') === null) return 'false';
  const loaded = performance.getEntriesByType('resource').map((one) => new URL(one.name).pathname)
    .filter((path) => !/^\\/(api|sw|media|healthz)/.test(path));
  const kept = await Promise.all(['/', ...new Set(loaded)].map((path) => caches.match(path)));
  return JSON.stringify(kept.every(Boolean));
}"""
KEPT_SO_FAR = """() => {
  const before = window.keptSoFar ?? 'false';
  (%s)().then((found) => { window.keptSoFar = found; });
  return before;
}"""


@dataclass
class Tally:
    """What became of a number of starts."""

    seconds: list[float] = field(default_factory=list)
    hung: list[str] = field(default_factory=list)
    reloaded: list[str] = field(default_factory=list)

    @property
    def starts(self) -> int:
        return len(self.seconds) + len(self.hung)

    def line(self) -> str:
        """Return the counts in words."""
        ordered = sorted(self.seconds) or [0.0]
        times = f"median {ordered[len(ordered) // 2]:.2f} s, longest {ordered[-1]:.2f} s"
        return f"{len(self.hung)} hung and {len(self.reloaded)} loaded twice of {self.starts} starts; {times}"


def wait_until_kept(engine: Engine, url: str) -> None:
    """Open the app and wait until it lies on the phone."""
    engine.begin(url)
    end = time.monotonic() + KEPT_WITHIN_S
    # WebDriver waits for no promise, so the page is asked again and again.
    while engine.look(KEPT_SO_FAR % KEPT) is not True:
        if time.monotonic() > end:
            raise RuntimeError(f"{engine.name}: the app is not on the phone after {KEPT_WITHIN_S} s")
        time.sleep(0.25)


def start_again(engine: Engine, url: str, count: int, limit_s: float) -> Tally:
    """Start the app ``count`` times, each as soon as the one before has drawn its first screen.

    Every second start is of the plain address, as an icon on the home screen opens it: a browser may answer
    that out of the cache without the worker.
    """
    tally = Tally()
    before = (engine.look(LOOK) or {}).get("began", "")
    for number in range(count):
        mark = f"?start={time.monotonic_ns()}" if number % 2 else ""
        began = time.monotonic()
        engine.begin(f"{url}/{mark}")
        seen: dict[str, str] = {}
        while (took := time.monotonic() - began) < limit_s:
            seen = engine.look(LOOK) or seen
            if seen.get("place") == mark and seen["began"] != before and seen["heading"] == HEADING:
                before = seen["began"]
                break
            time.sleep(POLL_S)
        else:
            aborted = ", ".join(getattr(engine, "aborted", [])[:4])
            tally.hung.append(f"start {number}: {seen.get('said', 'no page')} [{aborted}]")
            continue
        tally.seconds.append(took)
        if seen["loaded"] == "reload":
            tally.reloaded.append(f"start {number}")
    return tally
