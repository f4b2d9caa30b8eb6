"""The phone's store in a real browser: saved means on disk, and nothing is saved by halves."""

JOB = "01890000-0000-7000-8000-0000000000{:02x}"


def test_a_record_is_saved_read_and_changed(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          const said = [];
          store.events.addEventListener('changed', (e) => said.push(e.detail.jobId === job));
          await store.save(job, 'job', null, {title: 'Dell Lane', site: null});
          const run = await store.save(job, 'run', null, {run_ref: 'R1', direction: 'with_flow'});
          await store.save(job, 'run', run, {run_ref: 'R2', direction: 'with_flow'});
          const view = await store.job(job);
          return {title: view.job.fields.title, run: view.record('run', run).fields, said,
                  entries: view.entriesOf('run', run), lines: await store.jobs(), job};
        }"""
    )
    assert found["title"] == "Dell Lane"
    assert found["run"] == {"run_ref": "R2", "direction": "with_flow"}
    assert found["said"] == [True] * 3
    first, second = found["entries"]
    assert second["fields"] == {"run_ref": "R2"}, "only what differs is written"
    assert second["seen"] == {"run_ref": [f"{first['writer']}:{first['number']}"]}
    assert [e["number"] for e in found["entries"]] == [2, 3]
    (line,) = found["lines"]
    assert (line["unsent"], line["aside"], line["conflicts"]) == (3, 0, 0)


def test_two_openings_write_under_two_names(page_kit):
    page_kit.kit("async ({store}, job) => store.save(job, 'job', null, {title: 'A'})", JOB.format(1))
    page_kit.bare()
    page_kit.kit("async ({store}, job) => store.save(job, 'job', null, {title: 'B'})", JOB.format(1))
    have = page_kit.kit("async ({store}, job) => store.vector(job)", JOB.format(1))
    assert list(have.values()) == [1, 1]
    assert page_kit.kit("async ({store}, job) => (await store.job(job)).conflicts()", JOB.format(1)) == []


def test_a_write_that_fails_leaves_no_gap_and_nothing_half(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          await store.save(job, 'job', null, {title: 'A'});
          const add = IDBObjectStore.prototype.add;
          let calls = 0;
          IDBObjectStore.prototype.add = function (value) {
            calls += 1;
            if (calls === 2) throw new DOMException('full', 'QuotaExceededError');
            return add.call(this, value);
          };
          let code;
          const two = [1, 2].map((n) => ({kind: 'run', record_id: newId(), fields: {run_ref: `R${n}`}}));
          try { await store.addEntries(job, two); } catch (e) { code = e.code + '/' + e.name; }
          IDBObjectStore.prototype.add = add;
          const between = (await store.job(job)).records('run').length;
          await store.addEntries(job, two);
          return {code, between, have: Object.values(await store.vector(job)), runs: (await store.job(job)).records('run').length};
        }"""
    )
    assert found == {"code": "storage_full/StoreError", "between": 0, "have": [3], "runs": 2}


def test_removed_restored_and_settled(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          const id = await store.save(job, 'run', null, {run_ref: 'A', remark: 'x'});
          const out = [];
          const look = async () => {
            const view = await store.job(job);
            out.push([view.records('run').length, view.removed('run').length, view.conflicts().length]);
          };
          await store.remove(job, 'run', id); await look();
          await store.remove(job, 'run', id);
          await store.restore(job, 'run', id); await look();
          const other = {job_id: job, writer: 'another-phone', number: 1, device_id: 'd', record_id: id, kind: 'run',
            fields: {run_ref: 'B'}, seen: {}, recorded_at: '2026-11-25T10:00:00+00:00'};
          await store.take(job, [other], {}); await look();
          await store.settle(job, 'run', id, 'run_ref', 'B'); await look();
          const removal = {...other, number: 2, fields: {removed: true}, seen: {'*': ['another-phone:1']}};
          await store.take(job, [removal], {}); await look();
          await store.settle(job, 'run', id, 'removed', true); await look();
          return {out, count: (await store.job(job)).entriesOf('run', id).length};
        }"""
    )
    assert found["out"] == [[0, 1, 0], [1, 0, 0], [1, 0, 1], [1, 0, 0], [1, 0, 1], [0, 1, 0]]
    assert found["count"] == 7, "a removal of what is removed already writes nothing"


def test_taking_never_leaves_a_gap_and_never_replaces(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId(), id = newId();
          const e = (number, value) => ({job_id: job, writer: 'another-phone', number, device_id: 'd', record_id: id,
            kind: 'run', fields: {run_ref: value}, seen: number > 1 ? {run_ref: [`another-phone:${number - 1}`]} : {},
            recorded_at: '2026-11-25T10:00:00+00:00'});
          const taken = [await store.take(job, [e(1, 'A'), e(3, 'C')]), await store.take(job, [e(1, 'X'), e(2, 'B'), e(3, 'C')])];
          return {taken, shown: (await store.job(job)).record('run', id).fields.run_ref, have: await store.vector(job)};
        }"""
    )
    assert found == {"taken": [1, 2], "shown": "C", "have": {"another-phone": 3}}


def test_an_entry_set_aside_leaves_the_records_and_shows_in_the_outbox(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          const id = await store.save(job, 'reading', null, {counter_m: -4});
          const [entry] = (await store.job(job)).entriesOf('reading', id);
          const name = `${entry.writer}:${entry.number}`;
          await store.setServerVector(job, {[entry.writer]: 1});
          await store.take(job, [], {[name]: {code: 'entry_refused', reasons: {counter_m: ['No.']}}});
          const outbox = await store.outbox();
          const gone = (await store.job(job)).record('reading', id) === undefined;
          await store.dismissAside(job, name);
          return {gone, counts: outbox.counts, row: outbox.entries.find((r) => r.state === 'set_aside'),
                  after: (await store.outbox()).counts, kept: (await store.job(job)).entriesOf('reading', id).length};
        }"""
    )
    assert found["gone"] and found["counts"]["aside"] == 1 and found["counts"]["entries"] == 0
    assert found["row"]["reasons"] == {"counter_m": ["No."]} and found["row"]["entry"]["fields"] == {
        "counter_m": -4
    }
    assert found["after"]["aside"] == 0 and found["kept"] == 1


def test_photo_bytes_and_record_are_kept_together(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          const bytes = new Uint8Array([1, 2, 3]).buffer;
          const {record_id, sha256} = await store.addPhoto(job, {bytes, media_type: 'image/jpeg', caption: 'x'});
          const row = await store.photo(sha256);
          const outbox = await store.outbox();
          return {sha256, fields: (await store.job(job)).record('photo', record_id).fields, size: row.bytes.byteLength,
                  has: await store.hasPhoto(sha256), not: await store.hasPhoto('0'.repeat(64)), photos: outbox.photos.length};
        }"""
    )
    assert found["sha256"] == "039058c6f2c0cb492c533b0a4d14ef77cc0f78abccced5287d84a1a2011cfb81"
    assert found["fields"] == {
        "sha256": found["sha256"],
        "size_bytes": 3,
        "media_type": "image/jpeg",
        "caption": "x",
    }
    assert (found["size"], found["has"], found["not"], found["photos"]) == (3, True, False, 1)


def test_drafts_and_settings(page_kit):
    found = page_kit.kit(
        """async ({store}) => {
          await store.saveDraft('form/a', {x: 1}); await store.saveDraft('form/b', [2]); await store.saveDraft('other', 3);
          await store.dropDraft('form/a');
          await store.setSetting('night', true);
          return [await store.draft('form/a'), await store.drafts('form/'), await store.setting('night')];
        }"""
    )
    assert found == [None, [{"key": "form/b", "value": [2]}], True]


def test_two_tabs_see_each_other_and_do_not_conflict(page_kit):
    job = JOB.format(2)
    page_kit.kit("async ({store}, job) => store.save(job, 'job', null, {title: 'A'})", job)
    second = page_kit.context.new_page()
    page_kit.bare(second)
    page_kit.kit("async ({store}, job) => { await store.job(job); }", job, page=second)
    page_kit.kit("async ({store}, job) => store.save(job, 'job', job, {title: 'B'})", job)
    heard = "async ({store}, job) => { while ((await store.job(job)).job.fields.title !== 'B') await new Promise((r) => setTimeout(r, 10)); }"
    page_kit.kit(
        heard, job, page=second
    )  # what it has not heard of yet, it would not replace but stand beside
    page_kit.kit("async ({store}, job) => store.save(job, 'job', job, {title: 'C'})", job, page=second)
    shown = page_kit.kit(
        """async ({store}, job) => {
          for (let i = 0; i < 100; i += 1) {
            const view = await store.job(job);
            if (view.job.fields.title === 'C') return [view.job.fields.title, view.conflicts().length];
            await new Promise((r) => setTimeout(r, 20));
          }
          return 'never heard';
        }""",
        job,
    )
    assert shown == ["C", 0]


def test_two_thousand_entries_in_one_go(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          const changes = Array.from({length: 2000}, (_, i) => ({kind: 'reading', record_id: newId(),
            fields: {counter_m: i / 10, inclination: {size: 1, unit: 'deg', sense: 'falling'}}}));
          const begin = performance.now();
          const entries = await store.addEntries(job, changes);
          const ms = performance.now() - begin;
          return {ms, n: entries.length, records: (await store.job(job)).records('reading').length};
        }"""
    )
    assert (found["n"], found["records"]) == (2000, 2000)
    assert found["ms"] < 5000


def test_a_write_is_strict(page_kit):
    wanted = page_kit.kit(
        """async ({store}, job) => {
          const asked = [];
          const begin = IDBDatabase.prototype.transaction;
          IDBDatabase.prototype.transaction = function (names, mode, how) {
            if (mode === 'readwrite') asked.push(how?.durability);
            return begin.call(this, names, mode, how);
          };
          await store.save(job, 'job', null, {title: 'A'});
          await store.saveDraft('d', 1);
          IDBDatabase.prototype.transaction = begin;
          return asked;
        }""",
        JOB.format(4),
    )
    assert wanted == ["strict", "strict"]


def test_all_who_ask_after_a_change_in_another_tab_see_it(page_kit):
    job = page_kit.kit(
        "async ({store, newId}) => { const job = newId(); await store.save(job, 'job', null, {title: 'A'}); return job; }"
    )
    other = page_kit.context.new_page()
    page_kit.bare(other)
    page_kit.kit(
        """async ({store}, job) => {
          const count = async () => (await store.job(job)).records('remark').length;
          await count();
          window.seen = new Promise((done) => {
            store.events.addEventListener('changed', () => done(Promise.all([count(), count(), count()])), {once: true});
          });
        }""",
        job,
    )
    page_kit.kit("async ({store}, job) => store.save(job, 'remark', null, {text: 'x'})", job, page=other)
    assert page_kit.kit("async () => window.seen") == [1, 1, 1]


def test_a_mark_that_comes_in_never_shows_a_half_filled_job(page_kit):
    found = page_kit.kit(
        """async ({store, newId}) => {
          const job = newId();
          await store.save(job, 'job', null, {title: 'A'});
          await store.addEntries(job, Array.from({length: 300}, (_, i) => ({kind: 'remark', record_id: newId(), fields: {text: `r${i}`}})));
          const last = (await store.job(job)).entriesBeyond({}).at(-1);
          const mark = {[`${last.writer}:${last.number}`]: {code: 'entry_refused', reasons: {}}};
          let done = false;
          let least = Infinity;
          const taking = store.take(job, [], mark).finally(() => { done = true; });
          while (!done) {
            least = Math.min(least, (await store.job(job)).records('remark').length);
            await new Promise((next) => setTimeout(next));
          }
          await taking;
          return {least, after: (await store.job(job)).records('remark').length};
        }"""
    )
    assert found["least"] >= 299 and found["after"] == 299


def test_a_job_of_many_entries_is_read_whole_whatever_its_pieces(page_kit):
    """Pieces of 2,000: one less, as many, one more, and twice as many; neighbours stay out."""
    found = page_kit.kit(
        """async ({store, newId}) => {
          const sizes = [1999, 2000, 2001, 4000];
          const jobs = sizes.map(() => newId()).sort();
          await store.db.write(['entries'], (tx) => {
            for (const [n, size] of sizes.entries()) {
              for (let at = 0; at < size; at += 1) {
                const base = {job_id: jobs[n], writer: `writer-${at % 3}`, number: Math.floor(at / 3) + 1};
                tx.objectStore('entries').put({...base, record_id: `r${at}`, kind: 'remark', fields: {text: `${at}`}});
              }
            }
          });
          const said = [];
          for (const [n, size] of sizes.entries()) {
            const view = await store.job(jobs[n]);
            const texts = new Set(view.records('remark').map((one) => one.fields.text));
            said.push([size, view.entriesBeyond({}).length, texts.size, view.conflicts().length]);
          }
          return said;
        }"""
    )
    assert found == [[size, size, size, 0] for size in (1999, 2000, 2001, 4000)]
