"""A full phone and a wrong clock."""

JOB = "01890000-0000-7000-8000-0000000000c1"


def test_a_full_phone_says_so_and_keeps_nothing_by_halves(make_phone, live_server):
    one = make_phone(live_server.url).open(None)
    one.bare()
    session = one.context.new_cdp_session(one.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 3_000_000})
    one.kit("async ({store}, job) => store.save(job, 'job', null, {title: 'Before'})", JOB)
    found = one.kit(
        """async ({store}, job) => {
          const fresh = () => { const a = new Uint8Array(260_000); for (let i = 0; i < 4; i += 1) crypto.getRandomValues(a.subarray(i * 65_000, (i + 1) * 65_000)); return a.buffer; };
          const codes = [];
          for (let i = 0; i < 80; i += 1) {
            try { await store.addPhoto(job, {bytes: fresh(), media_type: 'image/jpeg'}); } catch (e) { codes.push(e.code); break; }
          }
          const view = await store.job(job);
          const photos = view.records('photo');
          const rows = await Promise.all(photos.map((p) => store.hasPhoto(p.fields.sha256)));
          return {codes, rows: rows.every(Boolean), n: photos.length, title: view.job.fields.title};
        }""",
        JOB,
    )
    assert found["codes"] == ["storage_full"]
    assert found["rows"] and found["title"] == "Before"
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url})
    after = one.kit(
        """async ({store}, job) => {
          await store.save(job, 'job', job, {title: 'After'});
          const have = Object.values(await store.vector(job));
          return [(await store.job(job)).job.fields.title, have.length, have[0] - (await store.job(job)).records('photo').length];
        }""",
        JOB,
    )
    assert after == ["After", 1, 2], "numbers went on without a gap"
    assert one.kit("async ({sync}) => (await sync.run()).state") == "sent"


def test_room_is_called_low_from_four_fifths(visitor, shared_server):
    one = visitor(shared_server.url)
    one.bare()
    found = one.page.evaluate(
        """async () => {
          const { makeStorageCare } = await import('/static/js/pwa/storage.js');
          const events = new EventTarget();
          const care = makeStorageCare({ events });
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


def test_a_phone_whose_clock_says_1970(visitor, live_server):
    one = visitor(live_server.url)
    one.context.clock.set_system_time(5000)
    one.bare()
    found = one.kit(
        """async ({store, sync, newId}) => {
          const job = newId();
          await store.save(job, 'job', null, {title: 'Long ago'});
          const ids = [];
          for (let i = 0; i < 3; i += 1) ids.push(await store.save(job, 'remark', null, {text: `r${i}`}));
          const result = await sync.run();
          const view = await store.job(job);
          return {result, texts: view.records('remark').map((r) => r.fields.text), stamp: view.entriesOf('job', job)[0].recorded_at,
                  status: sync.status};
        }"""
    )
    assert (found["result"]["state"], found["result"]["sent"], found["result"]["setAside"]) == ("sent", 4, 0)
    assert found["texts"] == ["r0", "r1", "r2"]
    assert found["stamp"].startswith("19")
