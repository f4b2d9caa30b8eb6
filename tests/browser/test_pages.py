"""A large job by pages (D57): used, thrown away as soon as it does not agree with the entries, and never in the way."""

import pytest

JOB = "01890000-0000-7000-8000-000000000001"
# Stores as several openings of the app have them, and how many entries are read from the disk.
WITH = """
  const { openStore } = kitModule('store/store.js');
  const { PageKeeper } = kitModule('store/page_keeper.js');
  const { makeIds } = kitModule('store/ids.js');
  const now = () => new Date();
  const opened = (release = 'r1') => openStore({ newId: makeIds(now), now, release });
  const keep = async (one) => new PageKeeper(one).keep(await one.job(job));
  const rows = async (one) => (await one.db.all('pages')).filter((row) => row.name);
  const uuid = (n) => `019abcde-0000-7000-8001-${String(n).padStart(12, '0')}`;
  window.read ??= { entries: 0 };
  if (!window.counting) {
    window.counting = true;
    const { getAll } = IDBObjectStore.prototype;
    IDBObjectStore.prototype.getAll = function (...given) {
      const request = getAll.apply(this, given);
      if (this.name === 'entries') request.addEventListener('success', () => { window.read.entries += request.result.length; });
      return request;
    };
  }
  const reads = async (work) => { window.read.entries = 0; const found = await work(); return [window.read.entries, found]; };
  /** All that is said of the job. */
  const said = async (one) => {
    const view = await one.job(job);
    const kinds = ['job', 'run', 'reading', 'remark'];
    const order = (a, b) => (a.writer === b.writer ? a.number - b.number : a.writer < b.writer ? -1 : 1);
    return JSON.stringify({
      records: kinds.map((kind) => [view.records(kind), view.removed(kind)]),
      conflicts: view.conflicts(), vector: Object.entries(view.vector()).sort(),
      entries: view.handedOver().sort(order), aside: [...view.aside].sort(), lines: await one.jobs()
    });
  };
"""
MADE = """async () => {
  const first = await opened();
  await first.addEntries(job, [
    { kind: 'job', record_id: job, fields: { title: 'Dell Lane' } },
    ...[0, 1, 2].map((n) => ({ kind: 'run', record_id: uuid(9000 + n), fields: { run_ref: `R${n}` } })),
    ...Array.from({ length: 900 }, (_, n) => ({ kind: 'reading', record_id: uuid(n), fields: { run_id: uuid(9000 + n % 3), counter_m: n, remark: n === 7 ? 'Musterfrau' : 'x' } })),
    { kind: 'remark', record_id: uuid(8000), fields: { text: 'one' } }
  ]);
  const { writer } = (await first.job(job)).entriesBeyond({})[0];
  const entry = (number, fields, more = {}) => ({ job_id: job, writer: 'elsewhere', number, device_id: 'd', record_id: uuid(8000), kind: 'remark', fields, recorded_at: '2026-11-30T00:00:00.000+00:00', ...more });
  await first.take(job, [entry(1, { text: 'two' }), entry(2, { text: 7 }), entry(3, { removed: true }, { record_id: uuid(8), kind: 'reading', seen: { '*': [`${writer}:13`] } })],
    { 'elsewhere:2': { code: 'entry_refused', reasons: {} } });
  return first;
}"""
ACT = """(state, numbers, writer, what = {}) => ({ id: 'act-1', job_id: job, what: 'entry', spans: { [writer]: numbers }, photos: [], places: {},
  reason: 'A name in a remark', by: 'o', at: '2026-11-30T00:00:00+00:00', until: '2026-12-30', state, changed_at: '2026-11-30T00:00:00+00:00', proof: '', ...what })"""


def run(one, script, argument=None):
    source = f"async ({{store, newId}}, [job, argument]) => {{ {WITH} const made = {MADE}; const act = {ACT}; {script} }}"
    return one.kit(source, [JOB, argument])


def test_a_job_by_pages_is_opened_without_reading_its_entries(page_kit):
    found = run(
        page_kit,
        """
        const first = await made();
        const whole = await said(first);
        const kept = await keep(first);
        const second = await opened();
        const [atFirst, view] = await reads(() => second.job(job));
        const [ofRun] = await reads(async () => view.ofRun('reading', uuid(9001)));
        const half = view.pages !== undefined;
        const [, same] = await reads(async () => (await said(second)) === whole);
        await second.save(job, 'reading', uuid(7), { counter_m: 70 });
        await second.save(job, 'remark', null, { text: 'later' });
        const third = await opened();
        const [later] = await reads(() => third.job(job));
        return { kept, atFirst, ofRun, half, same, later, alike: (await said(third)) === (await said(await opened(''))) };
        """,
    )
    assert found == {
        "kept": True,
        "atFirst": 0,
        "ofRun": 0,
        "half": True,
        "same": True,
        "later": 2,
        "alike": True,
    }


WRONG = {
    "made by another version": "return opened('r2');",
    "a part cut short": "await change(1, (row) => { row.bytes = row.bytes.slice(0, 100); });",
    "a part that is not there": "await first.db.delete('pages', [job, name, 1]);",
    "one byte of a part": "await change(1, (row) => { row.bytes[1000] ^= 1; });",
    "another head": "await change(0, (row) => { row.about = row.about.replace('\"counts\":[', '\"counts\":[1'); });",
    "no head": "await first.db.delete('pages', [job, name, 0]);",
    "entries of a later day than the disk": "await first.db.delete('entries', [job, writer, 905]);",
    "a mark since": (
        "await first.db.put('aside', { job_id: job, writer, number: 20, code: 'entry_refused', reasons: {}, dismissed: false });"
    ),
    "another mark": (
        "await first.db.put('aside', { job_id: job, writer: 'elsewhere', number: 2, code: 'other', reasons: {}, dismissed: false });"
    ),
    "no mark any more": "await first.db.delete('aside', [job, 'elsewhere', 2]);",
    "an erasure since": "await first.db.put('meta', [act('quarantined', [[20, 20]], writer)], `erased:${job}`);",
    "put away and back since": "await first.db.put('meta', 'another', `life:${job}`);",
}


@pytest.mark.parametrize("how", WRONG)
def test_pages_that_do_not_agree_with_the_entries_are_thrown_away(page_kit, how):
    found = run(
        page_kit,
        """
        const first = await made();
        await keep(first);
        const [{ name }] = await rows(first);
        const { writer } = (await first.job(job)).entriesBeyond({}).find((one) => one.kind === 'job');
        const change = async (at, edit) => {
          const row = await first.db.get('pages', [job, name, at]);
          edit(row);
          await first.db.put('pages', row);
        };
        const spoil = async () => { HOW return opened(); };
        const second = await spoil();
        const [read] = await reads(() => second.job(job));
        const alike = (await said(second)) === (await said(await opened('')));
        return { read: read > 900, alike, left: (await rows(first)).length };
        """.replace("HOW", WRONG[how]),
    )
    assert found == {"read": True, "alike": True, "left": 0}


@pytest.mark.parametrize("state", ["quarantined", "expunged"])
def test_what_the_office_erases_goes_from_the_pages_in_the_same_write(page_kit, state):
    found = run(
        page_kit,
        """
        const first = await made();
        await keep(first);
        const text = async () => (await rows(first)).map((row) => new TextDecoder().decode(row.bytes ?? new Uint8Array())).join('');
        const before = (await text()).includes('Musterfrau');
        const { writer, number } = (await first.job(job)).entriesBeyond({}).find((one) => one.fields.remark === 'Musterfrau');
        const second = await opened();
        await second.hearErasures(job, [act(argument, [[number, number]], writer)], [], {});
        const left = (await first.db.all('pages')).length;
        const shown = (await second.job(job)).record('reading', uuid(7));
        await keep(second);
        const third = await opened();
        const [read] = await reads(() => third.job(job));
        return { before, left, shown: shown ?? null, read, alike: (await said(third)) === (await said(await opened(''))),
          after: (await text()).includes('Musterfrau') };
        """,
        state,
    )
    # What can be undone lies there as the entries do; what is gone for good lies nowhere.
    assert found == {
        "before": True,
        "left": 0,
        "shown": None,
        "read": 0,
        "alike": True,
        "after": state == "quarantined",
    }


def test_an_erasure_in_another_tab_ends_the_making_of_pages(page_kit):
    found = run(
        page_kit,
        """
        const [first, second] = [await made(), await opened()];
        const { writer, number } = (await first.job(job)).entriesBeyond({}).find((one) => one.fields.remark === 'Musterfrau');
        let rest;
        window.requestIdleCallback = (go) => { if (rest) setTimeout(go); else rest = go; };
        const keeping = keep(first);
        while (!rest) await new Promise((ok) => setTimeout(ok, 5));
        await second.hearErasures(job, [act('expunged', [[number, number]], writer)], [], {});
        rest();
        return { kept: await keeping, left: (await first.db.all('pages')).length };
        """,
    )
    assert found == {"kept": False, "left": 0}


def test_two_tabs_that_make_pages_at_once_leave_one_copy(page_kit):
    found = run(
        page_kit,
        """
        const [first, second] = [await made(), await opened()];
        const kept = await Promise.all([keep(first), keep(second)]);
        const names = new Set((await rows(first)).map((row) => row.name)).size;
        const third = await opened();
        const [read] = await reads(() => third.job(job));
        return { kept: kept.filter(Boolean).length, names, read, alike: (await said(third)) === (await said(await opened(''))) };
        """,
    )
    assert found == {"kept": 1, "names": 1, "read": 0, "alike": True}


def test_what_is_recorded_while_pages_are_made_is_read_beside_them(page_kit):
    found = run(
        page_kit,
        """
        const first = await made();
        const keeping = keep(first);
        for (let n = 0; n < 5; n += 1) await first.save(job, 'remark', null, { text: `meanwhile ${n}` });
        const kept = await keeping;
        await first.save(job, 'remark', null, { text: 'after' });
        const second = await opened();
        const [read] = await reads(() => second.job(job));
        return { kept, few: read >= 1 && read <= 6, alike: (await said(second)) === (await said(await opened(''))) };
        """,
    )
    assert found == {"kept": True, "few": True, "alike": True}


def test_a_job_that_is_put_away_takes_its_pages_along(page_kit):
    found = run(
        page_kit,
        """
        const first = await opened();
        await first.save(job, 'job', null, { title: 'x' });
        const kept = await keep(first);
        const proved = { have: await first.vector(job), photos: [], marks: 0 };
        const gone = await first.putAway({ job_id: job, title: 'x', at: 'now', entries: 1, photos: 0 }, proved);
        return { kept, gone, left: (await first.db.all('pages')).length };
        """,
    )
    assert found == {"kept": True, "gone": True, "left": 0}


def test_a_kill_while_pages_are_written_loses_nothing_and_leaves_nothing_odd(make_phone, live_server):
    phone = make_phone(live_server.url).open(None)
    phone.bare()
    run(phone, "await keep(await made()); return true;")
    begun = run(
        phone,
        """
        const one = await opened();
        await one.save(job, 'remark', null, { text: 'the last one' });
        await one.job(job);
        const before = (await rows(one)).length;
        const put = IDBObjectStore.prototype.put;
        IDBObjectStore.prototype.put = function (value, key) {
          if (this.name === 'pages' && value.at === 0 && value.name) window.head = true;
          return put.call(this, value, key);
        };
        window.requestIdleCallback = (go) => (window.head ? undefined : setTimeout(go));
        let steps = 0;
        const slow = window.requestIdleCallback;
        window.requestIdleCallback = (go) => { steps += 1; if (steps < 3) slow(go); };
        void keep(one);
        for (let n = 0; n < 400 && steps < 3; n += 1) await new Promise((ok) => setTimeout(ok, 10));
        return { before, names: (await one.db.all('pages')).filter((row) => row.made).length };
        """,
    )
    assert begun["before"] >= 2 and begun["names"] == 1, begun
    phone.kill()
    phone.open(None)
    phone.bare()
    found = run(
        phone,
        """
        const one = await opened();
        const [read] = await reads(() => one.job(job));
        const alike = (await said(one)) === (await said(await opened('')));
        const kept = await keep(one);
        return { read, alike, kept, names: new Set((await rows(one)).map((row) => row.name)).size };
        """,
    )
    assert found == {"read": 1, "alike": True, "kept": True, "names": 1}


def test_pages_go_first_where_room_is_short(make_phone, live_server):
    one = make_phone(live_server.url).open(None)
    one.bare()
    session = one.context.new_cdp_session(one.page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": live_server.url, "quotaSize": 8_000_000})
    found = run(
        one,
        """
        const first = await made();
        const kept = await keep(first);
        const full = () => { throw new DOMException('full', 'QuotaExceededError'); };
        const add = IDBObjectStore.prototype.add;
        let refused = 0;
        IDBObjectStore.prototype.add = function (value) {
          if (this.name === 'entries' && refused === 0) { refused += 1; full(); }
          return add.call(this, value);
        };
        await first.save(job, 'remark', null, { text: 'saved all the same' });
        IDBObjectStore.prototype.add = add;
        const left = (await first.db.all('pages')).length;
        await new PageKeeper(first).look();
        const second = await opened();
        const texts = (await second.job(job)).records('remark').map((one) => one.fields.text);
        return { kept, refused, left, again: (await first.db.all('pages')).length, saved: texts.includes('saved all the same') };
        """,
    )
    assert found == {"kept": True, "refused": 1, "left": 0, "again": 0, "saved": True}
