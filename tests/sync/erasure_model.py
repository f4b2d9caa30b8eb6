"""A small model of the eraser, driven at random, before and beside the code.

A replica holds entries whole or as a *frame* (nothing of an entry but who wrote it and its number), and
*acts*: the office's word that some entries are gone.  A quarantined act hides, an undone one hides no
longer, an expunged one leaves the frame.  Acts only ever grow: quarantined < undone < expunged.  A phone
carries acts, so that a server that was put back from an old backup hears of them again.

Checked at the end: nothing is left to send, everybody holds every entry ever written; what a standing act
covers nobody shows, and of what was expunged nobody holds a byte; all else is shown, whole, equal everywhere.
"""

import copy
import random

QUARANTINED, UNDONE, EXPUNGED = 1, 2, 3
PLANTED = ("acts_not_carried", "resend_fills", "frame_not_held", "undo_sends_nothing", "later_ones_too")


class Replica:
    def __init__(self, planted=""):
        self.log, self.acts, self.planted = (
            {},
            {},
            planted,
        )  # (writer, number) -> text or None; act -> (covers, state)

    def vector(self):
        found = {}
        for writer, number in self.log:
            if self.planted == "frame_not_held" and self.log[writer, number] is None:
                continue
            found[writer] = max(found.get(writer, 0), number)
        return found

    def covered(self, identity, *states):
        if self.planted == "later_ones_too":
            return any(s in states and any(i[0] == identity[0] for i in c) for c, s in self.acts.values())
        return any(s in states and identity in c for c, s in self.acts.values())

    def may_come_back(self, identity):
        if self.planted == "resend_fills":
            return True
        return not self.covered(identity, QUARANTINED, EXPUNGED)

    def take(self, entries):
        for identity, text in sorted(entries.items()):
            writer, number = identity
            gone = self.covered(identity, EXPUNGED) and self.planted != "resend_fills"
            if identity not in self.log:
                if number == 1 or (writer, number - 1) in self.log:
                    self.log[identity] = None if gone else text
            elif self.log[identity] is None and self.may_come_back(identity):
                self.log[identity] = text

    def hear(self, acts):
        """Take acts, and return what no longer is hidden by one that was undone."""
        undone = set()
        for name, (covers, state) in acts.items():
            before = self.acts.get(name, (covers, 0))[1]
            if state <= before:
                continue
            self.acts[name] = (covers, state)
            if state == UNDONE:
                undone |= covers
            elif state == EXPUNGED:
                self.log.update({i: None for i in covers if i in self.log})
        return undone

    def handed_over(self):
        return {i: None if self.covered(i, QUARANTINED, EXPUNGED) else text for i, text in self.log.items()}

    def beyond(self, vector):
        return {i: text for i, text in self.log.items() if i[1] > vector.get(i[0], 0)}

    def shown(self):
        standing = {i: text for i, text in self.log.items() if text is not None}
        return {i: text for i, text in standing.items() if not self.covered(i, QUARANTINED, EXPUNGED)}


class Phone(Replica):
    def __init__(self, name, old, planted):
        super().__init__(planted)
        self.writer, self.number, self.old, self.again = f"{name}-0", 0, old, set()

    def write(self, text):
        self.number += 1
        self.log[self.writer, self.number] = text
        return self.writer, self.number

    def open_again(self, name):
        self.writer, self.number = name, 0


def sync(phone, server, most=1000, lost=False):
    """One exchange: acts both ways, then entries both ways, then what an undo asks for."""
    if not phone.old and phone.planted != "acts_not_carried":
        server.hear(phone.acts)
    up = dict(sorted(phone.beyond(server.vector()).items())[:most])
    if phone.old:  # an earlier version may send what is held already, over and over
        up |= dict(sorted(phone.log.items())[:most])
    elif phone.planted != "undo_sends_nothing":
        up |= {i: phone.log[i] for i in phone.again if phone.log.get(i) is not None}
    server.take(up)
    if lost:
        return
    if not phone.old:
        phone.again |= phone.hear(server.acts)
    phone.take(dict(sorted(server.beyond(phone.vector()).items())[:most]))
    if not phone.old:
        frames = {i for i, text in phone.log.items() if text is None}
        holes = {i for i in frames if not phone.covered(i, QUARANTINED, EXPUNGED)}
        phone.take({i: server.log[i] for i in holes if server.log.get(i) is not None})


def office(server, rng, names):
    """Erase some of what the server holds, or take an act one step on."""
    standing = [n for n, (_, state) in server.acts.items() if state == QUARANTINED]
    if standing and rng.random() < 0.5:
        name = rng.choice(sorted(standing))
        server.hear({name: (server.acts[name][0], rng.choice([UNDONE, EXPUNGED]))})
        return
    free = sorted(i for i in server.log if not server.covered(i, QUARANTINED, EXPUNGED))
    if free:
        covers = frozenset(rng.sample(free, min(len(free), rng.randint(1, 3))))
        server.hear({f"act{next(names)}": (covers, rng.choice([QUARANTINED, QUARANTINED, EXPUNGED]))})


def run(seed, planted="", steps=120):
    """Play one run and return what is wrong at its end, in words; empty if nothing is."""
    rng = random.Random(seed)
    server, backup = Replica(planted), Replica(planted)
    phones = [Phone(f"p{n}", n == 2, planted) for n in range(4)]
    names, written = iter(range(10**6)), {}
    for step in range(steps):
        luck, phone = rng.random(), rng.choice(phones)
        if luck < 0.35:
            text = f"text {step}"
            written[phone.write(text)] = text
        elif luck < 0.70:
            sync(phone, server, rng.choice([1, 2, 5, 1000]), lost=rng.random() < 0.2)
        elif luck < 0.82:
            office(server, rng, names)
        elif luck < 0.86:
            backup = copy.deepcopy(server)
        elif luck < 0.89:
            server = copy.deepcopy(backup)
        elif luck < 0.95:
            other = rng.choice(phones)
            other.take(phone.handed_over())
        else:
            phone.open_again(f"w{step}")
    for phone in phones:
        phone.old = False  # the earlier version is updated at last
    for _ in range(6):
        for phone in phones:
            sync(phone, server)
    return faults([server, *phones], written)


def faults(replicas, written):
    """Return what does not hold."""
    found, acts = [], replicas[0].acts
    for one in replicas:
        if one.acts != acts:
            found.append("the acts differ")
        if one.beyond(replicas[0].vector()) or replicas[0].beyond(one.vector()):
            found.append("something is sent again and again")
        if set(one.log) != set(written):
            found.append("an entry is not held, or nobody wrote it")
    gone = {i for c, s in acts.values() if s == EXPUNGED for i in c}
    hidden = gone | {i for c, s in acts.values() if s == QUARANTINED for i in c}
    for one in replicas:
        if any(one.log.get(i) is not None for i in gone):
            found.append("what was expunged is still held")
        if one.shown() != {i: t for i, t in written.items() if i not in hidden}:
            found.append("something else is shown than what was not erased")
    return sorted(set(found))
