"""Tampers with one number of a file at a time, and sees that each is noticed.

The oracle's own answers are found once; a comparison with a tampered copy must show at least one
disagreement more than with the file as it is, and of the sort that was tampered with.
"""

import copy


def volts(data):
    """A voltage: the first of more than a volt, a millionth off."""
    for mistake in data["mistakes"]:
        for vector in mistake["volts"]:
            for k, v in enumerate(vector or []):
                if abs(v) > 1:
                    vector[k] = v * (1 + 1e-6)
                    return True
    return False


def small(data):
    """A voltage where something is alive: one millivolt more."""
    vector = next((x for m in data["mistakes"] for x in m["volts"] if x and max(map(abs, x)) > 1), None)
    if vector:
        vector[vector.index(min(vector, key=abs))] += 1e-3
    return vector is not None


def no_volts(data):
    """A vector of voltages: left out."""
    for mistake in data["mistakes"]:
        for s, vector in enumerate(mistake["volts"]):
            if vector:
                mistake["volts"][s] = None
                return True
    return False


def harmed(data):
    """The first mistake with harm."""
    return next((m for m in data["mistakes"] if m["harm"]), None)


def no_harm(data):
    """A harm verdict: taken away."""
    mistake = harmed(data)
    if mistake:
        mistake["harm"] = mistake["caught"] = None
    return mistake is not None


def other_threat(data):
    """A harm verdict: another threat."""
    mistake = harmed(data)
    if mistake:
        mistake["harm"]["threat"] = "Wire(999)"
    return mistake is not None


def later(data):
    """A harm verdict: another stage."""
    live = [s["name"] for s in data["stages"] if s["live"]]
    mistake = next((m for m in data["mistakes"] if m["harm"] and len(live) > 1), None)
    if mistake:
        mistake["harm"]["stage"] = next(n for n in live if n != mistake["harm"]["stage"])
    return mistake is not None


def harm_too_many(data):
    """A harm verdict: given to a harmless mistake."""
    mistake = next((m for m in data["mistakes"] if not m["harm"]), None)
    if mistake:
        mistake["harm"] = {"stage": next(s["name"] for s in data["stages"] if s["live"]), "threat": "Touch"}
        mistake["caught"] = []
    return mistake is not None


def hunting(data):
    """Hunting: a stage that does not."""
    mistake = next((m for m in data["mistakes"] if not m["hunting"]), None)
    if mistake:
        mistake["hunting"] = [next(s["name"] for s in data["stages"] if s["live"])]
    return mistake is not None


def uncaught(data):
    """A list of what catches: one reading fewer."""
    mistake = next((m for m in data["mistakes"] if m["caught"]), None)
    if mistake:
        mistake["caught"].pop()
    return mistake is not None


def caught(data):
    """A list of what catches: one reading more, of a stage before the harm."""
    first = next((s for s in data["stages"] if s["readings"]), None)
    some = [r["index"] for r in first["readings"]] if first else []
    names = [s["name"] for s in data["stages"]]
    for mistake in data["mistakes"]:
        if mistake["harm"] and names.index(mistake["harm"]["stage"]) > 0:
            more = [i for i in some if i not in mistake["caught"]]
            if more:
                mistake["caught"].append(more[0])
                return True
    return False


def edge(data, what, side):
    """Moves one edge of a reading by a millionth."""
    for stage in data["stages"]:
        for reading in stage["readings"]:
            v = reading[what][side]
            if v and abs(v) > 1e-2:
                reading[what][side] = v * (1 + 1e-6)
                return True
    return False


def closed(data):
    """A range: an infinite edge made finite."""
    for stage in data["stages"]:
        for reading in stage["readings"]:
            if reading["range"]["high"] is None:
                reading["range"]["high"] = 1e9
                return True
    return False


def pair(data, verdict):
    """Changes the verdict of the first pair that has another."""
    found = next((p for p in data["pairs"] if (p["harm"], p["caught_at"]) != verdict), None)
    if found:
        found["harm"], found["caught_at"] = verdict
    return found is not None


def moved_pair(data):
    """A pair: harm at another stage."""
    live = [s["name"] for s in data["stages"] if s["live"]]
    found = next((p for p in data["pairs"] if p["harm"] and len(live) > 1), None)
    if found:
        found["harm"] = next(n for n in live if n != found["harm"])
    return found is not None


def thin_plan(data):
    """The plan: its last reading is left out, its cost is right."""
    plan = data["plan"]
    if not plan["readings"]:
        return False
    last = plan["readings"].pop()
    cost = next(r["cost"] for s in data["stages"] for r in s["readings"] if r["index"] == last)
    plan["cost"] -= cost
    plan["bound"] = min(plan["bound"], plan["cost"])
    return True


def dear_plan(data):
    """The plan: its cost is one more."""
    data["plan"]["cost"] += 1
    return True


TAMPERINGS = [
    ("a voltage is a millionth off", "voltages", volts), ("a small voltage is a millivolt off", "voltages", small),
    ("voltages are left out", "voltages", no_volts), ("a harm is taken away", "harm", no_harm),
    ("a harm names another threat", "harm", other_threat), ("a harm is at another stage", "harm", later),
    ("a harm is added", "harm", harm_too_many), ("a stage hunts that does not", "hunting", hunting),
    ("a reading is missing from caught", "caught", uncaught), ("a reading is added to caught", "caught", caught),
    ("the low edge of a range is off", "ranges", lambda d: edge(d, "range", "low")),
    ("the high edge of a range is off", "ranges", lambda d: edge(d, "range", "high")),
    ("an open range is closed", "ranges", closed),
    ("the low edge of a window is off", "windows", lambda d: edge(d, "window", "low")),
    ("the high edge of a window is off", "windows", lambda d: edge(d, "window", "high")),
    ("a pair is without harm and not shown", "pairs", lambda d: pair(d, (None, None))),
    ("a pair does harm at the last stage", "pairs", lambda d: pair(d, (d["stages"][-1]["name"], None))),
    ("a pair does its harm at another stage", "pairs", moved_pair),
    ("the plan lacks a reading", "plan", thin_plan), ("the plan costs one more", "plan", dear_plan),
]


def selftest(data, compare):
    """Runs all tamperings; `compare(data)` gives the failures by sort. Gives (passed, failed)."""
    before, counts = compare(data), [0, 0]
    for name, sort, tamper in TAMPERINGS:
        copied = copy.deepcopy(data)
        if not tamper(copied):
            print(f"     {name}: the file has nothing of the kind")
            continue
        after = compare(copied)
        more = sum(n - before.get(s, 0) for s, n in after.items() if sort in s)
        counts[more <= 0] += 1
        print(f"{'ok  ' if more > 0 else 'FAIL'} {name}: {'noticed' if more > 0 else 'NOT noticed'}")
    return counts
