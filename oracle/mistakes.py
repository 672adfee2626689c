"""Finds the verdicts of all mistakes a second time, from networks, wiring and changes alone, and compares.

    python mistakes.py [--singles-only | --pairs-only] [--time] FILE...
    python mistakes.py --selftest FILE

Each FILE holds what `voltwright network JOB --mistakes --pairs N --json` prints. Every edited network
is rebuilt and solved whole (`mistake_circuit.py`, `mistake_newton.py`: Newton on the pieces of the laws, residuals in
extended precision; rows in doubt by `operating_point.py`), resistances by the Laplacian of each
component, the conductors of the mains side and what hangs together by NetworkX. Nothing is taken from
the solver under test, and nothing of what the file found is looked at before the comparison.

A verdict is borderline where a value lies within 1e-9 of its limit: both verdicts pass, and it is
counted. Voltages agree within 1e-9 of the largest of their network.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are small: threads only cost time

import json
import sys
import time

import numpy as np
import operating_point as plain
from mistake_circuit import Batch
from mistake_edits import apply
from mistake_job import OPEN, Job, value
from mistake_live import NEAR
from mistake_newton import Plain, operating_points
from mistake_selftest import selftest

MOST = 20  # disagreements printed of one sort
NOTHING = 1.0  # volts, amperes: the least scale of rounding, where all is dead


class Tally:
    """Counts what was checked, by sort, and keeps what disagrees in words."""

    def __init__(self):
        self.passed, self.failed, self.words, self.border, self.beyond, self.open = {}, {}, {}, {}, 0, 0

    def check(self, sort, good, say, border=False):
        """Counts one verdict; `say` gives the words if it is wrong."""
        counts = self.passed if good else self.failed
        counts[sort] = counts.get(sort, 0) + 1
        self.border[sort] = self.border.get(sort, 0) + bool(border)
        if not good:
            words = self.words.setdefault(sort, [])
            if len(words) < MOST:
                words.append(say())

    def report(self):
        """Prints a line for each sort, then its disagreements."""
        for sort in dict.fromkeys([*self.passed, *self.failed]):
            good, bad, border = (d.get(sort, 0) for d in (self.passed, self.failed, self.border))
            print(f"{'FAIL' if bad else 'ok  '} {sort}: {good} agree, {bad} do not"
                  + (f", {border} borderline" if border else ""))
            for words in self.words.get(sort, []):
                print(f"       {words}")
            if bad > MOST:
                print(f"       and {bad - MOST} more")
        if self.open:
            print(f"     {self.open} (mistake, stage) left open: this oracle found no voltages there; the mistake is not judged")
        if self.beyond:
            print(f"     {self.beyond} mistakes hunt at their harmful stage or later without the file listing it (docs/mistakes.md leaves it open)")


def same(mine, theirs, scale=0.0):
    """Says whether two numbers agree within 1e-9 of themselves or of a scale; infinities are equal."""
    mine, theirs = np.asarray(mine, float), np.asarray(theirs, float)
    with np.errstate(invalid="ignore"):
        near = abs(mine - theirs) <= NEAR * np.maximum(np.maximum(abs(mine), abs(theirs)), scale)
    return np.where(np.isfinite(mine) & np.isfinite(theirs), near, mine == theirs)


def same_ohms(mine, theirs, _):
    """Says whether two resistances agree within a millionth or a microohm; above what a meter shows both are open."""
    mine, theirs = np.minimum(mine, OPEN), np.minimum(theirs, OPEN)
    return abs(mine - theirs) <= np.maximum(1e-6 * np.maximum(mine, theirs), 1e-6)


def compare_windows(job, data, tally):
    """Compares ranges and windows of readings without mistakes."""
    for stage, given in zip(job.stages, data["stages"]):
        scale = np.maximum(stage.largest(stage.plain), NOTHING) if stage.live else np.zeros(len(stage.readings))
        for k, reading in enumerate(given["readings"]):
            for what, low, high in (("range", stage.low, stage.high), ("window", *stage.window)):
                theirs = [value(reading[what]["low"]), value(reading[what]["high"])]
                good = (same if stage.live else same_ohms)([low[k], high[k]], theirs, scale[k]).all()
                tally.check(f"{stage.name}: {what}s of readings", good, lambda: (
                    f"reading {reading['index']} {reading['function']} {reading['red']} to {reading['black']}: "
                    f"{what} given {theirs[0]!r} to {theirs[1]!r}, found {float(low[k])!r} to {float(high[k])!r}"))


def label(data, m):
    """Names a mistake."""
    return f"mistake {m} ({data['mistakes'][m]['says']})"


def compare_volts(job, data, answers, tally):
    """Compares node voltages at the first corner of each stage."""
    for s, stage in enumerate(job.stages):
        sort = f"{stage.name}: voltages"
        for m, mistake in enumerate(data["mistakes"]):
            given = mistake["volts"][s]
            if is_open(answers[m][s]):
                tally.open += 1
                continue
            mine = answers[m][s][0].volts if stage.live and answers[m][s] else None
            if mine is None or given is None:
                tally.check(sort, mine is None and given is None, lambda: (
                    f"{label(data, m)}: {'no voltages' if given is None else 'voltages'} given, "
                    f"{'none' if mine is None else 'voltages'} found"))
                continue
            off = abs(np.array(given, float) - mine)
            k = int(off.argmax())
            good = len(given) == len(mine) and not off[k] > NEAR * max(abs(mine).max(), NOTHING)
            tally.check(sort, good, lambda: (
                f"{label(data, m)}: node {data['stages'][s]['networks'][0]['nodes'][k]!r} given {given[k]!r}, "
                f"found {float(mine[k])!r}"))


def is_open(answer):
    """Says whether the oracle found no voltages at some corner, so that it cannot judge."""
    return bool(answer and answer[0] and answer[0].open)


def expected(job, m, answers):
    """Gives what may be said of a mistake: [(stage of harm or None, threats)], the first being sure."""
    out = []
    for s, stage in enumerate(job.stages):
        if stage.live:
            sure, maybe = job.harm(m, s, answers)
            if maybe:
                out.append((s, maybe))
            if sure:
                return out
    return [*out, (None, set())]


def compare_harm(job, data, answers, tally):
    """Compares harm, hunting and what catches."""
    names = [stage.name for stage in job.stages]
    for m, mistake in enumerate(data["mistakes"]):
        if any(map(is_open, answers[m])):
            continue
        may = expected(job, m, answers)
        harm = mistake["harm"]
        given = (harm["stage"], harm["threat"]) if harm else None
        good = any(harm is None if s is None else harm is not None and harm["stage"] == names[s]
                   and harm["threat"] in threats for s, threats in may)
        tally.check("harm", good, lambda: (
            f"{label(data, m)}: given {given}, found "
            + " or ".join("none" if s is None else f"{names[s]} {sorted(t)}" for s, t in may)), len(may) > 1)
        last = names.index(harm["stage"]) if harm and harm["stage"] in names else len(names)
        hunts = [n for n, a, stage in zip(names, answers[m], job.stages) if stage.live and a and a[0].unsolved]
        later = [n for n in hunts if names.index(n) >= last]
        tally.beyond += bool(set(later) - set(mistake["hunting"]))
        hunts = [n for n in hunts if n not in later or n in mistake["hunting"]]
        tally.check("hunting", mistake["hunting"] == hunts, lambda: (
            f"{label(data, m)}: given {mistake['hunting']}, found {hunts}"))
        compare_caught(job, data, m, answers, tally)


def compare_caught(job, data, m, answers, tally):
    """Compares the readings that catch a mistake before its harmful stage (the file's own, so as not to fail twice)."""
    mistake, names = data["mistakes"][m], [stage.name for stage in job.stages]
    harm = mistake["harm"]
    if harm is None or harm["stage"] not in names:
        tally.check("caught", mistake["caught"] is None, lambda: f"{label(data, m)}: caught, but no harm")
        return
    before = range(names.index(harm["stage"]))
    sets = [set(), set()]
    for s in before:
        for k in (0, 1):
            if answers[m][s]:
                sets[k] |= set(job.stages[s].index[answers[m][s][1][k]].tolist())
    given = set(mistake["caught"] or [])
    good = mistake["caught"] is not None and sets[0] <= given <= sets[1] and len(given) == len(mistake["caught"])
    tally.check("caught", good, lambda: (
        f"{label(data, m)}: {len(given)} readings given, {len(sets[0])} found; "
        f"too many {describe(job, given - sets[1])}; missing {describe(job, sets[0] - given)}"), sets[0] != sets[1])


def describe(job, indexes):
    """Names a few readings."""
    some = sorted(indexes)
    named = {int(i): (stage.name, r["red"], r["black"]) for stage in job.stages for i, r in zip(stage.index, stage.readings)}
    return f"{len(some)} {[(i, *named.get(i, ())) for i in some[:3]]}"


def judge_pairs(job, data):
    """Finds the verdicts of the pairs in the file."""
    pairs = [(p["first"], p["second"]) for p in data["pairs"]]
    return job.pairs(pairs, data["plan"]["readings"])


def compare_pairs(data, found, tally):
    """Compares the verdicts of the pairs in the file with what was found."""
    for pair, may in zip(data["pairs"], found):
        given = pair["harm"], pair["caught_at"]
        tally.check("pairs", given in may, lambda: (
            f"pair of {label(data, pair['first'])} and {label(data, pair['second'])}: "
            f"harm, caught at: given {given}, found {' or '.join(map(str, sorted(may, key=str)))}"), len(may) > 1)


def compare_plan(job, data, answers, tally):
    """Sees that the plan covers what can be caught, by the oracle's own verdicts, and adds up its cost."""
    plan, names = data["plan"], [stage.name for stage in job.stages]
    cost = {int(i): r["cost"] for stage in job.stages for i, r in zip(stage.index, stage.readings)}
    total = sum(cost[i] for i in plan["readings"])
    tally.check("plan", total == plan["cost"] and plan["bound"] <= plan["cost"], lambda: (
        f"cost given {plan['cost']} (bound {plan['bound']}), its readings cost {total}"))
    for m in range(len(data["mistakes"])):
        s = expected(job, m, answers)[0][0]
        if s is None:
            continue
        caught = [set(job.stages[k].index[answers[m][k][1][0]].tolist()) for k in range(s) if answers[m][k]]
        caught = set().union(*caught)
        tally.check("plan", not caught or caught & set(plan["readings"]), lambda: (
            f"{label(data, m)}: harm at {names[s]}, {len(caught)} readings would catch it, the plan has none of them"))


def compare_singles(job, data, answers, tally):
    """Compares all that is said without pairs."""
    compare_windows(job, data, tally)
    compare_volts(job, data, answers, tally)
    compare_harm(job, data, answers, tally)
    compare_plan(job, data, answers, tally)


def judge_file(path, options):
    """Judges one file: (passed, failed)."""
    with open(path, encoding="utf-8") as file:
        data = json.load(file)
    print(f"{path}: {data['job']}: {len(data['mistakes'])} mistakes, {len(data['pairs'])} pairs, "
          f"{len(data['stages'])} stages")
    if not data["stages"]:
        print("ok   a job without wiring has nothing to compare")
        return 0, 0
    tally, clock = Tally(), Clock()
    job = Job(data)
    print("     meter: " + ", ".join(
        f"{function} {share:g} of the value + {fixed:g}" for function, (share, fixed) in job.meter.accuracy.items()))
    with job:
        answers = job.singles()
        clock.lap("singles", job.points)
        found = judge_pairs(job, data) if "--singles-only" not in options else []
        clock.lap("pairs", job.points)
    if "--selftest" in options:
        def compare(tampered):
            mine = Tally()
            compare_singles(job, tampered, answers, mine)
            compare_pairs(tampered, found, mine)
            return mine.failed
        return selftest(data, compare)
    if "--pairs-only" not in options:
        compare_singles(job, data, answers, tally)
    compare_pairs(data, found, tally)
    tally.report()
    if "--time" in options:
        clock.report()
        plain_loop(job)
    return sum(tally.passed.values()), sum(tally.failed.values())


class Clock:
    """Takes the time of each part of the work, and how many points were solved in it."""

    def __init__(self):
        self.start, self.points, self.laps = time.perf_counter(), {}, []

    def lap(self, name, points):
        """Notes what was done since the last lap."""
        now = time.perf_counter()
        done = {kind: n - self.points.get(kind, 0) for kind, n in points.items()}
        self.laps.append((name, now - self.start, done))
        self.start, self.points = now, dict(points)

    def report(self):
        """Prints the laps."""
        for name, seconds, done in self.laps:
            print(f"     {name}: {seconds:.1f} s with 2 processes: {done['live']} live operating points, "
                  f"{done['cold']} cold networks ({done['in doubt']} points solved one at a time)")


def plain_loop(job, most=300):
    """Solves points one after the other, each rebuilt from data, and prints how many a second.

    They are taken evenly from all (mistake, stage, corner); no point is solved twice for being the same.
    """
    jobs = [(m, stage, k) for stage in job.stages if stage.live for m in range(len(job.mistakes))
            for k in range(len(stage.solver.circuit.networks))]
    chosen = jobs[::max(1, len(jobs) // most)]
    ways = {"one at a time (this oracle's solver, one row in a batch)": one_row, "one at a time (operating_point.py)": one_plain}
    print(f"     all mistakes at all live stages and corners are {len(jobs)} operating points; of these {len(chosen)}:")
    for name, way in ways.items():
        begun = time.perf_counter()
        for m, stage, k in chosen:
            way(stage, job.edit(stage, job.mistakes[m]["changes"], job.effects[m]), k)
        seconds = time.perf_counter() - begun
        print(f"     {name}: {len(chosen) / seconds:.0f} points per second, {1e3 * seconds / len(chosen):.2f} ms each")
    by_stage(job, jobs)


def by_stage(job, jobs):
    """Solves points side by side in one process, each with its own matrix, and prints how many a second."""
    count, begun = 0, time.perf_counter()
    for stage in (s for s in job.stages if s.live):
        some = [(job.edit(stage, job.mistakes[m]["changes"], job.effects[m]), k) for m, at, k in jobs if at is stage]
        some = some[::max(1, len(some) // 1000)]
        for at in range(0, len(some), 250):
            stage.solver.solve(some[at:at + 250])
            count += len(some[at:at + 250])
    seconds = time.perf_counter() - begun
    print(f"     side by side (one process): {count / seconds:.0f} points per second, {1e3 * seconds / count:.2f} ms each")


def one_row(stage, edit, corner):
    """Solves one point by the batch solver."""
    operating_points(Batch(stage.solver.circuit, [(edit, corner)]))


def one_plain(stage, edit, corner):
    """Solves one point by `operating_point.py`."""
    try:
        plain.operating_point(Plain(apply(stage.solver.circuit.networks[corner], edit)[0]))
    except plain.Unsolvable:
        pass


def main(arguments):
    """Judges all files; gives the number of verdicts that disagree."""
    options = {a for a in arguments if a.startswith("--")}
    total = [0, 0]
    for path in (a for a in arguments if not a.startswith("--")):
        total = [a + b for a, b in zip(total, judge_file(path, options))]
    print(f"{total[0]} passed, {total[1]} failed")
    return total[1]


if __name__ == "__main__":
    if not [a for a in sys.argv[1:] if not a.startswith("--")]:
        sys.exit("usage: mistakes.py [--singles-only | --pairs-only] [--time] [--selftest] FILE...")
    sys.exit(1 if main(sys.argv[1:]) else 0)
