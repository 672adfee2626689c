"""Works out a job a second time from the numbers in its file, and compares with what the program says.

    python by_hand.py [-v] [--selftest] [--program voltwright] JOB.toml...

Nothing of the program is used: the file is read with tomllib, its values are parsed in hand_values.py,
the circuit is put together in hand_circuit.py from what the job says, and solved in hand_solver.py with
a current as unknown for each device (the program has node voltages only). Then figures are compared:
every node voltage, every current and the power in, out and to heat of every stage and loading
(`voltwright network`), and the figures in the workings of findings that are worked out here as well
(`voltwright check`): what outputs are asked for, power from the wall, wires' temperatures, heat.

Two figures agree when they differ by at most 1e-6 of themselves (or of 1 mV, 1 mA, 10 mW: what
rounding leaves of a circuit that carries 230 V and nothing but the leak).
"""

import copy
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

from hand_circuit import Job, low_voltage, mains_side, supply_input
from hand_solver import Answer, Unsolved
from hand_values import ALPHA, conductor, si, value

AGREE, SMALL = 1e-6, 1e-3
PROGRAM = os.environ.get("VOLTWRIGHT", str(Path(__file__).parent.parent / "target/debug/voltwright"))
TRANSFER = {"painted steel": 5.5, "stainless steel": 3.7, "aluminium": 12, "plastic": 3.5, "wood": 2.5}  # W/m²K


class Tally:
    """Counts figures that agree and that do not, and prints them."""

    def __init__(self, verbose=False, quiet=False):
        self.verbose, self.quiet, self.passed, self.failed = verbose, quiet, 0, 0

    def figure(self, what, mine, theirs):
        """Compares two figures; either may be a text or nothing."""
        if isinstance(mine, float) and isinstance(theirs, (int, float)):
            small = SMALL * (10 if "(W)" in what else 1)
            good = abs(mine - theirs) <= AGREE * max(abs(mine), small)
        else:
            good = mine == theirs
        self.passed, self.failed = self.passed + good, self.failed + (not good)
        if not self.quiet and (self.verbose or not good):
            off = f", off by {theirs - mine:.3g}" if not good and isinstance(theirs, float) and mine is not None else ""
            print(f"  {'ok  ' if good else 'FAIL'} {what}: by hand {mine!r}, program {theirs!r}{off}")

    def note(self, text):
        """Prints a figure that nothing is compared with."""
        if self.verbose and not self.quiet:
            print(f"       {text}")


# --- networks ---------------------------------------------------------------------------------------------------


def compare_network(job, data, tally, zero):
    """Compares one network of the program with the same one put together and solved here.

    Which node is called 0 V is the program's choice, and only the leak depends on it: `zero` by stage keeps it.
    """
    where = f"{data['stage']}, {data['side']}, {data['loading']}"
    connected = data["connected"]
    try:
        circuit = low_voltage(job, data["loading"], connected=connected)
        if data["side"] == "low-voltage":
            zero[data["stage"]] = job.at(data["nodes"][data["datum"]])
        circuit.datum = circuit.nodes.get(zero.get(data["stage"]), circuit.datum)
        if data["side"] == "mains":
            circuit = mains_side(job, delivered_watts(job, Answer(circuit)))
        answer = Answer(circuit)
    except Unsolved as reason:
        return tally.figure(f"{where}: unsolved here ({reason})", "unsolved", "solved" if data.get("solution") else "unsolved")
    if data.get("solution") is None:
        return tally.figure(f"{where}: operating point", "solved", f"unsolved: {data.get('unsolved')}")
    if not data["elements"]:
        return tally.figure(f"{where}: elements", len(circuit.resistors) + len(circuit.devices), 0)
    compare_volts(job, answer, data, where, tally)
    compare_currents(answer, data, where, tally)
    for name, watts in answer.powers().items():
        tally.figure(f"{where}: power {name} (W)", float(watts), data["solution"]["power"][name])


def compare_volts(job, answer, data, where, tally):
    """Compares node by node, from the program's 0 V."""
    number = {name: answer.c.nodes.get(job.at(job.at_wall(name))) for name in data["nodes"]}
    zero = number[data["nodes"][data["datum"]]]
    for name, theirs in zip(data["nodes"], data["solution"]["volts"]):
        if number[name] is None:
            tally.figure(f"{where}: node {name}", None, theirs)
        elif zero is None:
            tally.figure(f"{where}: {name} (V), as 0 V is unknown", None, theirs)
        else:
            mine = float(answer.volts[number[name]] - answer.volts[zero])
            tally.figure(f"{where}: {name} (V)", mine, theirs)


def element_currents(answer):
    """Gives every current by the name of its element: [current, and those of a converter's outputs]."""
    volts, found = answer.volts, {}
    for name, a, b, ohms in answer.c.resistors:
        found[name] = [float((volts[a] - volts[b]) / ohms)]
    for d in answer.c.devices:
        if d.kind != "outlet" or not d.owner:
            found[d.name] = [float(answer.current(d))]
        if d.kind == "input":
            found[d.name] += [float(answer.current(out)) for out in d.outputs]
    return found


def compare_currents(answer, data, where, tally):
    """Compares element by element, both ways, so that one missing on either side is a failure."""
    mine, seen = element_currents(answer), set()
    for element, theirs in zip(data["elements"], data["solution"]["elements"]):
        name = element["name"].split(":")[0]
        name = name if name in mine else next((m for m in mine if m.split(" ")[0] == name and m not in seen), name)
        seen.add(name)
        flows = [theirs["current"]] + [out["current"] for out in theirs.get("outputs", [])]
        for k, flow in enumerate(flows):
            here = mine[name][k] if name in mine and k < len(mine[name]) else None
            tally.figure(f"{where}: {name}{f' output {k}' if k else ''} (A)", here, flow)
    for name in mine.keys() - seen:
        if max(map(abs, mine[name])) > 1e-8:  # an open way is left out by the program
            tally.figure(f"{where}: {name} (A)", mine[name][0], None)


# --- figures of findings -------------------------------------------------------------------------------------------


def delivered_watts(job, answer):
    """Gives the watts that the outputs of each supply and converter deliver."""
    watts = dict.fromkeys(job.parts, 0.0)
    for d in answer.c.devices:
        if d.kind == "outlet":
            watts[d.name.split(".")[0]] += float(answer.across(d) * answer.current(d))
    return watts


def budget(job):
    """Gives for each output its five currents, limits lifted: running (nominal, high), starting, least, and watts."""
    figures = {}
    for key, loading, end in (("run", "run", "nominal"), ("most", "run", "high"), ("start", "start", "high"),
                              ("least", "light", "low")):
        answer = Answer(low_voltage(job, loading, end, limits=False))
        for d in answer.c.devices:
            if d.kind == "outlet":
                figures.setdefault(d.name, {})[key] = abs(float(answer.current(d)))
    return figures


def wire_temperatures(job, answer):
    """Gives the temperature of each wire that is not bundled: air + I²r/(πdh), r at 70 °C, d with 1.6 mm of insulation."""
    currents, warm = element_currents(answer), {}
    for number, wire in enumerate(job.wires, 1):
        if f"wire {number}" in currents and wire.get("bundle", 1) == 1:
            ohms, diameter = conductor(wire["size"])
            watts = currents[f"wire {number}"][0] ** 2 * ohms * (1 + ALPHA * 50)
            warm[f"{wire['from']} to {wire['to']}"] = job.air + watts / (math.pi * (diameter + 1.6e-3) * 23)
    return warm


def heat_by_part(job, answer):
    """Gives watts turned to heat, supplies at their worst efficiency: in each part, in all wires and contacts, in loads."""
    heat = {"wires and contacts": 0.0, "loads": 0.0}
    for name, a, b, ohms in answer.c.resistors:
        key = "wires and contacts" if name.startswith(("wire ", "contact ")) else name.split(" ")[0]
        heat[key] = heat.get(key, 0.0) + float((answer.volts[a] - answer.volts[b]) ** 2 / ohms)
    for d in answer.c.devices:
        watts, name = float(answer.across(d) * answer.current(d)), d.name.split(".")[0]
        if d.kind == "draw":
            heat["loads"] += watts
        elif d.kind != "outlet" or d.owner:
            heat[name] = heat.get(name, 0.0) + (-watts if d.kind == "outlet" else watts)
    for name, watts in delivered_watts(job, answer).items():
        if job.parts[name]["kind"] in ("mains supply", "raw supply"):
            heat[name] = supply_input(job.parts[name], watts, worst=True) - watts
    return heat


def air_rise(case, watts):
    """Gives the rise of the air in a case: P = k·A·dT + 1200·V·dT, V by stack effect through half the vents, and a fan."""
    width, depth, height = (float(n) * 1e-3 for n in re.findall(r"[\d.]+", case["inside"]))
    area = 1.8 * height * (width + depth) + 1.4 * width * depth
    vents, fan = (si(case[k]) if k in case else 0.0 for k in ("vents", "fan"))
    low, high = 0.0, 1000.0
    kelvins = 300.0  # of the stack effect; the head of heat.rs does not say which, this one was read back
    for _ in range(200):
        rise = (low + high) / 2
        draught = 0.6 * vents / 2 / math.sqrt(2) * math.sqrt(2 * 9.81 * height * rise / kelvins)
        carried = TRANSFER[case["wall"]] * area * rise + 1200 * (draught + fan / 3600) * rise
        low, high = (rise, high) if carried < watts else (low, rise)
    return rise


def expected(job):
    """Gives the figures that a finding's working may carry: (code, part of the subject or words, symbol) -> figure."""
    heavy, run = Answer(low_voltage(job, "run", "high")), Answer(low_voltage(job))
    table = {}
    for name, five in budget(job).items():
        table["output-over-rating", name, "I"] = five["most"]
        table["output-over-share", name, "I"] = five["run"]
        table["peak-over-limit", name, "I"] = five["start"]
        table["under-least-load", name, "I"] = five["least"]
    for name, watts in delivered_watts(job, run).items():
        if job.parts[name]["kind"] == "mains supply":
            table["drawn-from-wall", name, "P"] = supply_input(job.parts[name], watts)
    for name, celsius in wire_temperatures(job, heavy).items():
        table["wire-hot", name, "T"] = table["wire-warmest", name, "T"] = celsius
    for number, wire in enumerate(job.wires, 1):
        if f"wire {number}" in (currents := element_currents(heavy)):
            name = f"{wire['from']} to {wire['to']}"
            table["wire-current", name, "I"] = table["wire-hot", name, "I"] = table["wire-warmest", name, "I"] = abs(currents[f"wire {number}"][0])
    total = sum(heat_by_part(job, heavy).values())
    table["air-inside", "the case", "P"] = total
    case = job.t.get("machine", {}).get("case", {})
    if "inside" in case and "wall" in case:
        ambient = value(job.t["job"].get("ambient", "15..30 °C"))[2]
        table["air-inside", "the case", "T"] = ambient + air_rise(case, total)
    return table


def figures_in(working):
    """Gives every (symbol, SI value) in a working, from the top down."""
    if working:
        yield working["symbol"], working["si"]
        for inner in working["origin"].get("inputs", []):
            yield from figures_in(inner)


def compare_findings(job, report, tally):
    """Compares the figures in findings' workings with those worked out here."""
    table = expected(job)
    for finding in report["findings"]:
        words = f"{finding['subject']} {finding['says']}"
        for symbol, theirs in figures_in(finding.get("working")):
            keys = [k for k in table if k[0] == finding["code"] and k[1] in words and k[2] == symbol]
            for code, name, _ in keys[:1] if len(keys) < 2 else [max(keys, key=lambda k: len(k[1]))]:
                tally.figure(f"{code}, {name}: {symbol}", float(table[code, name, symbol]), theirs)


def own_figures(job, tally):
    """Prints what is worked out here, to be followed with pencil and paper."""
    heavy = Answer(low_voltage(job, "run", "high"))
    for name, five in budget(job).items():
        tally.note(f"{name}: " + ", ".join(f"{k} {amps:.4g} A" for k, amps in five.items()))
    for name, watts in heat_by_part(job, heavy).items():
        tally.note(f"heat at upper ends, {name}: {watts:.4g} W")
    for name, celsius in wire_temperatures(job, heavy).items():
        tally.note(f"wire {name}: {celsius:.2f} °C at upper ends")


# --- running ---------------------------------------------------------------------------------------------------------


def program_says(program, *arguments):
    """Gives what the program prints, as data; a check that finds something may end with a code of its own."""
    if shutil.which(program) is None:
        sys.exit(f"there is no program {program}: build it, or name it by --program or VOLTWRIGHT")
    done = subprocess.run([program, *map(str, arguments)], capture_output=True, text=True, check=False)
    if not done.stdout.strip().startswith("{"):
        sys.exit(f"{program} {' '.join(map(str, arguments))}: no data, code {done.returncode}\n{done.stderr}")
    return json.loads(done.stdout)


def compare(tables, networks, report, tally):
    """Compares all figures of one job."""
    job, zero = Job(tables), {}
    for data in networks["networks"]:
        compare_network(job, data, tally, zero)
    try:
        own_figures(job, tally)
        if report:
            compare_findings(job, report, tally)
    except Unsolved as reason:
        tally.figure(f"figures of findings: unsolved here ({reason})", "unsolved", "solved")


def perturbed(tables):
    """Gives copies of a job's tables with one number changed each, a length by half, else by 1e-4: (which, the copy)."""
    def change(text, factor):
        match = re.search(r"\d+(\.\d+)?", text)
        return text[:match.start()] + f"{float(match[0]) * factor:.10g}" + text[match.end():]

    paths = [("wiring", "wires", k, "length") for k in range(len(tables.get("wiring", {}).get("wires", [])))]
    paths += [("load", load, "draws", rail, "run") for load, keys in tables.get("load", {}).items() for rail in keys["draws"]]
    paths += [("part", part, "output", out, "volts") for part, keys in tables.get("part", {}).items()
              for out in keys.get("output", {}) if "volts" in keys["output"][out]]
    for path in paths:
        other = copy.deepcopy(tables)
        spot = other
        for key in path[:-1]:
            spot = spot[key]
        spot[path[-1]] = change(spot[path[-1]], 1.5 if path[-1] == "length" else 1.0001)
        yield ".".join(map(str, path)), other
    if any("mates" in plug for plug in tables.get("plug", {}).values()):
        other = copy.deepcopy(tables)
        other.setdefault("assume", {})["contact"] = "10.1 mΩ"
        yield "assume.contact", other


def selftest(tables, networks, tally):
    """Changes one number of the file at a time and expects that the comparison fails each time."""
    networks = {"networks": [n for n in networks["networks"] if len(n["connected"]) == len(Job(tables).loads)]}
    idle = idle_wires(Job(tables))
    for what, other in perturbed(tables):
        inner = Tally(quiet=True)
        compare(other, networks, None, inner)
        seen = "noticed" if inner.failed else "not noticed"
        tally.figure(f"selftest, {what} changed", "not noticed" if what in idle else "noticed", seen)


def idle_wires(job):
    """Gives the lengths that nothing can depend on: of wires without current (earth, senses)."""
    idle = set()
    answer = Answer(low_voltage(job))
    currents = element_currents(answer)
    if any(part["kind"] == "inlet" for part in job.parts.values()):
        currents |= element_currents(Answer(mains_side(job, delivered_watts(job, answer))))
    for number in range(1, len(job.wires) + 1):
        if abs(currents.get(f"wire {number}", [0.0])[0]) < 1e-6:
            idle.add(f"wiring.wires.{number - 1}.length")
    return idle


def main(arguments):
    """Compares all files; gives the number of failures."""
    flags, paths, program = set(), [], PROGRAM
    rest = iter(arguments)
    for argument in rest:
        if argument == "--program":
            program = next(rest)
        elif argument.startswith("-"):
            flags.add(argument)
        else:
            paths.append(Path(argument))
    total = Tally("-v" in flags)
    for path in paths:
        before, tables = total.failed, tomllib.loads(path.read_text(encoding="utf-8"))
        networks = program_says(program, "network", path, "--json")
        if "--selftest" in flags:
            selftest(tables, networks, total)
        else:
            compare(tables, networks, program_says(program, "check", "--json", path), total)
        print(f"{'FAIL' if total.failed > before else 'ok  '} {path}")
    print(f"{total.passed} passed, {total.failed} failed")
    return total.failed


if __name__ == "__main__":
    if not [a for a in sys.argv[1:] if not a.startswith("-")]:
        sys.exit("usage: by_hand.py [-v] [--selftest] [--program voltwright] JOB.toml...")
    sys.exit(1 if main(sys.argv[1:]) else 0)
