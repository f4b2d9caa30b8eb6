"""A full phone and a wrong clock."""

JOB = "01890000-0000-7000-8000-0000000000c1"


def test_room_is_called_low_from_four_fifths(page_kit):
    one = page_kit
    found = one.page.evaluate(
        """async () => {
          const { makeStorageCare } = await import('/static/js/pwa/storage.js');
          const events = new EventTarget();
          const care = makeStorageCare({ events }, 0);
          let asked = 0, told = 0, usage = 70;
          navigator.storage.persist = async () => { asked += 1; return false; };
          navigator.storage.estimate = async () => ({ usage, quota: 100 });
          care.events.addEventListener('changed', () => { told += 1; });
          const out = [];
          for (usage of [70, 79, 80, 95, 40]) {
            events.dispatchEvent(new Event('changed'));
            await new Promise((r) => setTimeout(r, 20));
            out.push([(await care.state()).low, told]);
          }
          return {out, asked};
        }"""
    )
    assert found["out"] == [[False, 0], [False, 0], [True, 1], [True, 1], [False, 2]]
    assert found["asked"] == 1, "the browser is asked to keep the data once, at the first save"
