"""What is typed is seen on every phone: the window that has the focus, every key and Save are in sight and not covered."""

import json

import pytest
from figure_pages import falling
from phone import VIEWPORT
from steps import button, field, tap
from test_screens import faults_of, show

SIZES = [
    (320, 568), (360, 640), (360, 744), (375, 647), (390, 664), (390, 844), (412, 915), (768, 1024), (1024, 768),
    (568, 320), (667, 331), (844, 390), (915, 412),
]  # fmt: skip
READING_KEYS = ["Degrees", "Percent", "1 in N", "Falling", "Level", "Rising", "Beyond range", "Save reading"]
PAD_KEYS = [*"0123456789", "00", "Decimal point", "Backspace", "Clear", "Keyboard"]
# Of each control its box, and whether nothing lies over it: at the middle and towards every corner.
HIDDEN = """async ([windows, keys]) => {
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 20)));
  const named = (list, name) => list.find((e) => (e.getAttribute('aria-label') ?? e.textContent.trim()) === name && e.checkVisibility());
  const [inputs, buttons] = ['main input', 'main button'].map((which) => [...document.querySelectorAll(which)]);
  const controls = [...windows.map((name) => [name, named(inputs, name)?.closest('.window')]), ...keys.map((name) => [name, named(buttons, name)])];
  const least = innerWidth > innerHeight && innerHeight < 500 ? 40 : 44;
  const faults = controls.flatMap(([name, e]) => {
    if (!e) return [`${name} is not there`];
    const r = e.getBoundingClientRect();
    const found = [];
    if (r.left < 0 || r.top < 0 || r.right > innerWidth + 0.5 || r.bottom > innerHeight + 0.5) {
      found.push(`${name} is cut: ${[r.left, r.top, r.right, r.bottom].map(Math.round)}`);
    }
    const [x, y] = [Math.min(10, r.width / 4), Math.min(10, r.height / 4)];
    const places = [[(r.left + r.right) / 2, (r.top + r.bottom) / 2], [r.left + x, r.top + y], [r.right - x, r.top + y],
                    [r.left + x, r.bottom - y], [r.right - x, r.bottom - y]];
    const over = places.map((place) => document.elementFromPoint(...place)).find((one) => !one || !(e.contains(one) || one.contains(e)));
    if (over !== undefined) found.push(`${name} is covered by ${over?.outerHTML.slice(0, 60)}`);
    if (e.tagName === 'BUTTON' && (r.height < least - 0.5 || r.width < 40)) found.push(`${name} is small: ${Math.round(r.width)} x ${Math.round(r.height)}`);
    return found;
  });
  for (const one of document.querySelectorAll('.dock button, .dock .window-line, .dock .meaning')) {
    const [wide, tall] = [one.scrollWidth - one.clientWidth, one.matches('.meaning') ? one.scrollHeight - one.clientHeight : 0];
    if (one.checkVisibility() && (wide > 1 || tall > 1)) faults.push(`${one.textContent || one.className} does not fit: ${wide}, ${tall}`);
  }
  for (const one of document.querySelectorAll('.dock .window input')) {
    if (one.checkVisibility() && one.scrollWidth > one.clientWidth + 1) faults.push(`${one.value} does not fit its window`);
  }
  const wide = document.documentElement.scrollWidth - innerWidth;
  return wide > 0 ? [...faults, `too wide by ${wide}`] : faults;
}"""


def hidden(page, windows, keys):
    """What of these is cut, covered or too small."""
    return page.evaluate(HIDDEN, [windows, keys])


def at_every_size(page, windows, keys, faults, state):
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        if found := hidden(page, windows, keys):
            faults[f"{state}, {width} x {height}"] = found
    page.set_viewport_size(VIEWPORT)


@pytest.fixture
def reading(fresh):
    """The form of a new reading, after two others, at the address ``at``."""
    at, _ = fresh.make({"run": {"counter_zero_m": 0}, "of": {"reading": falling(2.5, 12.5)}})
    fresh.at = f"{at}/readings/new"
    show(fresh, fresh.at, {})
    return fresh


BOTH = ["Counter reading", "Inclination"]
FOUR = [*BOTH, "It had shown", "It was set to"]


def test_both_windows_every_key_and_save_are_in_sight_with_either_window_active(reading):
    page, faults = reading.page, {}
    keys = [*READING_KEYS, "Save and next", *PAD_KEYS, "Other window"]
    at_every_size(page, BOTH, keys, faults, "nothing typed")
    for name in BOTH:
        field(page, name).click()
        tap(page, "1234.56")
        at_every_size(page, BOTH, keys, faults, f"{name} typed")
    assert (
        field(page, "Counter reading").input_value() == field(page, "Inclination").input_value() == "1234.56"
    )
    button(page, "Rising").click()
    button(page, "Beyond range").click()
    at_every_size(page, BOTH, keys, faults, "beyond range")
    assert faults == {}, json.dumps(faults, indent=1)


def test_they_are_in_sight_when_the_view_changes_after_the_window_has_the_focus(reading):
    """An address bar that comes back, a phone that is turned: the window typed into stays in sight."""
    page, faults = reading.page, {}
    field(page, "Inclination").click()
    for size in [(844, 390), (390, 844), (390, 664), (667, 331), (360, 640)]:
        page.set_viewport_size(dict(zip(("width", "height"), size, strict=True)))
        tap(page, "1")
        if found := hidden(page, BOTH, [*READING_KEYS, *PAD_KEYS]):
            faults[str(size)] = found
    assert faults == {}, json.dumps(faults, indent=1)


def test_with_larger_text_it_all_stays_in_sight(reading):
    """Text a fourth larger than ours: the keys keep their height and the words fit them."""
    page, faults = reading.page, {}
    field(page, "Inclination").click()
    tap(page, "1")
    page.evaluate("() => { document.documentElement.style.fontSize = '140%'; }")  # ours is 112.5 %
    for size in [(360, 640), (375, 647), (390, 664), (390, 844), (412, 915), (844, 390), (768, 1024)]:
        page.set_viewport_size(dict(zip(("width", "height"), size, strict=True)))
        if found := hidden(page, BOTH, [*READING_KEYS, "Save and next", *PAD_KEYS]):
            faults[str(size)] = found
    assert faults == {}, json.dumps(faults, indent=1)


def test_with_a_restored_draft_all_is_in_sight_too(reading):
    page, faults = reading.page, {}
    field(page, "Counter reading").fill("14.56")
    button(page, "Falling").click()
    page.wait_for_timeout(100)
    show(reading, "/settings", {})
    show(reading, reading.at, {})
    page.get_by_text("Start afresh").wait_for()
    keys = [*READING_KEYS, "Save and next", *PAD_KEYS]
    at_every_size(page, BOTH, keys, faults, "draft")
    for name in BOTH:
        field(page, name).click()
        tap(page, "1")
        at_every_size(page, BOTH, keys, faults, f"draft, {name} active")
    assert faults == {}, json.dumps(faults, indent=1)


def test_with_a_reset_of_the_counter_opened_all_four_windows_are_in_sight(reading):
    page, faults = reading.page, {}
    field(page, "Counter reading").fill("3.5")
    page.get_by_role("button", name="The counter was reset").click()
    keys = [*READING_KEYS, "Save and next", *PAD_KEYS, "Other window", "It was not reset"]
    at_every_size(page, FOUR, keys, faults, "reset opened")
    assert (
        field(page, "It had shown").input_value() == "12.5"
        and field(page, "It was set to").input_value() == "0"
    )
    for name, typed in (("It had shown", "7"), ("It was set to", "7")):
        field(page, name).click()
        tap(page, typed)
        at_every_size(page, FOUR, keys, faults, f"{name} typed")
    # The pad fed the window that had the focus.
    assert field(page, "It had shown").input_value() == "12.57"
    assert field(page, "It was set to").input_value() == "07"
    page.wait_for_timeout(100)
    show(reading, "/settings", {})
    show(reading, reading.at, {})
    page.get_by_text("Start afresh").wait_for()
    at_every_size(page, FOUR, keys, faults, "reset and draft")
    assert faults == {}, json.dumps(faults, indent=1)


def test_what_is_wrong_is_in_sight_after_a_try_to_save(reading):
    page, faults = reading.page, {}
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        show(reading, "/settings", {})
        show(reading, reading.at, {})
        button(page, "Save reading").click()
        page.get_by_role("link", name="Inclination is needed, or Beyond range.").wait_for()
        found = hidden(page, BOTH, [*READING_KEYS, *PAD_KEYS])
        seen = page.evaluate(
            """() => { const r = document.activeElement.getBoundingClientRect();
              const dock = document.querySelector('.dock').getBoundingClientRect();
              return {tall: Math.min(r.bottom, dock.top) - Math.max(r.top, 0), said: document.activeElement.textContent}; }"""
        )
        if "needed" not in seen["said"] or seen["tall"] < 30:
            found.append(f"of what is wrong {seen['tall']} px are in sight")
        if found:
            faults[f"{width} x {height}"] = found
    page.set_viewport_size(VIEWPORT)
    assert faults == {}, json.dumps(faults, indent=1)


def test_no_key_moves_while_a_warning_comes_and_goes(reading):
    page = reading.page
    for width, height in [(390, 844), (390, 664), (320, 568), (844, 390)]:
        page.set_viewport_size({"width": width, "height": height})
        field(page, "Counter reading").fill("")
        key = button(page, "5")
        before = key.bounding_box()
        field(page, "Counter reading").click()
        tap(page, "5")  # before the last reading: a warning
        page.get_by_role("button", name="The counter was reset").wait_for()
        assert key.bounding_box() == before
        tap(page, "5")
        assert key.bounding_box() == before


def test_the_form_of_a_saved_reading_is_in_sight_whole(fresh):
    at, ids = fresh.make({"run": {"counter_zero_m": 0}, "of": {"reading": falling(2.5)}})
    own = fresh.app("async (app, job) => (await app.store.job(job)).records('reading')[0].id", ids["job"])
    show(fresh, f"{at}/readings/{own}", {})
    faults: dict[str, list[str]] = {}
    field(fresh.page, "Inclination").click()
    at_every_size(fresh.page, BOTH, [*READING_KEYS, *PAD_KEYS], faults, "a saved reading")
    assert faults == {}, json.dumps(faults, indent=1)


@pytest.mark.parametrize("code", ["BAJ", "BCA"])
def test_the_window_of_an_observation_that_is_typed_into_is_in_sight(fresh, code):
    """The windows of this form lie among its fields: the one with the focus comes into sight above the pad."""
    at, _ = fresh.make({"run": {"counter_zero_m": 0}, "of": {"reading": falling(2.5)}})
    page, faults = fresh.page, {}
    keys = ["Save observation", "Save and next", *PAD_KEYS, "Done"]
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        show(fresh, f"{at}/observations/new?code={code}", {})
        names = page.eval_on_selector_all(".window input", "(all) => all.map((one) => one.ariaLabel)")
        assert names[0] == "Counter reading" and len(names) >= 2
        for name in [*names, names[0]]:
            field(page, name).focus()
            tap(page, "1")
            if found := hidden(page, [name], keys):
                faults[f"{name}, {width} x {height}"] = found
    page.set_viewport_size(VIEWPORT)
    assert faults == {}, json.dumps(faults, indent=1)


def test_the_counter_of_a_change_of_pipe_is_in_sight_while_it_is_typed(fresh):
    at, _ = fresh.make({"run": {"counter_zero_m": 0}, "of": {"reading": falling(2.5)}})
    show(fresh, f"{at}/change", {})
    faults: dict[str, list[str]] = {}
    field(fresh.page, "Counter reading").click()
    at_every_size(fresh.page, ["Counter reading"], ["Save change", *PAD_KEYS, "Done"], faults, "change")
    assert faults == {}, json.dumps(faults, indent=1)


def test_axe_finds_nothing_with_all_four_windows_by_day_and_by_night(reading):
    page = reading.page
    field(page, "Counter reading").fill("3.5")
    page.get_by_role("button", name="The counter was reset").click()
    assert faults_of(page) == []
    page.evaluate("() => document.documentElement.classList.add('night')")
    assert faults_of(page, colours_only=True) == []
