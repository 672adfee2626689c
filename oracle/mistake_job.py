"""Finds what a file of mistakes ought to say: ranges, windows, verdicts of mistakes and of pairs.

Only networks, wiring, views, limits and `changes` are read here; no verdict of the file is.
"""

import multiprocessing

import numpy as np
from mistake_cold import ColdStage
from mistake_edits import Edit, Frame
from mistake_live import NEAR, LiveStage
from mistake_mains import Mains

OPEN = 2e7  # ohms from which an ohmmeter shows an open circuit
EITHER = ((False, True), (False, True))  # harm and shown (surely, maybe) where the oracle cannot judge
CHUNK = 48  # edits judged at a time
JOB = None  # the job, as the worker processes inherit it


def value(number):
    """Reads a number of the file, null being infinite."""
    return np.inf if number is None else number


class Meter:
    """Holds the accuracy of the meter for each function: (share of the value, fixed part)."""

    def __init__(self, meter):
        self.accuracy = {function: (of["share"], of["fixed"]) for function, of in meter.items()}

    def widen(self, low, high, functions):
        """Widens ranges [.., reading] by the accuracy; resistances are cut as an ohmmeter does."""
        share, fixed = (np.array([self.accuracy[f][k] for f in functions]) for k in (0, 1))
        with np.errstate(invalid="ignore"):
            low, high = low - (share * abs(low) + fixed), high + (share * abs(high) + fixed)
        ohms = np.array([f == "ohms" for f in functions], bool)
        low = np.where(ohms, np.clip(np.where(np.isnan(low), np.inf, low), 0, OPEN), low)
        return low, np.where(ohms & ~(high < OPEN), np.inf, high)


class Stage:
    """Holds one stage: its frame, its solver, and what its readings show without mistakes."""

    def __init__(self, data, wiring, meter):
        self.name, self.live, self.readings = data["name"], data["live"], data["readings"]
        self.frame = Frame(wiring, data["view"], data["networks"][0], data.get("followers", ()), self.live)
        self.solver = LiveStage(data, data["wires_survive"]) if self.live else ColdStage(data)
        self.index = np.array([r["index"] for r in self.readings], int)
        self.functions, self.meter = [r["function"] for r in self.readings], meter
        if self.live:
            self.plain = self.solver.judge([Edit()])[0]
            self.low, self.high = self.plain.low, self.plain.high
        else:
            ohms = self.solver.plain()
            self.low, self.high = ohms.min(axis=0), ohms.max(axis=0)
        self.window = meter.widen(self.low, self.high, self.functions)

    def caught(self, low, high, largest, chosen=slice(None)):
        """Says which of these ranges lie surely, and which maybe, outside their windows."""
        functions = np.array(self.functions)[chosen]
        wide = self.meter.widen(low, high, functions)
        window = self.window[0][chosen], self.window[1][chosen]
        out = []
        for way in (1, -1):
            near = [way * NEAR * np.where(np.isfinite(w), np.maximum(abs(w), largest), 0) for w in window]
            out.append(((wide[1] < window[0] - near[0]) & (high < window[0] - near[0]))
                       | ((wide[0] > window[1] + near[1]) & (low > window[1] + near[1])))
        return out

    def largest(self, verdict):
        """Gives the scale of the rounding of each reading: the largest voltage or current."""
        return np.where([f == "amps" for f in self.functions], verdict.most, verdict.largest)

    def judge(self, edits):
        """Judges edits: for a cold stage what catches (surely, maybe) of each, for a live one a Verdict too."""
        if not self.live:
            ohms = self.solver.ohms(edits)
            sure, maybe = self.caught(ohms.min(axis=1), ohms.max(axis=1), 0)
            return [(None, (sure[k], maybe[k])) for k in range(len(edits))]
        out = []
        for verdict in self.solver.judge(edits):
            nothing = np.zeros(len(self.readings), bool)
            caught = (nothing, nothing) if verdict.unsolved else self.caught(
                verdict.low, verdict.high, self.largest(verdict))
            out.append((verdict, caught))
        return out


def work(task):
    """Judges one chunk of edits at a stage, in a worker; gives answers and how many points were solved."""
    kind, stage, edits, chosen = task
    stage = JOB.stages[stage]
    before = stage.solver.solved, getattr(stage.solver, "doubtful", 0)
    answers = stage.judge(edits) if kind == "single" else judge_pairs(stage, edits, chosen)
    return answers, stage.solver.solved - before[0], getattr(stage.solver, "doubtful", 0) - before[1]


def judge_pairs(stage, edits, chosen):
    """Judges edits by the chosen readings and the first corner alone: (harm (surely, maybe), shown (surely, maybe))."""
    if not stage.live:
        ohms = stage.solver.ohms(edits)[:, :, chosen]
        sure, maybe = stage.caught(ohms.min(axis=1), ohms.max(axis=1), 0, chosen)
        return [((False, False), (sure[k].any(), maybe[k].any())) for k in range(len(edits))]
    out = []
    for verdict in stage.solver.judge(edits, [0]):
        shown = (False, False)
        if not verdict.unsolved and len(chosen):
            shown = tuple(s.any() for s in stage.caught(verdict.low[chosen], verdict.high[chosen],
                                                        stage.largest(verdict)[chosen], chosen))
        out.append(EITHER if verdict.open else ((bool(verdict.sure), bool(verdict.maybe)), shown))
    return out


class Job:
    """Holds a file's job, and finds its verdicts."""

    def __init__(self, data):
        self.data, self.mistakes = data, data["mistakes"]
        self.meter = Meter(data["meter"])
        self.mains = Mains(data["wiring"], data["mains"])
        self.stages = [Stage(stage, data["wiring"], self.meter) for stage in data["stages"]]
        self.effects = self.mains.effects([m["changes"] for m in self.mistakes])
        self.points = {"live": 0, "cold": 0, "in doubt": 0}
        self.pool = None

    def __enter__(self):
        global JOB
        JOB = self
        self.pool = multiprocessing.get_context("fork").Pool(2)
        return self

    def __exit__(self, *_):
        self.pool.terminate()

    def run(self, kind, s, edits, chosen=None):
        """Judges edits at a stage, each different one once, by two processes: the answer for each edit."""
        unique = list(dict.fromkeys(edits))
        size = CHUNK if kind == "single" else 8 * CHUNK
        tasks = [(kind, s, unique[k:k + size], chosen) for k in range(0, len(unique), size)]
        found = {}
        for task, (answers, solved, doubtful) in zip(tasks, self.pool.imap(work, tasks)):
            self.points["live" if self.stages[s].live else "cold"] += solved
            self.points["in doubt"] += doubtful
            found.update(zip(task[2], answers))
        return [found[edit] for edit in edits]

    def singles(self):
        """Judges every mistake at every stage: for each mistake a list over the stages of (Verdict, caught) or None."""
        out = [[None] * len(self.stages) for _ in self.mistakes]
        for s, stage in enumerate(self.stages):
            who = [m for m, effect in enumerate(self.effects) if not (stage.live and effect and effect.touched)]
            edits = [self.edit(stage, self.mistakes[m]["changes"], self.effects[m]) for m in who]
            for m, answer in zip(who, self.run("single", s, edits)):
                out[m][s] = answer
        return out

    @staticmethod
    def edit(stage, changes, effect):
        """Derives the edit at a stage, supplies that are dead included."""
        return stage.frame.edit(changes, effect.dead if effect and stage.live else ())

    def harm(self, m, s, answers):
        """Gives the threats (surely, maybe) of a mistake at a live stage."""
        effect, answer = self.effects[m], answers[m][s]
        sets = [set(effect.sure) if effect else set(), set(effect.maybe) if effect else set()]
        if answer:
            sets[0] |= answer[0].sure
            sets[1] |= answer[0].maybe
        return sets

    def pair_effects(self, pairs):
        """Gives the effect of each pair on the mains side."""
        alone = [(self.effects[a], self.effects[b]) for a, b in pairs]
        both = [k for k, (one, two) in enumerate(alone) if one and two]
        found = [one or two for one, two in alone]
        lists = [self.changes(pairs[k]) for k in both]
        for k, effect in zip(both, self.mains.effects(lists)):
            found[k] = effect
        return found

    def changes(self, pair):
        """Gives the changes of both mistakes."""
        return self.mistakes[pair[0]]["changes"] + self.mistakes[pair[1]]["changes"]

    def pairs(self, pairs, readings):
        """Judges pairs: for each the set of (harm stage, caught at) that may be right."""
        effects = self.pair_effects(pairs)
        todo, answers = list(range(len(pairs))), [set() for _ in pairs]
        for s, stage in enumerate(self.stages):
            chosen = np.flatnonzero(np.isin(stage.index, readings))
            if not stage.live and not len(chosen):
                continue
            nothing = ((False, False), (False, False))
            solve = [p for p in todo if not (stage.live and effects[p] and effects[p].touched)]
            edits = [self.edit(stage, self.changes(pairs[p]), effects[p]) for p in solve]
            judged = dict(zip(solve, self.run("pair", s, edits, chosen)))
            left = []
            for p in todo:
                harm, shown = judged.get(p, nothing)
                if stage.live and effects[p]:
                    harm = harm[0] or bool(effects[p].sure), harm[1] or bool(effects[p].maybe)
                if harm[1]:
                    answers[p].add((stage.name, None))
                if not harm[0] and shown[1]:
                    answers[p].add((None, stage.name))
                if not (harm[0] or shown[0]):
                    left.append(p)
            todo = left
        for p in todo:
            answers[p].add((None, None))
        return answers
