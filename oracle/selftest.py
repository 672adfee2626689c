"""Proves that the oracle can be right and that it can fail: hand-made networks with closed-form answers.

    python selftest.py

Each case states voltages, currents and states worked out on paper. The oracle must find them to 1e-12,
pass them when they are handed to it as the solution under test, and refuse them once a voltage is off
by 1e-8 of itself, a current by 1e-8, a power by 1e-8, or a state is another word.
"""

import copy
import math
import sys

import operating_point as oracle

LEAK = 1e-30  # so small that the closed forms hold to 1e-12; cases about the leak set their own


def source(plus, volts, ohms=1.0, limit=None, overload="hold", group=None, minus=0, name="source"):
    return {"name": name, "law": "source", "plus": plus, "minus": minus, "volts": volts, "ohms": ohms,
            "limit": limit, "overload": overload, "group": group}


def load(plus, draws, amount, knee=1.0, minus=0):
    return {"name": "load", "law": "load", "plus": plus, "minus": minus, "draws": draws,
            "amount": amount, "knee": knee}


def resistor(a, b, ohms):
    return {"name": "resistor", "law": "resistor", "a": a, "b": b, "ohms": ohms}


def converter(plus, outputs, low, high, efficiency=0.5, idle=0.0, enable=None):
    return {"name": "converter", "law": "converter", "in_plus": plus, "in_minus": 0, "low": low,
            "high": high, "efficiency": efficiency, "idle": idle, "group": None, "enable": enable,
            "outputs": outputs}


def output(plus, volts, ohms, minus=0, limit=None, overload="hold"):
    return {"plus": plus, "minus": minus, "volts": volts, "ohms": ohms, "limit": limit, "overload": overload}


def network(elements, nodes, groups=(), leak=LEAK):
    return {"stage": "full", "side": "low-voltage", "loading": "run", "datum": 0, "leak": leak,
            "nodes": [f"node {k}" for k in range(nodes)], "groups": list(groups), "elements": elements,
            "solution": None, "unsolved": None}


def solved():
    """Lists (title, network, volts, [(state, current, [outputs])], (in, out, heat))."""
    cases = []

    def case(title, net, volts, elements, power):
        cases.append((title, net, volts, elements, power))

    case("divider", network([source(1, 10.0), resistor(1, 2, 2.0), resistor(2, 0, 7.0)], 3),
         [0, 9, 7], [("holding", 1), ("conducting", 1), ("conducting", 1)], (9, 0, 9))

    v = (10 + math.sqrt(10**2 - 4 * 1 * 16)) / 2  # (10 - v)/1 = 16/v, the higher root: 8 V
    case("constant power", network([source(1, 10.0), load(1, "power", 16.0, knee=3.0)], 2),
         [0, v], [("holding", 16 / v), ("normal", 16 / v)], (16, 16, 0))

    # 30 W from 10 V behind 1 ohm (25 W at most): starved, (10 - v)/1 = 30 v/6^2.
    v = 10 / (1 + 30 / 36)
    case("constant power, too much", network([source(1, 10.0), load(1, "power", 30.0, knee=6.0)], 2),
         [0, v], [("holding", 10 - v), ("starved", 10 - v)], (v * (10 - v), v * (10 - v), 0))

    # A 1 A source into a 2 A load: it limits, and the load takes 1 A = 2 v/4.
    case("limit into a current load", network([source(1, 12.0, 0.1, limit=1.0), load(1, "current", 2.0, 4.0)], 2),
         [0, 2], [("limiting", 1), ("starved", 1)], (2, 2, 0))

    case("negative source", network([source(1, -12.0, 2.0), load(1, "resistance", 4.0)], 2),
         [0, -8], [("holding", -2), ("normal", -2)], (16, 16, 0))

    def regulated(ohms, state, limit=10.0, volts=12.0, supply=0.5):
        drop = {"regulating": (5.0 - 0.0) / (ohms + 0.1), "limiting": limit,
                "drop-out": (volts - 2.0) / (supply + 0.1 + ohms)}
        i = drop[state]
        net = network([source(1, volts, supply), load(2, "resistance", ohms),
                       {"name": "regulator", "law": "regulator", "input": 1, "reference": 0, "output": 2,
                        "volts": 5.0, "ohms": 0.1, "headroom": 2.0, "limit": limit}], 3)
        vi, vo = volts - supply * i, ohms * i
        case(f"regulator {state}", net, [0, vi, vo], [("holding", i), ("normal", i), (state, i)],
             (vi * i, vo * i, (vi - vo) * i))

    regulated(4.9, "regulating")
    regulated(3.4, "drop-out", volts=6.0)
    regulated(2.0, "limiting", limit=1.5)

    def clamped(volts, state, expected):
        net = network([source(1, volts, 1.0), {"name": "clamp", "law": "clamp", "cathode": 1, "anode": 0,
                                               "breakdown": 6.0, "forward": 0.5, "ohms": 0.25}], 2)
        i = (volts - expected) / 1.0
        case(f"clamp {state}", net, [0, expected], [("holding" if i else "idle", i), (state, i)],
             (expected * i, 0, expected * i))

    clamped(11.0, "clamping", 7.0)
    clamped(-3.0, "forward", -1.0)

    case("diodes", network([source(1, 10.0), source(2, 5.0), load(3, "resistance", 8.0),
                            {"name": "d", "law": "diode", "anode": 1, "cathode": 3, "forward": 0.5, "ohms": 0.5},
                            {"name": "e", "law": "diode", "anode": 2, "cathode": 3, "forward": 0.5, "ohms": 0.5}], 4),
         [0, 9, 5, 8], [("holding", 1), ("idle", 0), ("normal", 1), ("on", 1), ("off", 0)], (9, 8, 1))

    # The first source is over its limit (9 A) and takes the second one of its group with it.
    group = [{"name": "supply", "power_limit": None, "trips": True}]
    case("trip with its group", network(
        [source(1, 10.0, 0.1, 5.0, "trip", 0), resistor(1, 0, 1.0), source(2, 6.0, 1.0, None, "hold", 0),
         load(2, "resistance", 5.0), source(3, 4.0, 1.0), load(3, "resistance", 3.0)], 4, group),
         [0, 0, 0, 3], [("tripped", 0), ("conducting", 0), ("tripped", 0), ("normal", 0), ("holding", 1),
                        ("normal", 1)], (3, 3, 0))
    group = [{"name": "supply", "power_limit": 10.0, "trips": True}]
    rails = [source(1, 10.0, 1.0, None, "hold", 0), load(1, "resistance", 9.0), source(2, 3.0, 1.0, None, "hold", 0),
             load(2, "resistance", 2.0)]
    case("group over its power", network(rails, 3, group), [0, 0, 0],
         [("tripped", 0), ("normal", 0)] * 2, (0, 0, 0))  # 9 W and 2 W
    group = [{"name": "supply", "power_limit": 10.0, "trips": False}]
    case("group without trip", network(rails, 3, group), [0, 9, 2],
         [("holding", 1), ("normal", 1)] * 2, (11, 11, 0))

    # Output: 5 V behind 1 ohm into 4 ohms: 1 A at 4 V. Input: 1 W + 4 W/0.5 = 9 W, 10 v - v^2 = 9, v = 9 V.
    supply = [source(1, 10.0), load(2, "resistance", 4.0)]
    case("converter", network(supply + [converter(1, [output(2, 5.0, 1.0)], 7.0, 12.0, idle=1.0)], 3),
         [0, 9, 4], [("holding", 1), ("normal", 1), ("on", 1, [("holding", 1)])], (9, 4, 5))
    off = [("idle", 0), ("normal", 0)]
    for state, low, high in (("below range", 11.0, 20.0), ("above range", 2.0, 9.5)):
        if state == "above range":  # unloaded enough that it can only be above: 9 W is not drawn
            high = 8.0
        case(f"converter {state}", network(supply + [converter(1, [output(2, 5.0, 1.0)], low, high, idle=1.0)], 3),
             [0, 10, 0], [off[0], off[1], (state, 0, [("idle", 0)])], (0, 0, 0))
    enable = {"plus": 3, "minus": 0, "threshold": 2.0, "on_when": "above"}
    case("converter disabled", network(
        [source(1, 10.0), load(2, "resistance", 4.0), resistor(3, 0, 1.0),
         converter(1, [output(2, 5.0, 1.0)], 7.0, 12.0, idle=1.0, enable=enable)], 4),
         [0, 10, 0, 0], [off[0], off[1], ("conducting", 0), ("disabled", 0, [("idle", 0)])], (0, 0, 0))

    # A floating 12 V source stands half above, half below the datum, held by the leak alone.
    g = 1e-9
    i = 12 / (2 / g + 1)
    case("floating on the leak", network([source(1, 12.0, minus=2)], 3, leak=g),
         [0, i / g, -i / g], [("holding", i)], (2 * i * i / g, 0, 2 * i * i / g))
    return cases


def hunting():
    """A converter that starts at 10 V and pulls its supply below its range: 9 V on, so it cannot stay on."""
    return network([source(1, 10.0), load(2, "resistance", 4.0),
                    converter(1, [output(2, 5.0, 1.0)], 9.5, 12.0, idle=1.0)], 3)


class Tally:
    """Counts what held and prints what did not."""

    def __init__(self):
        self.passed = self.failed = 0

    def expect(self, holds, text):
        self.passed, self.failed = self.passed + bool(holds), self.failed + (not holds)
        if not holds:
            print(f"FAIL {text}")


def solution(volts, elements, power):
    """Writes an answer the way the solver under test does."""
    def result(state, current, outputs=()):
        entry = {"state": state, "current": float(current)}
        if outputs:
            entry["outputs"] = [result(*o) for o in outputs]
        return entry

    return {"volts": [float(v) for v in volts], "elements": [result(*e) for e in elements],
            "residual": 0.0, "power": dict(zip(("in", "out", "heat"), map(float, power)))}


def spoilt(given):
    """Yields (what, the solution with that one thing wrong) for everything that is not zero."""
    for k, v in enumerate(given["volts"]):
        if v:
            bad = copy.deepcopy(given)
            bad["volts"][k] = v * (1 + 1e-8)
            yield f"volts of node {k}", bad
    largest = max(abs(e["current"]) for e in given["elements"])
    for k, element in enumerate(given["elements"]):
        bad = copy.deepcopy(given)
        bad["elements"][k]["current"] += 1e-8 * (largest or 1)
        yield f"current of element {k}", bad
        bad = copy.deepcopy(given)
        bad["elements"][k]["state"] = "off" if element["state"] != "off" else "on"
        yield f"state of element {k}", bad
        for i, _ in enumerate(element.get("outputs", [])):
            bad = copy.deepcopy(given)
            bad["elements"][k]["outputs"][i]["state"] = "limiting"
            yield f"state of output {i} of element {k}", bad
    for key, watts in given["power"].items():
        bad = copy.deepcopy(given)
        bad["power"][key] = watts + 1e-8 * (max(map(abs, given["power"].values())) or 1)
        yield f"power {key}", bad


def try_case(tally, title, net, volts, elements, power):
    """Solves a case, hands the right answer in, then each wrong one."""
    built = oracle.Network(net)
    V, mode = oracle.operating_point(built)
    answer = oracle.Answer(built, V, mode)
    found = dict(zip(built.order, V))
    largest = max(map(abs, volts)) or 1.0
    for k, v in enumerate(volts):
        tally.expect(abs(found[k] - v) <= 1e-12 * largest, f"{title}: node {k} is {found[k]}, not {v}")
    for k, (mine, expected) in enumerate(zip(answer.elements, elements)):
        tally.expect(abs(mine[1] - expected[1]) <= 1e-12 * largest, f"{title}: element {k} carries {mine[1]}, not {expected[1]}")
        tally.expect(expected[0] in mine[0], f"{title}: element {k} is {mine[0]}, not {expected[0]}")
    given = solution(volts, elements, power)
    complaints = oracle.examine(dict(net, solution=given))[0]
    tally.expect(not complaints, f"{title}: the right answer was refused: {complaints}")
    floating = title == "floating on the leak"
    for what, bad in spoilt(given):
        if floating and what.startswith(("volts", "power", "current")):
            continue  # 1e-8 of these is below what double arithmetic can tell, see below
        tally.expect(oracle.examine(dict(net, solution=bad))[0], f"{title}: wrong {what} was accepted")
    for kind in ("hunting", "other"):
        wrong = dict(net, unsolved={"kind": kind})
        tally.expect(oracle.examine(wrong)[0], f"{title}: reported as {kind} and accepted")
    if floating:  # both ends shifted apart: the voltage across the source tells
        late = solution(volts, [("holding", elements[0][1] * 1.001)], power)
        tally.expect(oracle.examine(dict(net, solution=late))[0], f"{title}: wrong leak current accepted")
        bad = solution([0, volts[1] * (1 + 1e-6), volts[2] * (1 + 1e-6)], elements, power)
        tally.expect(oracle.examine(dict(net, solution=bad))[0], f"{title}: wrong voltage across accepted")


def main():
    """Runs all cases; gives the number of expectations that failed."""
    tally = Tally()
    for case in solved():
        try_case(tally, *case)
    net = hunting()
    tally.expect(oracle.operating_point(oracle.Network(net)) is None, "hunting was not found")
    tally.expect(not oracle.examine(dict(net, unsolved={"kind": "hunting"}))[0], "hunting, reported, was refused")
    off = solution([0, 10, 0], [("idle", 0), ("normal", 0), ("below range", 0, [("idle", 0)])], (0, 0, 0))
    tally.expect(oracle.examine(dict(net, solution=off))[0], "hunting, reported as off, was accepted")
    print(f"{tally.passed} passed, {tally.failed} failed")
    return tally.failed


if __name__ == "__main__":
    sys.exit(1 if main() else 0)
