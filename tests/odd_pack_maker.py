"""The process that makes packs, gone wrong in the way that the job's title names."""

import os
import signal
import subprocess
import sys
import time

from webapp import pack_maker


def hold(out, photo_bytes, progress):
    held = []
    while True:
        held.append(bytearray(b"x") * 20_000_000)
        time.sleep(0.005)


def burst(out, photo_bytes, progress):
    """At once what no look of the parent would come before."""
    held = [b"x" * 3_000_000_000]
    wait(held, photo_bytes, progress)


def wait(out, photo_bytes, progress):
    while True:
        time.sleep(1)


def stubborn(out, photo_bytes, progress):
    """Neither SIGTERM nor its own child's end it."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    ignoring = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN); time.sleep(600)"
    child = subprocess.Popen([sys.executable, "-c", ignoring])
    progress(child.pid, 1, "child")
    wait(out, photo_bytes, progress)


def spin(out, photo_bytes, progress):
    while True:
        pass


def fill(out, photo_bytes, progress):
    while True:
        out.write(bytes(1_000_000))
        time.sleep(0.001)


def vanish(out, photo_bytes, progress):
    os.kill(os.getpid(), signal.SIGKILL)


def no_memory_in_rust(out, photo_bytes, progress):
    sys.stderr.write("memory allocation of 99 bytes failed\n")
    sys.stderr.flush()
    os.abort()


def no_memory(out, photo_bytes, progress):
    raise MemoryError


def full_disk(out, photo_bytes, progress):
    with open("/dev/full", "wb") as full:
        full.write(b"x" * 100_000)


def fault(out, photo_bytes, progress):
    raise ValueError("secret of the fault")


def chatter(out, photo_bytes, progress):
    print("a library says something")
    os.write(1, b"and its C code too\n")
    progress(1, 2, "half")
    out.write(repr((photo_bytes("a" * 64), photo_bytes("b" * 64))).encode())


def surroundings(out, photo_bytes, progress):
    out.write(repr((dict(os.environ), sys.argv)).encode())


WAYS = {f.__name__: f for f in (hold, wait, stubborn, spin, fill, vanish, no_memory_in_rust, no_memory,
                                full_disk, fault, chatter, surroundings)}  # fmt: skip


def build(stored, photo_bytes, out, progress):
    way = next(e["fields"]["title"] for e in stored.entries if e["kind"] == "job")
    WAYS[way](out, photo_bytes, progress)


def alone(out, photo_bytes, progress):
    """The kernel does not end it with its parent: only the pipe tells."""
    progress(os.getpid(), 1, "child")
    spin(out, photo_bytes, progress)


WAYS |= {"alone": alone, "burst": burst}

if __name__ == "__main__":
    pack_maker.end_with = lambda parent: None
    pack_maker.main(build)
