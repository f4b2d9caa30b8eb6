"""Who is at the server in a soak: phones that record, sync and send photos; senders of what costs most."""

import hashlib
import http.client
import json
import random
import threading
import time
from collections import Counter
from multiprocessing import get_context
from urllib.parse import urlsplit

from servers import entry

from webapp.timesource import new_id

PAUSE_S = 2.0  # a phone syncs so often, on average
PHOTO_EVERY = 10  # exchanges
PHOTO_BYTES = 150_000
WAIT_S = 30.0


class Refused(Exception):
    """An answer that no phone could go on from."""


class Line:
    """A connection that stays open, as a browser's does, and is made again after it broke."""

    def __init__(self, url: str, token: str):
        self.host, self.token = urlsplit(url).netloc, token
        self.connection: http.client.HTTPConnection | None = None

    def ask(self, method, path, body=b"", headers=()):
        """Return status and body of one answer; OSError or HTTPException where there is none."""
        if self.connection is None:
            self.connection = http.client.HTTPConnection(self.host, timeout=WAIT_S)
        whole = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json", **dict(headers)}
        try:
            try:
                self.connection.request(method, path, body or None, whole)
            except (BrokenPipeError, ConnectionResetError):
                pass  # it was answered before all of it was sent
            answer = self.connection.getresponse()
            found = answer.status, answer.read()
            if answer.will_close:
                self.close()
            return found
        except (OSError, http.client.HTTPException):
            self.close()
            raise

    def close(self) -> None:
        if self.connection is not None:
            self.connection.close()
        self.connection = None


class SoakPhone(threading.Thread):
    """One phone in a job that it shares; it keeps what was acknowledged, and how long each answer took."""

    def __init__(self, url, token, number, job_id, over: threading.Event):
        super().__init__(daemon=True, name=f"phone {number}")
        self.line, self.job_id, self.over = Line(url, token), job_id, over
        self.random, self.writer = random.Random(number), f"writer-{number:04}"
        self.number, self.have, self.waiting = 0, {}, []
        self.acknowledged: dict[int, dict] = {}
        self.photos: dict[str, bytes] = {}  # acknowledged whole
        self.to_send: list[bytes] = []
        self.took_s: list[float] = []
        self.broken, self.trouble = 0, None

    def run(self) -> None:
        try:
            turn = 0
            while not self.over.wait(self.random.expovariate(1 / PAUSE_S)):
                turn += 1
                self.record(turn)
                try:
                    self.exchange()
                    self.send_photo()
                except (OSError, http.client.HTTPException):
                    self.broken += 1  # the server was killed: all of it goes again
        except Exception as error:
            self.trouble = error

    def record(self, turn: int) -> None:
        """Write down a few readings, and now and then a photo."""
        for _ in range(self.random.randint(1, 5)):
            self._add("reading", None)
        if turn % PHOTO_EVERY == 0:
            photo = hashlib.sha256(f"{self.writer} {turn}".encode()).digest() * (PHOTO_BYTES // 32)
            self.to_send.append(photo)
            name = hashlib.sha256(photo).hexdigest()
            self._add("photo", {"sha256": name, "size_bytes": len(photo), "media_type": "image/jpeg"})

    def _add(self, kind, fields) -> None:
        self.number += 1
        self.waiting.append(entry(self.job_id, self.writer, self.number, kind, fields))

    def exchange(self) -> None:
        """Send what waits and take what came, until there is no more."""
        more = True
        while more:
            part = self.waiting[:500]
            body = {"protocol": 1, "device_id": self.name, "entries": part}
            body["jobs"] = {self.job_id: {"have": self.have}}
            answer = self._ask("POST", "/api/sync", json.dumps(body).encode())
            for one, outcome in zip(part, answer["fates"], strict=True):
                if outcome[1] not in ("kept", "kept_already"):
                    raise Refused(outcome)
                self.acknowledged[one["number"]] = one
                self.have[self.writer] = one["number"]
            self.waiting = self.waiting[len(part) :]
            for one in answer["entries"]:
                self.have[one["writer"]] = max(self.have.get(one["writer"], 0), one["number"])
            more = answer["more"] or bool(self.waiting)

    def send_photo(self) -> None:
        while self.to_send:
            photo = self.to_send[0]
            name = hashlib.sha256(photo).hexdigest()
            headers = {
                "Content-Type": "image/jpeg", "Upload-Offset": "0", "Upload-Length": str(len(photo)),
            }  # fmt: skip
            if not self._ask("PUT", f"/api/photos/{name}", photo, headers)["complete"]:
                raise Refused("a photo sent whole is not complete")
            self.photos[name] = self.to_send.pop(0)

    def _ask(self, method, path, body, headers=()):
        """Return a good answer; one that says retry is asked for again, and its time counts whole."""
        begun_s = time.monotonic()
        while True:
            status, text = self.line.ask(method, path, body, headers)
            found = json.loads(text)
            if status == 200:
                self.took_s.append(time.monotonic() - begun_s)
                return found
            if found.get("offset") == len(body) and method == "PUT":
                return {"complete": True}  # it was taken before the answer was lost
            if not found.get("retry"):
                raise Refused(found)
            time.sleep(0.1)


def attack(url, token, seed, over, counts) -> None:
    """Send the costliest bodies without a pause; count what the server said to each."""
    import hostile

    rng, told, line = random.Random(seed), Counter(), Line(url, token)
    made = hostile.bodies(rng)
    while not over.is_set():
        body = rng.choice(made)
        headers = {"Content-Encoding": "gzip"} if body[:2] == b"\x1f\x8b" else {}
        try:
            status, text = line.ask("POST", "/api/sync", body, headers)
        except (OSError, http.client.HTTPException):
            told["no answer"] += 1
            time.sleep(0.2)
            continue
        told["taken" if status == 200 else code_of(status, text)] += 1
    counts.put(dict(told))


def code_of(status, text) -> str:
    """Return the code of a refusal; what is not in the shape of errors is a fault."""
    try:
        (one,) = json.loads(text)["errors"]
        return one["code"] if one["message"] and status != 500 else f"fault {status}"
    except (ValueError, KeyError, TypeError):
        return f"fault {status}"


class Attackers:
    """Hostile senders in processes of their own, so that they do not slow the phones themselves."""

    def __init__(self, url, tokens):
        context = get_context("spawn")
        self.over, self.counts = context.Event(), context.Queue()
        self.processes = [
            context.Process(target=attack, args=(url, token, seed, self.over, self.counts), daemon=True)
            for seed, token in enumerate(tokens)
        ]

    def start(self) -> None:
        for process in self.processes:
            process.start()

    def end(self) -> Counter:
        """Return what they were told."""
        self.over.set()
        told = Counter()
        for _ in self.processes:
            told.update(self.counts.get(timeout=2 * WAIT_S))
        for process in self.processes:
            process.join(WAIT_S)
        return told


def job_for(url, token) -> str:
    """Make a job, so that several phones share it; return its id."""
    job_id = new_id()
    made = entry(job_id, "writer-office", 1, "job", {"title": f"Soak {job_id[-6:]}"})
    body = {"protocol": 1, "device_id": "office", "jobs": {}, "entries": [made]}
    line = Line(url, token)
    status, text = line.ask("POST", "/api/sync", json.dumps(body).encode())
    line.close()
    assert status == 200, text
    return job_id
