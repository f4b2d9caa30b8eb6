"""A small model of how the photos that a server wants are told by their changes, driven at random.

A record names a photo; the server wants those that a standing record of the named jobs names and that are
not here whole.  Every batch of entries is logged for its job, every photo that came, or was taken away or
given back by the office, in one log of photos; a batch has a random name beside its place.  Several processes
serve one database, each with what it folded in memory, and a file may be lost or found again unlogged.

The stamp that goes with a list has the place in the log of photos and a *digest* of the list itself.  Next
time the phone sends it beside the stamps of its jobs.  What the logs say was touched since is told, wanted or
not; the phone applies that to its list and keeps the new stamp only if its list has that digest.  So the logs
only say where to look: whatever they miss, the next answer is the whole list.

What a phone sent it leaves out of the list by a note beside it, so that the stamp stays good.

Of a photo that no report will show the phone is told as well: by the answer to its upload, which may be cut
(here it always is), and so by the exchange.  Such a *remark* never changes, and a phone forgets none, so that
each has to be told once: of what was touched, or all where the list is told whole or the phone has heard none
yet.  The phone writes remarks before any stamp.  A photo that an earlier version took is looked at later, and
the log tells of that.

Checked at the end: every phone knows exactly what is wanted of its jobs, and each remark on their photos; and
where nothing went wrong, one
change is told as one, and no list is told whole but the first.
"""

import copy
import random
from functools import reduce

JOBS = ("job 1", "job 2", "job 3")
PLANTED = (
    "arrivals_not_logged",
    "renamed_not_told",
    "digest_not_checked",
    "other_job_forgotten",
    "sent_for_good",
    "whole_with_every_change",
    "remarks_written_last",
    "remarks_only_of_arrivals",
    "look_not_logged",
    "remarks_of_the_first_answer_only",
)


def is_no_picture(photo):
    """Say whether a photo is one that no report will show."""
    return int(photo.split()[1]) % 3 == 0


def digest(hashes):
    """Return what tells lists apart: it follows the change, and their order does not matter."""
    return reduce(lambda a, b: a ^ b, (hash(("photo", one)) for one in hashes), 0)


class Database:
    """What all processes share: entries, photos that came, acts of the office, and the logs."""

    def __init__(self):
        self.entries = {job: [] for job in JOBS}  # (record, photo or None for removed, name of the batch)
        self.rows, self.erased = set(), set()
        self.no_pictures = set()  # those that were looked at, and no report will show
        self.log = []  # of photos: (random name, photos)

    def add(self, rng, job, record, photo):
        if (record, photo) not in [one[:2] for one in self.entries[job][-1:]]:
            self.entries[job].append((record, photo, rng.random()))

    def note(self, rng, photos, planted):
        if planted != "arrivals_not_logged":
            self.log.append((rng.random(), frozenset(photos)))

    def place(self):
        return (len(self.log), self.log[-1][0]) if self.log else (0, 0)

    def job_place(self, job):
        own = self.entries[job]
        return (len(own), own[-1][2]) if own else (0, 0)

    def since(self, place):
        """Return the photos touched since a place in the log; None if it is not of this log."""
        at, name = place
        if at > len(self.log) or (at and self.log[at - 1][0] != name):
            return None
        return frozenset().union(*(photos for _, photos in self.log[at:]))

    def touched_in(self, job, place, planted):
        """Return the photos that records which went on since have ever named; None if unknown."""
        own, (at, name) = self.entries[job], place
        if at > len(own) or (at and own[at - 1][2] != name):
            return None
        if planted == "renamed_not_told":
            return {photo for _, photo, _ in own[at:] if photo}
        records = {record for record, _, _ in own[at:]}
        return {photo for record, photo, _ in own if photo and record in records}

    def named(self, job):
        return {photo for photo in {r: photo for r, photo, _ in self.entries[job]}.values() if photo}


class Process:
    """One process that serves: it has looked which files are whole, and looks at few of them again."""

    def __init__(self, planted):
        self.planted, self.seen_lost = planted, set()

    def look(self, rng, files):
        """Look at some files, as every request does."""
        for photo in rng.sample(sorted(files), min(2, len(files))):
            (self.seen_lost.discard if files[photo] else self.seen_lost.add)(photo)

    def wanted(self, data, jobs):
        here = {photo for photo in data.rows if photo not in self.seen_lost}
        return set().union(*(data.named(job) for job in jobs)) - here - data.erased

    def answer(self, data, request):
        answer, changed = self.answer_of_list(data, request)
        remarks = set().union(*(data.named(job) for job in request["jobs"])) & data.rows & data.no_pictures
        if "whole" not in answer and request["remarks"]:
            if self.planted == "remarks_only_of_arrivals":
                changed = data.since(request["stamp"][0])
            remarks &= changed
        if self.planted == "remarks_of_the_first_answer_only" and request["remarks"]:
            remarks = set()
        return answer | {"remarks": remarks - data.erased}

    def answer_of_list(self, data, request):
        now = self.wanted(data, request["jobs"])
        stamp = (data.place(), digest(now))
        changed = self.changed(data, request) if request["stamp"] else None
        if self.planted == "whole_with_every_change" and changed:
            changed = None
        if changed is None or (not changed and request["stamp"][1] != stamp[1]):
            return {"whole": sorted(now), "stamp": stamp, "told": len(now)}, changed
        if self.planted == "other_job_forgotten":
            now = self.wanted(data, list(request["jobs"])[:1])
        return {"in": changed & now, "out": changed - now, "stamp": stamp, "told": len(changed)}, changed

    def changed(self, data, request):
        """Return what was touched since the phone's stamps; None where one of them is unknown."""
        found = data.since(request["stamp"][0])
        for job, place in request["jobs"].items():
            own = data.touched_in(job, place, self.planted)
            if found is None or own is None:
                return None
            found |= own
        return found


class Phone:
    def __init__(self, name, planted):
        self.name, self.planted = name, planted
        self.jobs = {job: (0, 0) for job in JOBS[: 1 + name % 3]}  # and the stamp of each
        self.photos, self.waiting = set(), []
        self.list, self.stamp, self.sent = set(), None, set()
        self.told, self.wholes = 0, 0
        self.remarks, self.has_heard_remarks = set(), False

    @property
    def wanted(self):
        return self.list - self.sent

    def hear(self, places, answer, killed):
        remarks_first = self.planted != "remarks_written_last"
        if remarks_first:
            self.hear_remarks(answer)
        if killed == "after remarks":
            return
        self.jobs |= {job: place for job, place in places.items() if job in self.jobs}
        if killed:  # between two writes
            return
        if "whole" in answer:
            self.wholes += 1
            self.list, self.stamp = set(answer["whole"]), answer["stamp"]
        else:
            self.list = (self.list | answer["in"]) - answer["out"]
            sound = digest(self.list) == answer["stamp"][1] or self.planted == "digest_not_checked"
            self.stamp = answer["stamp"] if sound else None
        if self.planted != "sent_for_good":
            self.sent = set()
        if not remarks_first:
            self.hear_remarks(answer)

    def hear_remarks(self, answer):
        self.remarks |= answer["remarks"]
        self.has_heard_remarks = True


class World:
    def __init__(self, rng, planted):
        self.rng, self.planted = rng, planted
        self.data, self.files = Database(), {}
        self.processes = [Process(planted) for _ in range(2)]
        self.phones = [Phone(n, planted) for n in range(3)]
        self.count, self.unheard = 0, False

    def take_photo(self, phone):
        self.count += 1
        job, record = self.rng.choice(sorted(phone.jobs)), self.rng.randrange(6)
        photo = f"photo {self.count}" if self.rng.random() < 0.5 else f"photo {self.count // 6 * 3}"
        phone.photos.add(photo)
        phone.waiting.append((job, record, photo if self.rng.random() < 0.85 else None))

    def sync(self, phone, lost=False, killed=""):
        """Entries up and wants down; until nothing is left, as phones do."""
        process = self.rng.choice(self.processes)
        for one in phone.waiting:
            self.data.add(self.rng, *one)
        process.look(self.rng, self.files)
        request = {"jobs": dict(phone.jobs), "stamp": phone.stamp, "remarks": phone.has_heard_remarks}
        answer = process.answer(self.data, request)
        if lost:
            return
        news = len(answer["remarks"] & phone.remarks) if phone.has_heard_remarks else 0  # told twice
        phone.waiting, phone.told = [], answer["told"] + news
        phone.hear({job: self.data.job_place(job) for job in phone.jobs}, answer, killed)
        if not killed:
            self.unheard |= self.lacks_remarks(phone)

    def lacks_remarks(self, phone):
        """Say whether a phone lacks a remark on a photo of its jobs, or has one on a picture."""
        data = self.data
        remarked = set().union(*map(data.named, phone.jobs)) & data.rows & data.no_pictures - data.erased
        return bool(remarked - phone.remarks) or not all(map(is_no_picture, phone.remarks))

    def upload(self, phone):
        for photo in sorted(phone.wanted & phone.photos)[:2]:
            self.data.rows.add(photo)
            self.files[photo] = True
            if is_no_picture(photo) and self.rng.random() < 0.7:  # an earlier version does not look
                self.data.no_pictures.add(photo)
            for process in self.processes:
                process.seen_lost.discard(photo)
            self.data.note(self.rng, [photo], self.planted)
            phone.sent.add(photo)

    def look(self):
        """The slow look finds what an earlier version took without looking."""
        found = {photo for photo in self.data.rows if is_no_picture(photo)} - self.data.no_pictures
        self.data.no_pictures |= found
        if found and self.planted != "look_not_logged":
            self.data.note(self.rng, found, self.planted)

    def erase_or_give_back(self):
        everything = sorted(set().union(*map(self.data.named, JOBS)))
        some = set(self.rng.sample(everything, min(2, len(everything))))
        self.data.erased ^= some
        self.data.note(self.rng, some, self.planted)

    def lose_or_find(self):
        """A file goes, or is there again; nobody is told, and a process may be started anew."""
        if self.files:
            photo = self.rng.choice(sorted(self.files))
            self.files[photo] = not self.files[photo]
        if self.rng.random() < 0.5:
            new = Process(self.planted)
            new.seen_lost = {photo for photo, whole in self.files.items() if not whole}
            self.processes[self.rng.randrange(2)] = new


def run(seed, planted="", steps=120):
    """Play one run and return what is wrong at its end, in words; empty if nothing is."""
    rng = random.Random(seed)
    world = World(rng, planted)
    backup = copy.deepcopy(world.data)
    calm = seed % 4 == 0  # nothing goes wrong: no more is told than changed
    whole_server = calm or seed % 4 == 1  # only answers are lost, and phones killed
    told_too_much = False
    for _ in range(steps):
        luck, phone = rng.random(), rng.choice(world.phones)
        if luck < 0.35:
            world.take_photo(phone)
        elif luck < 0.62:
            killed = rng.choice(["after remarks", "after jobs"]) if rng.random() < 0.35 else ""
            world.sync(phone, not calm and rng.random() < 0.2, "" if calm else killed)
        elif luck < 0.75:
            world.upload(phone)
        elif luck < 0.79 and not whole_server:
            world.erase_or_give_back()
        elif luck < 0.85 and not whole_server:
            world.lose_or_find()
        elif luck < 0.88:
            backup = copy.deepcopy(world.data)
        elif luck < 0.91 and not whole_server:
            world.data = copy.deepcopy(backup)
        elif luck < 0.95 and not calm:
            phone.jobs.setdefault(rng.choice(JOBS), (0, 0))
        elif luck < 0.97:
            world.look()
    world.look()
    for _ in range(3):
        for process in world.processes:  # until all files have been looked at
            process.seen_lost = {photo for photo, whole in world.files.items() if not whole}
        for phone in world.phones:
            world.sync(phone)
    if calm:
        phone = world.phones[0]
        world.take_photo(phone)
        phone.waiting[0] = (JOBS[0], "new", f"photo {world.count} of its own")
        world.sync(phone)
        told_too_much = phone.told > 1 or any(one.wholes > 1 for one in world.phones)
        for other in world.phones:
            world.sync(other)
    return faults(world, told_too_much)


def faults(world, told_too_much):
    """Return what does not hold."""
    found = ["more was told than changed"] if told_too_much else []
    for phone in world.phones:
        if phone.wanted != world.processes[0].wanted(world.data, phone.jobs):
            found.append("a phone does not know what is wanted")
    if world.unheard:
        found.append("a phone does not know which photos no report will show")
    return sorted(set(found))
