"""A finger that counts its touches and scrolls for nothing."""

import re

import steps
from phone import VIEWPORT

HIT = """(element, [x, y]) => { const found = document.elementFromPoint(x, y);
  return Boolean(found) && (element === found || element.contains(found) || found.contains(element) && found.tagName === 'LABEL'); }"""


class Finger:
    """Presses what is in sight and counts; what would have to be scrolled to is a failure."""

    def __init__(self, one):
        self.one, self.page, self.count = one, one.page, 0

    def press(self, target):
        self.page.wait_for_function("() => document.querySelector('.dock, .bar:not([hidden])')")
        box, before = None, {}
        while (
            box is None or box != before
        ):  # the log may be drawn again meanwhile: a finger waits until it stands still
            target.wait_for()
            before, box = box, target.bounding_box()
            self.page.wait_for_timeout(30)
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        head = self.page.locator(".top").bounding_box()
        foot = self.page.locator(".dock, .bar:not([hidden])").first.bounding_box()
        inside = None
        while inside is None:  # drawn again just now: look at the key that is there
            inside = target.evaluate("(e) => e.isConnected ? Boolean(e.closest('.dock, .bar')) : null")
        low = VIEWPORT["height"] if inside else foot["y"]
        assert head["y"] + head["height"] <= box["y"] and box["y"] + box["height"] <= low, (box, head, foot)
        for _ in range(5):  # a key that is drawn again just now is no longer the one that was found
            if free := target.evaluate(HIT, [x, y]):
                break
            self.page.wait_for_timeout(30)
        assert free, "something lies over it"
        self.page.touchscreen.tap(x, y)
        self.count += 1

    def key(self, name):
        self.press(self.page.get_by_role("button", name=name, exact=True).first)

    def hour(self, hour, group="Clock from"):
        ring = self.page.get_by_role("group", name=group)
        self.press(ring.get_by_role("radio", name=str(hour), exact=True))

    def kind(self, words):
        self.press(self.page.get_by_role("radio", name=re.compile(words)))

    def saved(self, code):
        """Save, be back on the log, and give what was stored."""
        self.key("Save observation")
        self.page.wait_for_url(re.compile(r"/runs/[0-9a-f-]{36}$"))
        steps.link_or_button(self.page, "Observation").wait_for()
        return [o for o in self.one.records("observation") if o["code"] == code][-1]
