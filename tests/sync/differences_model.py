"""A small model of an exchange that tells only what changed, driven at random: what stamps rest on.

The server logs, for each batch that brought something, which writers went on and from which number, under a
*stamp*: the place in the log and a random name.  With each answer it gives the stamp of the moment, which a
phone keeps with the server's vector.  Next time it sends the stamp and those writers of which it holds
another number, more or fewer; the answer holds those, and the writers that went on since.  A stamp that the
server does not know is answered by its whole vector, and the phone asks once more with its own.

Checked at the end: everybody holds every entry ever written, and a phone in agreement names no writer.
"""

import copy
import random

PLANTED = ("stamp_without_name", "fewer_not_told", "changes_forgotten", "stamp_outlives_vector")


class Replica:
    def __init__(self):
        self.log = {}  # (writer, number) -> text

    def vector(self):
        found = {}
        for writer, number in self.log:
            found[writer] = max(found.get(writer, 0), number)
        return found

    def beyond(self, vector):
        return {i: text for i, text in sorted(self.log.items()) if i[1] > vector.get(i[0], 0)}

    def take(self, entries):
        """Store what follows without a gap; return the numbers before, by writer."""
        before = {}
        for (writer, number), text in sorted(entries.items()):
            if number == self.vector().get(writer, 0) + 1:
                before.setdefault(writer, number - 1)
                self.log[writer, number] = text
        return before


class Server(Replica):
    def __init__(self, planted):
        super().__init__()
        self.planted, self.changes = planted, []  # [(random name, {writer: number before})]

    def stamp(self):
        if not self.changes:
            return None
        return len(self.changes), "" if self.planted == "stamp_without_name" else self.changes[-1][0]

    def since(self, stamp):
        """Return each writer that went on since a stamp, and its number then; None if it is unknown."""
        place, name = stamp
        if place > len(self.changes) or (self.changes[place - 1][0] != name and name):
            return None
        then = {}
        for _, before in self.changes[place:]:
            if self.planted == "changes_forgotten":
                then = {}
            for writer, number in before.items():
                then.setdefault(writer, number)
        return then

    def exchange(self, request, rng, most):
        before = self.take(request["entries"])
        if before:
            self.changes.append((rng.random(), before))
        held, told = self.vector(), request["have"]
        if request["stamp"]:
            then = self.since(request["stamp"])
            if then is None:
                return {"have": held, "whole": True, "stamp": self.stamp(), "entries": {}, "unknown": True}
            told = then | told
        known = told if request["stamp"] else {writer: told.get(writer, 0) for writer in held}
        lacking = {i: t for i, t in self.beyond(told).items() if i[0] in known}
        have = {writer: held.get(writer, 0) for writer in known}
        entries = dict(list(lacking.items())[:most])
        return {"have": have, "whole": not request["stamp"], "stamp": self.stamp(), "entries": entries}


class Phone(Replica):
    def __init__(self, name, old, planted):
        super().__init__()
        self.writer, self.number, self.old, self.planted = f"{name}-0", 0, old, planted
        self.heard, self.stamp, self.named = {}, None, 0

    def write(self, text):
        self.number += 1
        self.log[self.writer, self.number] = text
        return self.writer, self.number

    def open_again(self, name):
        self.writer, self.number = name, 0

    def differences(self):
        own = self.vector()
        return {
            writer: own.get(writer, 0)
            for writer in own | self.heard
            if own.get(writer, 0) != self.heard.get(writer, 0)
            and (self.planted != "fewer_not_told" or own.get(writer, 0) > self.heard.get(writer, 0))
        }


def sync(phone, server, rng, most=1000, lost=False, twice=False):
    """One exchange: what the server lacks up, what the phone lacks down."""
    for _ in range(2):
        own, up = phone.vector(), dict(list(phone.beyond(phone.heard).items())[:most])
        have = phone.differences() if phone.stamp else own
        phone.named = len(have)
        request = {"stamp": phone.stamp, "have": have, "entries": up}
        for _ in range(2 if twice else 1):
            answer = server.exchange(copy.deepcopy(request), rng, most)
        if lost:
            return
        hear(phone, own, up, answer)
        phone.take(answer["entries"])
        if "unknown" not in answer:
            return


def hear(phone, own, up, answer):
    """Keep the server's vector as far as the phone heard what became of its own entries."""
    covered = dict(phone.heard)
    for writer, number in up:
        covered[writer] = max(covered.get(writer, 0), number)
    heard = {} if answer["whole"] else dict(phone.heard)
    for writer, number in answer["have"].items():
        most = covered.get(writer, 0)
        heard[writer] = min(number, most) if own.get(writer, 0) > most else number
    phone.heard = heard
    if phone.old or "unknown" in answer:
        phone.stamp = phone.stamp if phone.planted == "stamp_outlives_vector" else None
    else:
        phone.stamp = answer["stamp"]


def run(seed, planted="", steps=150):
    """Play one run and return what is wrong at its end, in words; empty if nothing is."""
    rng = random.Random(seed)
    server = Server(planted)
    backup = copy.deepcopy(server)
    phones = [Phone(f"p{n}", n == 2, planted) for n in range(4)]
    written = {}
    for step in range(steps):
        luck, phone = rng.random(), rng.choice(phones)
        if luck < 0.35:
            text = f"text {step}"
            written[phone.write(text)] = text
        elif luck < 0.75:
            sync(phone, server, rng, rng.choice([1, 2, 5, 1000]), rng.random() < 0.2, rng.random() < 0.2)
        elif luck < 0.80:
            backup = copy.deepcopy(server)
        elif luck < 0.84:
            server = copy.deepcopy(backup)
        elif luck < 0.89:
            rng.choice(phones).take(phone.log)  # a file handed over
        elif luck < 0.92:  # a copied phone: it has to be opened
            phones[phones.index(phone)] = other = copy.deepcopy(rng.choice(phones))
            phone.take(other.log)
            other.take(phone.log)
            other.open_again(f"c{step}")
        elif luck < 0.95:  # its store was reset, or lost its last entries, after all had been sent
            for _ in range(4):
                sync(phone, server, rng)
            keep = rng.choice([0, len(phone.log) // 2])
            phone.log = dict(sorted(phone.log.items(), key=lambda one: (one[0][1], one[0]))[:keep])
            if not keep:
                phone.heard, phone.stamp = {}, None
            phone.open_again(f"r{step}")
        else:
            phone.open_again(f"w{step}")
    for _ in range(6):
        for phone in phones:
            sync(phone, server, rng)
    return faults(server, phones, written)


def faults(server, phones, written):
    """Return what does not hold.

    A phone that was reset and a server restored later may together lose what nobody else held.
    """
    found, everywhere = [], {i for one in (server, *phones) for i in one.log}
    for one in (server, *phones):
        if set(one.log) != everywhere:
            found.append("an entry is not everywhere")
        if any(written.get(i) != text for i, text in one.log.items()):
            found.append("an entry is not what was written")
    if any(phone.stamp and phone.named for phone in phones):
        found.append("a phone in agreement names writers")
    return sorted(set(found))
