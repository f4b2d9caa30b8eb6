"""Generated cases through Python and JavaScript: many to one exchange with Node, each counted by module.

A test under ``@parity("ellipse", strategy, ...)`` is run with every case that Hypothesis draws; what it hands
to ``agree`` and ``refuses`` is computed in Python at once and compared when Node has answered for
hundreds of calls together.  It passes only if every module named was really reached by so many different
cases.  The same cases come every time; FALLBOOK_SEED=7 draws others, FALLBOOK_PARITY_CASES=50 fewer.  Where a
case takes long, ``cases`` says how many find what is broken on purpose: never fewer than ENOUGH for a module.
"""

import math
import os
import zlib

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from hypothesis.errors import StopTest, UnsatisfiedAssumption
from light import LightData

CASES = 2000
ENOUGH = 400  # for a module
CALLS_TOGETHER = 1000
ROUNDS = 8  # of drawing, ever longer: some cases come twice or are refused before they reach every module
REGISTRY: dict[str, int] = {}
THROUGH: dict[str, tuple[str, ...]] = {}
DRAWN = st.data()


class Recorder:
    """Stands in for the twin: computes ours now, asks Node for hundreds of calls at once, then compares."""

    def __init__(self, twin, keep=()):
        self.twin = twin
        self.kept = {id(value): twin.keep(value) for value in keep}
        self.waiting = []
        self.counts = {}
        self.seen = set()
        self.failures = []
        self.case, self.reached = None, set()

    def begin(self, case):
        """Take the next case; False if it was there before."""
        key = repr(case)
        if "data(...)" not in key and key in self.seen:
            return False
        self.seen.add(key)
        self.case, self.reached = case, set()
        return True

    def end(self):
        """The case went through: count it for each module it reached."""
        for module in self.reached:
            self.counts[module] = self.counts.get(module, 0) + 1
        if len(self.waiting) >= CALLS_TOGETHER:
            self.flush()

    def expect(self, module, name, args, check):
        """Ask for a call; ``check`` gets (answer, None) or (None, TwinError) and raises if they differ."""
        self.reached.add(module)
        self.waiting.append((self.case, module, name, args, check))

    def call(self, module, name, *args):
        """Ask at once, where the next step needs the answer."""
        self.reached.add(module)
        return self.twin.call(module, name, *args)

    def flush(self):
        """Get the answers and compare."""
        requested, self.waiting = self.waiting, []
        calls = [(module, name, args) for _, module, name, args, _ in requested]
        for (case, module, name, _, check), answer in zip(
            requested, self.twin.batch(calls, self.kept), strict=True
        ):
            try:
                check(*answer)
            except AssertionError as error:
                self.failures.append((case, f"{module} {name}: {error}"))

    def verdict(self):
        """Fail with the shortest case that failed."""
        if self.failures:
            case, words = min(self.failures, key=lambda one: len(repr(one[0])))
            raise AssertionError(
                f"{len(self.failures)} of the calls differ; the shortest case:\n{case!r}\n{words}"
            )


def parity(
    *modules_and_strategies, cases=CASES, each=20, through=(), keep=(), by=None, of=1, first=None, **named
):
    """Make a test of generated cases; leading texts name the modules that each case must reach.

    ``through`` names modules that only these call; ``each`` cases are drawn together; ``keep`` holds
    tables sent to Node once.  ``by`` names a script of tests/js that calls the modules, where a case is
    a list ``of`` so many; ``first`` is called once with the twin.
    """
    modules = [one for one in modules_and_strategies if isinstance(one, str)]
    strategy = st.tuples(*modules_and_strategies[len(modules) :], st.fixed_dictionaries(named))
    for module in (*modules, *through):
        REGISTRY[module] = max(REGISTRY.get(module, 0), cases)
    for module in through:
        THROUGH[module] = (*THROUGH.get(module, ()), *modules)
    functions = [by] if by else [f"survey/{m}" for m in modules]
    least = math.ceil(min(cases, int(os.environ.get("FALLBOOK_PARITY_CASES", cases))) / of)

    def wrap(body):
        def test(twin):
            recorder = Recorder(twin, keep)
            if first:
                first(twin)
            _draw(body, recorder, strategy, functions, least, each)
            recorder.verdict()

        test.__name__, test.__doc__, test.__module__ = body.__name__, body.__doc__, body.__module__
        return test

    return wrap


def _draw(body, recorder, strategy, modules, least, each):
    """Run cases until every module was reached by ``least`` of them."""
    first = zlib.crc32(body.__name__.encode()) + int(os.environ.get("FALLBOOK_SEED", "0"))
    for turn in range(ROUNDS):
        short = least - min((recorder.counts.get(m, 0) for m in modules), default=0)
        if short <= 0 or recorder.failures:
            return
        share = len(recorder.seen) / max(1, least - short) if turn else 1.0
        batches = math.ceil(short * min(share, 4.0) * 1.03 / each) + 1 + turn * turn
        _round(body, recorder, strategy, first + turn, batches, each)
        recorder.flush()
    reached = {m: recorder.counts.get(m, 0) for m in modules}
    assert recorder.failures or min(reached.values()) >= least, f"too few cases reached: {reached}"


def _round(body, recorder, strategy, number, batches, each):
    """Draw batches of cases and hand each to the test."""
    quick = settings(
        max_examples=batches, phases=[Phase.generate], database=None, deadline=None,
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip

    @seed(number)
    @quick
    @given(st.integers(0, 2**64 - 1))
    def take(start):
        data = LightData(start)
        for _ in range(each):
            try:
                *values, named = data.draw(strategy)
            except StopTest:  # a filter found nothing
                data = LightData(start := start + 1)
                continue
            if not recorder.begin((*values, named) if named else tuple(values)):
                continue
            try:
                body(recorder, *values, **named)
            except UnsatisfiedAssumption:
                continue
            except Exception as error:
                recorder.failures.append((recorder.case, repr(error)))
                if not isinstance(error, AssertionError):
                    raise
            recorder.end()

    take()
