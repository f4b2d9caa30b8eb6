"""200 phones with 500 entries and 5 photos of 200 kB each sync at once with the embedded server.

Nothing may be lost, every error must be one that is tried again, and the server's memory stays under a limit.

    python3 tests/bench/phones.py [200]
"""

import argparse
import sys
import tempfile
from pathlib import Path

import bench_paths  # noqa: F401

# isort: split
import environment

environment.enter()  # a bare python3 goes on in the tests' own environment

from crowd import crowd
from server_process import ServerProcess

MAX_RSS_BYTES = 400_000_000


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("phones", type=int, nargs="?", default=200)
    phones = parser.parse_args().phones
    with tempfile.TemporaryDirectory() as folder:
        server = ServerProcess(Path(folder) / "data", more=("--quiet",)).start()
        try:
            found = crowd(server, phones, 500, 5, 200_000)
        finally:
            server.kill()
    print(
        f"{found['phones']} phones, {found['entries']:,} entries, {found['photos']:,} photos of 200 kB: "
        f"{found['seconds']:.1f} s, {found['tried_again']} requests tried again, none refused, nothing lost"
    )
    ratio = found["most_rss_bytes"] / MAX_RSS_BYTES
    print(f"most memory of the server: {found['most_rss_bytes'] / 1e6:.0f} MB, {ratio:.2f} of the limit")
    return 0 if ratio <= 1 else 1


if __name__ == "__main__":
    sys.exit(main())
