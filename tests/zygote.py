"""A server that starts in a fifth of the time: the modules are loaded once, each start is a fork of that.

For tests that kill it again and again.  What is killed is a real process with the real command in it.
"""

import contextlib
import json
import os
import signal
import subprocess
import sys
import time

from server_process import ROOT, ServerProcess

PARENT = """
import json, os, signal, sys
from webapp.cli import main
signal.signal(signal.SIGCHLD, signal.SIG_IGN)
for line in sys.stdin:
    words, log, env = json.loads(line)
    child = os.fork()
    if child == 0:
        handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        os.dup2(handle, 1); os.dup2(handle, 2)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        os.environ.update(env)
        main(words)
    print(child, flush=True)
"""


class QuickServer(ServerProcess):
    """``fallbook serve``, forked from a process that has loaded everything."""

    def __init__(self, folder, env=None):
        super().__init__(folder)
        self.env, self.child = env or {}, 0
        self.parent = subprocess.Popen(
            [sys.executable, "-c", PARENT], cwd=ROOT, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )

    def start(self):
        words = ["serve", "--data", str(self.folder), "--port", str(self.port)]
        self.parent.stdin.write(json.dumps([words, str(self.log), self.env]) + "\n")
        self.parent.stdin.flush()
        self.child = int(self.parent.stdout.readline())
        return self.wait_until_it_answers(self.is_running)

    def is_running(self):
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.child, 0)
            return True
        return False

    def kill(self):
        """End it as a power cut would."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.child, signal.SIGKILL)
        while self.is_running():
            time.sleep(0.005)

    def close(self):
        """End both for good."""
        if self.child:
            self.kill()
        self.parent.stdin.close()
        self.parent.wait(10)
        self.parent.stdout.close()
