"""What the peers of the sync benchmark do in their pages, and the plain server that two of them send to."""

import json
import sqlite3
import threading
import time
from pathlib import Path

from flask import Flask, request, send_from_directory
from waitress.server import create_server

MAKE = """(count) => Array.from({ length: count }, (_, n) => ({
  id: crypto.randomUUID(), job_id: '01a1a070-fdd0-77da-a44e-7c0230873597',
  kind: 'reading', counter_m: n / 10, remark: 'seen from the outfall, dry weather',
  inclination: { size: 80, unit: 'one_in', sense: 'falling', typed: '1:80' },
}))"""
# PouchDB with its best settings: the indexeddb adapter, batches of 1,000.
POUCH = """async ({count, make}) => {
  const load = (src) => new Promise((onload, onerror) => {
    const script = Object.assign(document.createElement('script'), { src, onload, onerror });
    document.head.append(script); });
  await load('/lib/pouchdb.min.js');
  await load('/lib/pouchdb.indexeddb.min.js');
  const name = `q${crypto.randomUUID()}`;
  const db = new PouchDB(name, { adapter: 'indexeddb' });
  const docs = (0, eval)(make)(count).map(({ id, ...doc }) => ({ _id: id, ...doc }));
  await db.bulkDocs(docs);
  const began = performance.now();
  const best = { batch_size: 1000, batches_limit: 10 };
  const found = await db.replicate.to(`${location.origin}/db/${name}`, best);
  if (found.docs_written !== count) throw new Error(JSON.stringify(found));
  return (performance.now() - began) / 1000;
}"""
POUCH_PHOTOS = """async ({photos, size}) => {
  const load = (src) => new Promise((onload, onerror) => {
    const script = Object.assign(document.createElement('script'), { src, onload, onerror });
    document.head.append(script); });
  await load('/lib/pouchdb.min.js');
  await load('/lib/pouchdb.indexeddb.min.js');
  const name = `p${crypto.randomUUID()}`;
  const db = new PouchDB(name, { adapter: 'indexeddb' });
  for (let n = 0; n < photos; n += 1) {
    const bytes = new Uint8Array(size);
    for (let at = 0; at < size; at += 50000) crypto.getRandomValues(bytes.subarray(at, at + 50000));
    const photo = { content_type: 'image/jpeg', data: new Blob([bytes]) };
    await db.put({ _id: `p${n}`, _attachments: { photo } });
  }
  const began = performance.now();
  const found = await db.replicate.to(`${location.origin}/db/${name}`, { batch_size: 1000 });
  if (found.docs_written !== photos) throw new Error(JSON.stringify(found));
  return (performance.now() - began) / 1000;
}"""
DEXIE = """async ({count, make}) => {
  const load = (src) => new Promise((onload, onerror) => {
    const script = Object.assign(document.createElement('script'), { src, onload, onerror });
    document.head.append(script); });
  await load('/lib/dexie.min.js');
  const db = new Dexie(`q${crypto.randomUUID()}`);
  db.version(1).stores({ outbox: 'id' });
  await db.outbox.bulkPut((0, eval)(make)(count));
  const began = performance.now();
  for (;;) {
    const batch = await db.outbox.limit(2000).toArray();
    if (!batch.length) break;
    const headers = { 'Content-Type': 'application/json' };
    const answer = await fetch('/take', { method: 'POST', headers, body: JSON.stringify(batch) });
    const { kept } = await answer.json();
    await db.outbox.bulkDelete(kept);
  }
  return (performance.now() - began) / 1000;
}"""
FLOOR_READ = """async ({count, make}) => {
  const open = indexedDB.open(`f${crypto.randomUUID()}`, 1);
  open.onupgradeneeded = () => open.result.createObjectStore('q', { keyPath: 'id' });
  const db = await new Promise((ok) => { open.onsuccess = () => ok(open.result); });
  const put = db.transaction('q', 'readwrite');
  for (const doc of (0, eval)(make)(count)) put.objectStore('q').put(doc);
  await new Promise((ok) => { put.oncomplete = ok; });
  const began = performance.now();
  const all = db.transaction('q').objectStore('q').getAll();
  await new Promise((ok) => { all.onsuccess = ok; });
  return (performance.now() - began) / 1000;
}"""
BARE = """async ({count, make}) => {
  const docs = (0, eval)(make)(count);
  const began = performance.now();
  const body = JSON.stringify(docs);
  const headers = { 'Content-Type': 'application/json' };
  await (await fetch('/bare', { method: 'POST', headers, body })).text();
  return (performance.now() - began) / 1000;
}"""


class PeerServer:
    """Flask and SQLite with synchronous FULL, as somebody would write it in an afternoon."""

    def __init__(self, path: Path, lib: Path):
        self.path = path
        with sqlite3.connect(path) as db:
            db.execute("PRAGMA journal_mode=WAL")
            db.execute("CREATE TABLE doc (id TEXT PRIMARY KEY, body TEXT NOT NULL)")
        app = Flask(__name__)
        app.add_url_rule("/page", view_func=lambda: "<!doctype html><title>peer</title>", endpoint="page")
        app.add_url_rule("/lib/<name>", "lib", lambda name: send_from_directory(lib, name))
        app.add_url_rule("/take", view_func=self.take, methods=["POST"])
        app.add_url_rule("/bare", view_func=lambda: str(len(request.data)), endpoint="bare", methods=["POST"])
        self._server = create_server(app, host="127.0.0.1", port=0)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        self.url = f"http://127.0.0.1:{self._server.effective_port}"

    def take(self):
        rows = [(doc["id"], json.dumps(doc)) for doc in request.json]
        self._store(rows)
        return {"kept": [row[0] for row in rows]}

    def executemany_s(self, count: int) -> float:
        """Return the seconds that the rows of ``count`` documents take, written at once."""
        rows = [(f"{time.monotonic_ns()}-{n}", "x" * 250) for n in range(count)]
        began = time.perf_counter()
        self._store(rows)
        return time.perf_counter() - began

    def _store(self, rows):
        db = sqlite3.connect(self.path)
        db.execute("PRAGMA synchronous=FULL")
        with db:
            db.executemany("INSERT OR REPLACE INTO doc VALUES (?, ?)", rows)
        db.close()

    def close(self):
        self._server.close()
