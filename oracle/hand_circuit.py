"""Puts the circuits of a job together from what its file says: for by_hand.py."""

import math

from hand_solver import INNER
from hand_values import ALPHA, conductor, fuse_ohms, si, value

KNEE = 0.5  # of its rail: a load draws as it should above this
SPREADS = {"measured": (1, 1), "data sheet": (0.9, 1.1), "nameplate": (0.6, 1), "typical": (0.6, 1.4),
           "guess": (0.5, 2)}  # design page 3
ASSUMED = {"contact": "10 mΩ", "joint": "1 mΩ", "inside-rise": "10 K", "power-factor": "65 %",
           "mains-loop": "0.5 Ω"}
NOMINAL_MAINS = {"IE": 230, "DE": 230, "GB": 230, "FR": 230, "NL": 230, "SE": 230, "AU": 230, "US": 120,
                 "CA": 120, "JP": 100}


class Device:
    """Is one two-ended thing with a current of its own, in one of several modes."""

    def __init__(self, name, kind, a, b, mode, **data):
        self.name, self.kind, self.a, self.b, self.mode = name, kind, a, b, mode
        self.__dict__.update(data)


class Circuit:
    """Collects nodes, resistors and devices of one side of a job."""

    def __init__(self):
        self.nodes, self.resistors, self.devices, self.datum = {}, [], [], None

    def node(self, name):
        """Gives the number of a node, new if it is not known."""
        return self.nodes.setdefault(name, len(self.nodes))

    def resistor(self, name, a, b, ohms):
        """Adds a resistance between two named nodes."""
        self.resistors.append((name, self.node(a), self.node(b), ohms))

    def device(self, name, kind, a, b, mode, **data):
        """Adds a device between two named nodes."""
        self.devices.append(Device(name, kind, self.node(a), self.node(b), mode, **data))


class Job:
    """Holds a job file's tables, and answers what several figures need."""

    def __init__(self, tables):
        self.t = tables
        self.parts, self.loads, self.plugs = (tables.get(k, {}) for k in ("part", "load", "plug"))
        self.wires = tables.get("wiring", {}).get("wires", [])
        ambient = tables["job"].get("ambient", "15..30 °C")
        self.air = value(ambient)[2] + self.assumed("inside-rise")
        self.alias = self.one_inside()
        self.on_mains = self.mains_terminals()
        self.earth = {f"{name}.earth" for name in self.parts}  # protective earth belongs to the mains circuit

    def assumed(self, key):
        """Gives one of the assumptions, as the file replaces it or else our default."""
        return si(self.t.get("assume", {}).get(key, ASSUMED[key]))

    def one_inside(self):
        """Gives for each terminal that is one with others inside its part the first of them."""
        alias = {}
        for name, part in self.parts.items():
            ends = [str(n) for n in range(1, part["ways"] + 1)] if part["kind"] == "strip" else []
            ends = part.get("joined", ends)
            alias.update({f"{name}.{end}": f"{name}.{ends[0]}" for end in ends})
        for load, keys in self.loads.items():
            for socket, ways in keys.get("sockets", {}).items():
                for number, use in enumerate(ways, 1):
                    plane = {"-": f"{socket}.{number}"}.get(use, use)
                    alias[f"{load}.{socket}.{number}"] = "chassis" if use == "chassis" else f"{load}.{plane}"
        return alias

    def at(self, terminal):
        """Gives the name of the node at which a terminal lies."""
        return self.alias.get(terminal, terminal)

    def at_wall(self, name):
        """Gives the inlet's terminal for one of the wall outlet's: they are one."""
        inlet = next((n for n, part in self.parts.items() if part["kind"] == "inlet"), "")
        return name.replace("outlet.", f"{inlet}.") if name.startswith("outlet.") else name

    def wire_ohms(self, wire):
        """Gives the resistance of a wire, warm, with its two joints."""
        warm = 1 + ALPHA * (self.air - 20)
        return conductor(wire["size"])[0] * warm * si(wire["length"]) + 2 * self.assumed("joint")

    def mains_terminals(self):
        """Gives the nodes that lie on the mains: reached from line and neutral through wires, fuses and switches."""
        links = [(self.at(w["from"]), self.at(w["to"])) for w in self.wires]
        start = []
        for name, part in self.parts.items():
            kind = part["kind"]
            links += [(f"{name}.1", f"{name}.2")] if kind == "fuse" else []
            links += [(f"{name}.{p}a", f"{name}.{p}b") for p in range(1, part.get("poles", 0) + 1)]
            start += [f"{name}.line", f"{name}.neutral"] if kind in ("inlet", "mains supply", "raw supply") else []
        reached = set(start)
        while more := {b for link in links for a, b in (link, link[::-1]) if a in reached} - reached:
            reached |= more
        return reached

    def spread(self, load, rail):
        """Gives a draw's running figure: (nominal, low, high, unit)."""
        draw = self.loads[load]["draws"][rail]
        implied = SPREADS[draw.get("basis", "data sheet")]
        unit = value(draw["run"])[3]
        return value(draw["run"], (1, 1) if unit == "Ω" else implied)

    def asked(self, load, rail, loading, end):
        """Gives what a load draws: (figure, unit), as it runs, starts or idles, nominal or at an end of its spread."""
        draw, run = self.loads[load]["draws"][rail], self.spread(load, rail)
        volts = abs(si(self.t["rail"][rail]["nominal"]))
        implied = SPREADS[draw.get("basis", "data sheet")]
        unit, key = run[3], {"start": "start", "light": "idle"}.get(loading)
        pick = {"nominal": 0, "low": 1, "high": 2}[end]
        if loading == "light" and "idle" not in draw:  # as little as it may: the lower end of its running
            pick = 1
        if key in draw:  # an ampere figure: the same law at the rail's nominal voltage
            current = value(draw[key], implied)[pick]
            return {"A": current, "W": current * volts, "Ω": volts / current if current else math.inf}[unit], unit
        if unit == "Ω":
            pick = {0: 0, 1: 2, 2: 1}[pick]
        return run[pick], unit


def low_voltage(job, loading="run", end="nominal", limits=True, connected=None):
    """Puts the low-voltage circuit of a job together, with everything or some loads connected."""
    c = Circuit()
    absent = set() if connected is None else set(job.loads) - set(connected)
    for number, wire in enumerate(job.wires, 1):
        ends = job.at(wire["from"]), job.at(wire["to"])
        loose = absent & {wire[end].split(".")[0] for end in ("from", "to")}
        if not (job.on_mains | job.earth) & set(ends) and not loose:
            c.resistor(f"wire {number}", *ends, job.wire_ohms(wire))
    wired = {wire[end] for wire in job.wires for end in ("from", "to")}
    for plug, keys in job.plugs.items():
        mated = "mates" in keys and keys["mates"].split(".")[0] not in absent
        for way in range(1, keys["ways"] + 1) if mated else ():
            if f"{plug}.{way}" in wired:
                c.resistor(f"contact {plug}.{way}", f"{plug}.{way}", job.at(f"{keys['mates']}.{way}"), job.assumed("contact"))
    for name, part in job.parts.items():
        low_part(job, c, name, part, limits)
    for load, keys in job.loads.items():
        for rail in keys.get("draws", {}) if load not in absent else ():
            volts = si(job.t["rail"][rail]["nominal"])
            ends = (f"{load}.{rail}", f"{load}.com")
            amount, unit = job.asked(load, rail, loading, end)
            c.device(f"{load} draws {rail}", "draw", *(ends if volts > 0 else ends[::-1]), "normal",
                     unit=unit, amount=amount, knee=KNEE * abs(volts))
    return c


def low_part(job, c, name, part, limits):
    """Adds one part to the low-voltage circuit."""
    at = lambda end: job.at(f"{name}.{end}")
    kind = part["kind"]
    if kind in ("mains supply", "raw supply", "converter"):
        supply_outputs(job, c, name, part, limits)
    elif kind == "regulator":
        c.device(name, "regulator", at("in"), at("out"), "regulating", ref=c.node(at("ref")), volts=si(part["volts"]),
                 headroom=si(part.get("headroom", "2 V")),
                 limit=si(part["limit"]) if "limit" in part and limits else math.inf)
    elif kind == "diode":
        c.device(name, "diode", at("anode"), at("cathode"), "on", volts=si(part["drop"]))
    elif kind == "clamp":
        c.device(name, "clamp", at("cathode"), at("anode"), "off", volts=si(part["breakdown"]))
    elif kind == "resistor":
        c.resistor(name, at("1"), at("2"), si(part["value"]))
    elif kind == "interlock":
        closed = dict(ohms=si(part.get("resistance", "50 mΩ")), threshold=si(part["closes-at"]))
        c.device(name, "interlock", at("in"), at("out"), "closed", plus=c.node(at("sense.plus")),
                 minus=c.node(at("sense.minus")), **closed)
    elif kind == "fuse" and at("1") not in job.on_mains and {at("1"), at("2")} & c.nodes.keys():
        c.resistor(name, at("1"), at("2"), fuse_ohms(part))
    elif kind == "switch":
        for pole in range(1, part["poles"] + 1):
            ends = at(f"{pole}a"), at(f"{pole}b")
            if ends[0] not in job.on_mains and set(ends) & c.nodes.keys():
                c.resistor(f"{name} {pole}", at(f"{pole}a"), at(f"{pole}b"), job.assumed("contact"))


def supply_outputs(job, c, name, part, limits):
    """Adds the outputs of a supply or converter, and a converter's input."""
    owner = None
    if part["kind"] == "converter":
        low, high = value(part["input"]["voltage"])[1:3] if "voltage" in part.get("input", {}) else (0, math.inf)
        owner = Device(f"{name}", "input", c.node(job.at(f"{name}.in.plus")), c.node(job.at(f"{name}.in.minus")), "on",
                       low=low, high=high, idle=si(part.get("idle", "0 W")), outputs=[],
                       efficiency=si(part.get("efficiency", "80 %")), enable=None, tripped=False)
        if "enable" in part:
            owner.enable = (c.node(f"{name}.enable"), part["enable"])
    group = dict(watts=si(part["power"]) if "power" in part and limits else math.inf, members=[],
                 trips=part.get("overload") in ("hiccup", "latch"))
    for out, keys in part["output"].items():
        if part["kind"] == "raw supply":
            volts, ohms, limit = *raw_output(job, part, keys), math.inf
        else:
            volts, ohms = si(keys["volts"]), INNER
            limit = next((si(keys[k]) for k in ("trips-at", "peak", "limit") if k in keys), math.inf)
        ends = job.at(f"{name}.{out}.plus"), job.at(f"{name}.{out}.minus")
        device = Device(f"{name}.{out}", "outlet", c.node(ends[0]), c.node(ends[1]), "holding", volts=volts, ohms=ohms,
                        limit=limit if limits else math.inf, group=group, owner=owner)
        if c.datum is None:
            c.datum = device.b
        group["members"].append(device)
        c.devices.append(device)
    if owner:
        owner.outputs = group["members"]
        c.devices.append(owner)


def raw_output(job, part, keys, mains=None):
    """Gives volts without load and inner resistance of a rectified winding (formulas: head of raw.rs)."""
    mains = mains or nominal_mains(job)
    hertz = {"US": 60, "CA": 60}.get(job.t["job"].get("country"), 50)
    amps, diodes = si(keys["current"]), 2 if keys["rectifier"] == "bridge" else 1
    pulses = 1 if keys["rectifier"] == "half-wave" else 2
    peak = si(keys["winding"]) * math.sqrt(2) * mains / si(part["primary"])
    unloaded = peak * (1 + si(keys["regulation"])) - 0.7 * diodes
    rated = peak - 1.0 * diodes - amps / (2 * pulses * hertz * si(keys["reservoir"]))
    return unloaded, (unloaded - rated) / amps


def nominal_mains(job):
    """Gives the mains voltage the job will live on: of its country (a measured range has its middle)."""
    return NOMINAL_MAINS[job.t["job"]["country"]]


def mains_side(job, watts):
    """Puts the mains circuit together; `watts` says what each supply's outputs deliver."""
    c = Circuit()
    for number, wire in enumerate(job.wires, 1):
        ends = job.at(wire["from"]), job.at(wire["to"])
        if (job.on_mains | job.earth) & set(ends):
            c.resistor(f"wire {number}", *ends, job.wire_ohms(wire))
    for name, part in job.parts.items():
        kind, at = part["kind"], lambda end: job.at(f"{name}.{end}")
        if kind == "inlet":
            c.device("outlet", "outlet", at("line"), at("neutral"), "holding", volts=nominal_mains(job),
                     ohms=job.assumed("mains-loop"), limit=math.inf, owner=None,
                     group=dict(watts=math.inf, members=[], trips=False))
            c.datum = c.node(at("neutral"))
        elif kind == "fuse" and at("1") in job.on_mains:
            c.resistor(name, at("1"), at("2"), fuse_ohms(part))
        elif kind == "switch":
            for pole in range(1, part["poles"] + 1):
                if at(f"{pole}a") in job.on_mains:
                    c.resistor(f"{name} {pole}", at(f"{pole}a"), at(f"{pole}b"), job.assumed("contact"))
        elif kind in ("fan", "lamp") and ("power" in part or "series" in part):
            ohms = si(part["series"]) if "series" in part else si(part["rated"]) ** 2 / si(part["power"])
            c.resistor(name, at("1"), at("2"), ohms)
        elif kind in ("mains supply", "raw supply"):
            share = si(part["power-factor"]) if "power-factor" in part else job.assumed("power-factor")
            c.device(name, "draw", at("line"), at("neutral"), "normal", unit="W", knee=0.5 * nominal_mains(job),
                     amount=supply_input(part, watts[name]) / share)
    return c


def supply_input(part, delivered, worst=False):
    """Gives the watts a supply takes from the mains, at its nominal efficiency or at the lower end."""
    if part["kind"] == "raw supply":
        return delivered / 0.85
    idle, efficiency = si(part.get("idle", "0 W")), 0.8
    if "efficiency" in part:
        efficiency = value(part["efficiency"], SPREADS[part.get("basis", "data sheet")])[1 if worst else 0]
    return delivered / efficiency + idle
