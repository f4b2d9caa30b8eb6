"""The cells of the coverage of levels: what is asked of real surveys, one broken assumption in each."""

from .cell import Cell, Meter, Pipe

RARE, SELDOM = 0.01, 0.05  # how often it may say that something is wrong with the data where nothing is

READ = (
    Cell("one reading in each pipe", alarms=RARE),
    Cell("one in each pipe, no level", ties=0, alarms=RARE),
    Cell("one in each pipe, a level at the start only", ties=1, alarms=RARE),
    Cell("several in each pipe", reads="several", alarms=RARE),
    Cell("15 % of the pipes unread", reads="unread", alarms=RARE),
    Cell("15 % unread, no level", reads="unread", ties=0, alarms=RARE),
    Cell("irregular readings", reads="irregular", alarms=RARE),
    Cell("irregular, a level at the start only", reads="irregular", ties=1, alarms=RARE),
    Cell("one reading in 2 to 3 pipes", reads="sparse", alarms=RARE),
    Cell("one in 2 to 3 pipes, no level", reads="sparse", ties=0, alarms=RARE),
)
METER = (
    Cell("noise twice as stated", meter=Meter(times=2.0)),
    Cell("noise four times as stated", meter=Meter(times=4.0)),
    Cell("noise four times, several in each pipe", reads="several", meter=Meter(times=4.0)),
    Cell("errors alike from reading to reading (0.7)", meter=Meter(alike=0.7)),
    Cell("debris under the tracks at 5 % of readings", meter=Meter(debris=5.0)),
    Cell("display in steps of 0.5 degrees", meter=Meter(step_deg=0.5)),
    Cell("readings across joints", meter=Meter(crawler_m=(0.4, 0.6))),
    Cell("the zero drifts by 0.3 degrees", meter=Meter(drift_deg=0.3)),
    Cell("the zero drifts, checked after the drive", meter=Meter(drift_deg=0.3, checked_after=True)),
)
PIPE = (
    Cell("a smooth course without pipes", reads="close", pipe=Pipe("smooth"), alarms=SELDOM),
    Cell("length of the pipes not recorded", pipe=Pipe(recorded=False), alarms=SELDOM),
    Cell("first pipe cut, joints elsewhere", pipe=Pipe(cut=True), alarms=SELDOM),
    Cell("laid well, then settled", pipe=Pipe("settled"), alarms=SELDOM),
    Cell("settled, 15 % of the pipes unread", reads="unread", pipe=Pipe("settled"), alarms=SELDOM),
    Cell("heavy tails (Student 3)", pipe=Pipe("student3"), alarms=SELDOM),
    Cell("heavy tails, one in 2 to 3 pipes", reads="sparse", pipe=Pipe("student3"), alarms=SELDOM),
    Cell("a steep pipe of 1 m, read every 5 m", "even", 1, Pipe(pipe_m=1.0, steep=True)),
    Cell("a steep pipe of 1 m, levels at both ends", "even", 2, Pipe(pipe_m=1.0, steep=True)),
)
CELLS = (*READ, *METER, *PIPE)
# A level out by 5 or 10 of its standard deviations, and none: does the product name it, and only it?
SLIPS = tuple(
    Cell(f"{count} levels, " + (f"one out by {size:g} sd" if size else "none out"),
         ties=count, wrong_by=size, alarms=None if size else RARE)
    for count in (2, 3, 5) for size in (0.0, 5.0, 10.0)
)  # fmt: skip
