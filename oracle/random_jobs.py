"""Writes random but valid job files, so that whole jobs can be solved twice and the answers compared.

    python random_jobs.py N SEED DIR

Writes DIR/job-0000.toml and so on: file k depends on SEED and k alone, so any one of them can be made
again. The machines are invented. Most jobs work; in about one of six a limit is too small, a regulator
starves or a strap is missing, since limiting, tripping and starved loads are where solvers differ.
"""

import random
import sys
from pathlib import Path

POTENTIALS = {"p3": 3.3, "p5": 5.0, "p9": 9.0, "p12": 12.0, "p15": 15.0, "p24": 24.0,
              "m5": -5.0, "m12": -12.0, "m15": -15.0}
METRIC = ["0.25 mm²", "0.5 mm²", "0.75 mm²", "1.0 mm²", "1.5 mm²", "2.5 mm²"]
GAUGES = ["AWG 24", "AWG 22", "AWG 20", "AWG 18", "AWG 16", "AWG 14"]
LOADS = ["board", "drive-a", "drive-b", "display", "keyboard", "lamps", "plotter-head", "voice-card"]
COLOURS = ["RD", "BK", "YE", "BU", "WH", "GN", "OG", "VT", "GY", "BN", "PK", "TQ"]
MAINS = {"IE": 230, "DE": 230, "US": 120, "JP": 100}
WORTH = ["irreplaceable", "hard to find", "easy to find"]
SMALLEST, LARGEST = 10, 60  # nodes of the low-voltage network, as counted by `Job.nodes`


def text(value):
    """Writes a value as TOML on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(text(v) for v in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {text(v)}" for k, v in value.items()) + " }"
    return str(value) if isinstance(value, int) else f'"{value}"'


def amps(value):
    """Writes a current as people do: in mA below one ampere, three digits."""
    return f"{value * 1e3:.3g} mA" if value < 0.9995 else f"{value:.3g} A"


class Job:
    """Holds one job while it is being made up."""

    def __init__(self, seed, number):
        self.seed, self.number = seed, number
        self.rng = random.Random(f"{seed}/{number}")
        self.country = self.rng.choice(sorted(MAINS))
        self.weak = None
        self.rails, self.loads, self.parts, self.plugs, self.wires = {}, {}, {}, {}, []
        self.taps = {}  # rail or "com": terminals from which its ways may be wired

    def chance(self, share):
        """Says yes in that share of cases."""
        return self.rng.random() < share

    def part(self, stem, **keys):
        """Adds a part under a name of its own, and gives the name."""
        name = next(n for n in [stem] + [f"{stem}-{i}" for i in range(2, 99)] if n not in self.parts)
        self.parts[name] = {k.replace("_", "-"): v for k, v in keys.items()}
        return name

    def wire(self, start, stop, thick=False):
        """Adds a wire of random size and length."""
        rng = self.rng
        sizes = (METRIC[2:] + GAUGES[3:]) if thick else (METRIC + GAUGES)
        self.wires.append({"from": start, "to": stop, "colour": rng.choice(COLOURS), "size": rng.choice(sizes),
                           "length": f"{rng.randrange(40, 900, 10)} mm"})

    def nodes(self):
        """Counts the low-voltage nodes: ends of wires, those that are one inside a part once, and planes of loads."""
        away = ("inlet.", "mains-fuse.", "mains-switch.", "fan.", *(f"{load}." for load in self.loads))
        ends = {end for w in self.wires for end in (w["from"], w["to"])
                if not end.startswith(away) and not end.endswith((".line", ".neutral", ".earth"))}
        for name, part in self.parts.items():
            one = part.get("joined", [str(n) for n in range(1, part.get("ways", 0) + 1)])
            found = {f"{name}.{end}" for end in one} & ends
            ends -= set(sorted(found)[1:])
        return len(ends) + sum(1 + len(load["draws"]) for load in self.loads.values())

    def write(self):
        """Gives the text of the file."""
        head = {"title": f"Invented machine {self.seed}-{self.number}", "country": self.country}
        if self.chance(0.5):
            head["ambient"] = self.rng.choice(["15..30 °C", "10..35 °C", "18..26 °C"])
        lines = ["format = 1", "", "[job]", *(f"{k} = {text(v)}" for k, v in head.items()), "", "[rail]",
                 *(f"{k} = {text(v)}" for k, v in self.rails.items())]
        for table, entries in (("load", self.loads), ("part", self.parts), ("plug", self.plugs)):
            for name, keys in entries.items():
                lines += ["", f"[{table}.{name}]"]
                for key, value in keys.items():
                    spread = key in ("draws", "sockets", "output")
                    lines += ([f"{key}.{k} = {text(v)}" for k, v in value.items()] if spread
                              else [f"{key} = {text(value)}"])
        lines += ["", "[wiring]", "wires = [", *(f"  {text(w)}," for w in self.wires), "]"]
        if self.chance(0.3):
            lines += ["", "[assume]", f'contact = "{self.rng.choice(["5..30 mΩ", "8 mΩ", "15 mΩ ± 30 %"])}"']
            lines += [f'joint = "{self.rng.choice(["0.5..3 mΩ", "2 mΩ", "0.7 mΩ"])}"']
        return "\n".join(lines) + "\n"


def needs(job):
    """Makes up rails and the loads that draw from them; gives the current each rail must deliver."""
    rng = job.rng
    names = rng.sample(sorted(POTENTIALS), rng.randint(1, 5))
    for name in names:
        volts = POTENTIALS[name]
        low, high = sorted((-0.1 * volts, 1.4 * volts))
        job.rails[name] = {"nominal": f"{volts:g} V", "tolerance": f"{rng.choice([5, 8, 10])} %",
                           "harm": f"{low:.3g}..{high:.3g} V"}
    total = dict.fromkeys(names, 0.0)
    chosen = rng.sample(LOADS, rng.randint(1, 4))
    drawn = {load: rng.sample(names, rng.randint(1, min(3, len(names)))) for load in chosen}
    for name in names:
        if not any(name in rails for rails in drawn.values()):
            drawn[rng.choice(chosen)].append(name)
    for load, rails in drawn.items():
        entry = {"worth": rng.choice(WORTH), "draws": {}, "sockets": {}}
        for name in rails:
            run = rng.choice([0.02, 0.05, 0.1, 0.3, 0.6, 1.0, 1.5, 2.2]) * rng.uniform(0.7, 1.4)
            if POTENTIALS[name] < 0 or POTENTIALS[name] > 12:
                run *= 0.4
            entry["draws"][name], most = draw(job, abs(POTENTIALS[name]), run)
            total[name] += most
        sockets(job, entry, rails)
        job.loads[load] = entry
    return total


def draw(job, volts, run):
    """Makes up what a load draws from a rail of so many volts; gives it with its highest current."""
    rng = job.rng
    unit = rng.choices("AWΩ", (6, 2, 2))[0]
    figure = {"A": amps(run), "W": f"{run * volts:.3g} W", "Ω": f"{volts / run:.3g} Ω"}[unit]
    entry, most = {"run": figure}, run
    if job.chance(0.4):
        entry["run"] += f" ± {rng.choice([5, 10, 25])} %"
    if job.chance(0.25):
        most = run * rng.uniform(1.5, 3)
        entry["start"] = f"{amps(most)} for {rng.choice([50, 200, 400, 2000])} ms"
    if job.chance(0.3):
        entry["idle"] = amps(run * rng.uniform(0.05, 0.6))
    entry["basis"] = rng.choice(["measured", "data sheet", "typical", "guess"])
    return entry, most


def sockets(job, entry, rails):
    """Gives a load one or two sockets, with one to three ways for each rail and for com."""
    rng = job.rng
    ways = [name for name in rails for _ in range(rng.choices((1, 2, 3), (6, 3, 1))[0])]
    ways += ["com"] * rng.randint(1, 3) + ["chassis"] * job.chance(0.1) + ["-"] * job.chance(0.3)
    rng.shuffle(ways)
    if len(ways) > 4 and job.chance(0.4):
        cut = rng.randint(2, len(ways) - 2)
        entry["sockets"] = {"j1": ways[:cut], "j2": ways[cut:]}
    else:
        entry["sockets"] = {"j": ways}


def plan(job, total):
    """Decides how each rail is made: by the supply itself, a regulator or a converter behind another rail."""
    rng, made = job.rng, {}
    raw = job.chance(0.2)
    for name in sorted(total, key=lambda n: -abs(POTENTIALS[n])):
        volts = POTENTIALS[name]
        direct = [n for n, (way, _) in made.items() if way == "supply"]
        higher = [n for n in direct if POTENTIALS[n] * volts > 0 and abs(POTENTIALS[n]) >= abs(volts) + 3]
        inputs = [n for n in direct if POTENTIALS[n] >= 9]
        if higher and job.chance(0.35) and total[name] < 1.5:
            made[name] = "regulator", rng.choice(higher)
        elif inputs and job.chance(0.3) and not raw:
            made[name] = "converter", rng.choice(inputs)
        else:
            made[name] = "supply", None
    # What is made from a rail is drawn from it as well.
    carried = dict(total)
    for name, (way, feeder) in made.items():
        if way == "regulator":
            carried[feeder] += total[name]
        elif way == "converter":
            carried[feeder] += abs(POTENTIALS[name]) * total[name] / 0.75 / POTENTIALS[feeder]
    return raw, made, carried


def room(job, weak):
    """Gives the factor by which a limit exceeds what is drawn: less than one where this job is to be weak."""
    if job.weak == weak:
        job.weak = f"{weak}, done"
        return job.rng.uniform(0.35, 0.85)
    return job.rng.uniform(1.5, 3.0)


def mains_supply(job, made, carried):
    """Adds a mains supply with an output for each rail it makes, minus joined or plus joined or joined by wires."""
    rng, outputs, joined, live = job.rng, {}, [], {}
    for name in (n for n, (way, _) in made.items() if way == "supply"):
        out, volts = f"v{len(outputs) + 1}", POTENTIALS[name]
        upside_down = volts < 0 and job.chance(0.5)
        entry = {"volts": f"{abs(volts) if upside_down else volts:g} V ± {rng.choice([1, 2, 4, 5])} %"}
        if not job.chance(0.08):
            entry["limit"] = amps(carried[name] * room(job, "output"))
        if job.chance(0.2):
            entry["least"] = amps(carried[name] * rng.uniform(0.05, 0.3))
        outputs[out] = entry
        joined.append(f"{out}.plus" if upside_down else f"{out}.minus")
        live[name] = f"{out}.minus" if upside_down else f"{out}.plus"
    watts = sum(abs(POTENTIALS[n]) * carried[n] for n in live)
    supply = job.part(
        "supply", kind="mains supply", input={"voltage": "90..264 V", "frequency": "47..63 Hz", "current": "2 A"},
        power=f"{max(1, watts * room(job, 'power')):.3g} W", efficiency=f"{rng.randint(65, 90)} %",
        overload=rng.choices(["hold", "hiccup", "latch"], (5, 4, 1))[0], output=outputs)
    if job.chance(0.3):
        job.parts[supply]["idle"] = "1.5 W"
    if len(joined) > 1 and job.chance(0.8):
        job.parts[supply]["joined"] = joined
    else:
        for other in joined[1:]:
            job.wire(f"{supply}.{joined[0]}", f"{supply}.{other}", thick=True)
    job.taps["com"] = [f"{supply}.{end}" for end in joined]
    for name, end in live.items():
        job.taps[name] = [f"{supply}.{end}"]
    return supply


def raw_supply(job, made, carried):
    """Adds a transformer with rectified windings, each followed by a regulator."""
    rng, outputs, joined, live = job.rng, {}, [], {}
    for name in (n for n, (way, _) in made.items() if way == "supply"):
        out, volts, current = f"w{len(outputs) + 1}", POTENTIALS[name], carried[name]
        rectifier = rng.choice(["bridge", "centre-tap", "half-wave"])
        farads = max(1000, round(current / (50 * (1 if rectifier == "half-wave" else 2) * 1.5) * 1e4) * 100)
        outputs[out] = {"winding": f"{(abs(volts) + 6) / 1.25:.3g} V", "regulation": f"{rng.randint(8, 20)} %",
                        "current": amps(current * rng.uniform(1.2, 2)), "rectifier": rectifier,
                        "reservoir": f"{farads} µF"}
        if volts < 0:
            outputs[out]["negative"] = True
        joined.append(f"{out}.plus" if volts < 0 else f"{out}.minus")
        live[name] = f"{out}.minus" if volts < 0 else f"{out}.plus"
    primary = MAINS[job.country]
    supply = job.part("supply", kind="raw supply", primary=f"{primary} V", frequency="50..60 Hz",
                      power="80 W", output=outputs, joined=joined)
    job.taps["com"] = [f"{supply}.{end}" for end in joined]
    for name, end in live.items():
        regulator(job, name, f"{supply}.{end}", carried[name])
    return supply


def regulator(job, name, feeder, current):
    """Adds a linear regulator between a terminal and a rail."""
    keys = {"volts": f"{POTENTIALS[name]:g} V ± {job.rng.choice([2, 4, 5])} %",
            "headroom": f"{job.rng.choice([1, 1.5, 2, 2.5])} V", "heat": "20 K/W"}
    if job.weak == "headroom":
        job.weak, keys["headroom"] = "headroom, done", "12 V"
    if job.chance(0.8):
        keys["limit"] = amps(current * room(job, "regulator"))
    reg = job.part(f"reg-{name}", kind="regulator", **keys)
    job.wire(feeder, f"{reg}.in")
    job.wire(job.rng.choice(job.taps["com"]), f"{reg}.ref")
    job.taps[name] = [f"{reg}.out"]


def converter(job, name, feeder, total):
    """Adds a converter from a positive rail to a rail of either sign, sometimes with an enable strap."""
    rng, volts, fed = job.rng, POTENTIALS[name], POTENTIALS[feeder]
    keys = {"input": {"voltage": f"{0.7 * fed:.3g}..{1.3 * fed:.3g} V"}, "efficiency": f"{rng.randint(75, 92)} %",
            "overload": rng.choice(["hold", "hiccup"]), "idle": f"{rng.choice([0.1, 0.3, 0.5])} W",
            "output": {"o1": {"volts": f"{volts:g} V ± 3 %", "limit": amps(total * room(job, "converter"))}}}
    isolated = job.chance(0.3)
    if not isolated:
        keys["joined"] = ["in.minus", "o1.minus"]
    if job.chance(0.4):
        keys["enable"] = rng.choice(["low", "high"])
    conv = job.part(f"conv-{name}", kind="converter", **keys)
    com = rng.choice(job.taps["com"])
    job.wire(job.taps[feeder][0], f"{conv}.in.plus")
    job.wire(com, f"{conv}.in.minus")
    if isolated:
        job.wire(com, f"{conv}.o1.minus")
    if "enable" in keys and job.weak != "strap":
        job.wire(f"{conv}.enable", f"{conv}.in.{'minus' if keys['enable'] == 'low' else 'plus'}")
    job.taps[name] = [f"{conv}.o1.plus"]


def in_series(job, name, current):
    """Puts a fuse, switch, diode or strip into a rail, or nothing."""
    rng, tap = job.rng, job.taps[name][0]
    kind = rng.choices([None, "fuse", "switch", "diode", "strip"], (50, 14, 10, 10, 16))[0]
    if kind is None:
        return
    if kind == "fuse":
        rating = next((r for r in (0.25, 0.5, 1, 2, 3.15, 5, 6.3, 10) if r >= 1.5 * current), 10)
        ends = (".1", ".2") if job.chance(0.8) else (".2", ".1")
        part = job.part(f"fuse-{name}", kind="fuse", rating=f"{rating:g} A", speed=rng.choice(["F", "T"]))
        if job.chance(0.3):
            job.parts[part]["resistance"] = f"{0.12 / rating * 1e3:.3g} mΩ"
    elif kind == "switch":
        ends = (".1a", ".1b")
        part = job.part(f"switch-{name}", kind="switch", poles=1, rated=["6 A at 30 V DC"])
    elif kind == "diode":
        ends = (".anode", ".cathode") if POTENTIALS[name] > 0 else (".cathode", ".anode")
        drop = rng.choice(["0.45 V ± 0.1 V", "0.7 V", "0.35 V ± 10 %"])
        part = job.part(f"diode-{name}", kind="diode", drop=drop, rated="5 A")
    else:
        ways = rng.randint(3, 5)
        ends = (".1", ".2")
        part = job.part(f"strip-{name}", kind="strip", ways=ways)
    job.wire(tap, part + ends[0], thick=True)
    job.taps[name] = [f"{part}.{n}" for n in range(2, ways + 1)] if kind == "strip" else [part + ends[1]]


def across(job, name, current):
    """Puts a preload, a clamp or a capacitor across a rail, or nothing."""
    volts, com = POTENTIALS[name], job.rng.choice(job.taps["com"])
    tap = job.rng.choice(job.taps[name])
    if job.chance(0.12):
        part = job.part(f"preload-{name}", kind="resistor", value=f"{abs(volts) / (0.2 * current + 0.01):.3g} Ω")
        ends = (".1", ".2")
    elif job.chance(0.12):
        factor = 1.2 if not job.chance(0.1) else 0.97
        part = job.part(f"clamp-{name}", kind="clamp", breakdown=f"{abs(volts) * factor:.3g} V ± 5 %", power="5 W")
        ends = (".cathode", ".anode") if volts > 0 else (".anode", ".cathode")
    elif job.chance(0.08):
        part = job.part(f"reservoir-{name}", kind="capacitor", value="2200 µF", rated="35 V")
        ends = (".plus", ".minus") if volts > 0 else (".minus", ".plus")
    else:
        return
    job.wire(tap, part + ends[0])
    job.wire(com, part + ends[1])


def to_loads(job):
    """Wires every way of every socket, by plugs or soldered, here and there leaving out one of several ways."""
    for load, entry in job.loads.items():
        for socket, ways in entry["sockets"].items():
            ends = f"{load}.{socket}"
            if job.chance(0.85):
                ends = f"plug-{load}" + ("" if socket == "j" else f"-{socket}")
                job.plugs[ends] = {"mates": f"{load}.{socket}", "ways": len(ways), "keyed": job.chance(0.5),
                                   "contact": "5 A"}
            for number, use in enumerate(ways, 1):
                spare = use in ways[:number - 1] and job.chance(0.1)
                if use == "-" or spare:
                    continue
                tap = "chassis" if use == "chassis" else job.rng.choice(job.taps[use])
                job.wire(tap, f"{ends}.{number}")


def from_the_wall(job, supply):
    """Wires inlet, fuse and switch up to the supply, and earth."""
    inlet = job.part("inlet", kind="inlet", terminals=["line", "neutral", "earth"])
    fuse = job.part("mains-fuse", kind="fuse", rating=job.rng.choice(["1.25 A", "2 A", "3.15 A"]), speed="T")
    poles = job.rng.randint(1, 2)
    switch = job.part("mains-switch", kind="switch", poles=poles, rated=["4 A at 250 V AC"])
    lines = [(f"{inlet}.line", f"{fuse}.1"), (f"{fuse}.2", f"{switch}.1a"), (f"{switch}.1b", f"{supply}.line")]
    lines += ([(f"{inlet}.neutral", f"{switch}.2a"), (f"{switch}.2b", f"{supply}.neutral")] if poles == 2
              else [(f"{inlet}.neutral", f"{supply}.neutral")])
    if job.chance(0.15):
        fan = job.part("fan", kind="fan", rated=f"{MAINS[job.country]} V", power="14 W")
        lines += [(f"{supply}.line", f"{fan}.1"), (f"{fan}.2", f"{supply}.neutral")]
    earth = [(f"{inlet}.earth", "chassis"), ("chassis", f"{supply}.earth")]
    for start, stop in lines + earth:
        job.wires.append({"from": start, "to": stop, "colour": "GNYE" if (start, stop) in earth else "BN",
                          "size": "0.75 mm²", "length": f"{job.rng.randrange(40, 300, 10)} mm"})
    if job.chance(0.5):
        job.wire("chassis", job.rng.choice(job.taps["com"]), thick=True)


def attempt(seed, number, retry):
    """Makes up one job, of any size."""
    job = Job(seed, f"{number}" if retry == 0 else f"{number}.{retry}")
    if job.chance(0.2):
        job.weak = job.rng.choice(["output", "output", "power", "regulator", "converter", "headroom", "strap"])
    total = needs(job)
    raw, made, carried = plan(job, total)
    supply = (raw_supply if raw else mains_supply)(job, made, carried)
    if len(job.taps["com"]) and job.chance(0.3):
        part = job.part("strip-com", kind="strip", ways=5)
        job.wire(job.taps["com"][0], f"{part}.1", thick=True)
        job.taps["com"] = [job.taps["com"][0]] + [f"{part}.{n}" for n in range(2, 6)]
    for name, (way, feeder) in made.items():
        if way == "regulator":
            regulator(job, name, job.taps[feeder][0], total[name])
        elif way == "converter":
            converter(job, name, feeder, total[name])
    for name in made:
        in_series(job, name, carried[name])
        across(job, name, carried[name])
    to_loads(job)
    from_the_wall(job, supply)
    return job


def main(count, seed, folder):
    """Writes the files."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        tries = (attempt(seed, number, retry) for retry in range(1000))
        job = next(j for j in tries if SMALLEST <= j.nodes() <= LARGEST)
        (folder / f"job-{number:04}.toml").write_text(job.write(), encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit("usage: random_jobs.py N SEED DIR")
    main(int(sys.argv[1]), sys.argv[2], sys.argv[3])
