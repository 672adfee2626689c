"""Solves networks a second time, from their data alone, and compares the answers.

    python operating_point.py FILE...        (`-` reads standard input)

Each FILE holds what `voltwright network JOB --json` prints. Nothing here is taken from the solver
under test: its solution is set aside, the operating point is found from nothing by another method
(Newton on the pieces of the laws with residuals in extended precision; where that fails, a
fictitious-time run), and only then are the two compared.

Bounds of the comparison (see `Judge`):
* a node voltage: 1e-9 of itself. Below 1e-9 of the largest |V| a node counts as zero and the bound is
  1e-9 of the largest |V|. A node held to the datum only by the leak has no nine digits in double
  arithmetic: one rounding error of a current, divided by 1e-9 S, is a voltage. So the rounding error
  of double arithmetic (NOISE roundings of each current and of each sum of currents, carried through
  the inverse of the matrix) is added to each bound; for a node tied to the datum it is about 1e-14 V.
* the voltage across each element, so that a floating part is still judged within itself: 1e-9 of the
  largest |V|, plus the same rounding error (in which a common shift of both ends cancels).
* a current: 1e-9 of the largest current; a power: 1e-9 of the largest power; plus rounding error.
* a state: equal, unless the law stands on the very corner between both states (rounding error).
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are small: threads only cost time

import json
import multiprocessing
import sys
from contextlib import nullcontext

import numpy as np
from scipy.linalg import lapack

LONG = np.longdouble
EPS = float(np.finfo(float).eps)
RELATIVE = 1e-9
NOISE = 32.0
LAWS = ("resistor", "source", "diode", "clamp", "load", "regulator", "converter")


class Unsolvable(Exception):
    """Says that this oracle, not the solver under test, found no solution."""


class Table:
    """Holds the columns of all elements of one law as arrays, by field name."""

    def __init__(self, rows, nodes, numbers, place):
        self.count = len(rows)
        for key in nodes:
            setattr(self, key, np.array([place[row[key]] for row in rows], dtype=int))
        for key in numbers:  # an absent limit is no limit
            values = [np.inf if row.get(key) is None else row[key] for row in rows]
            setattr(self, key, np.array(values, dtype=LONG))


def sign(values):
    """Gives the polarity of nominal voltages; zero volts count as positive."""
    return np.where(values < 0, LONG(-1), LONG(1))


class Mode:
    """Says which converters are taken as on and which outlets (sources, outputs) have tripped."""

    def __init__(self, net, on=None, tripped=None):
        self.on = np.ones(net.converter.count, bool) if on is None else on
        self.tripped = np.zeros(net.outlet.count, bool) if tripped is None else tripped
        # A converter is tripped when all of its outputs are; it then draws nothing.
        self.dead = np.array([len(k) > 0 and bool(self.tripped[k].all()) for k in net.outputs], bool)
        self.running = self.on & ~self.dead
        owned = net.owner >= 0
        self.live = ~self.tripped
        self.live[owned] &= self.running[net.owner[owned]]

    def key(self):
        """Gives a value by which two modes can be told apart."""
        return self.on.tobytes(), self.tripped.tobytes()


class Network:
    """Holds one network as branches (a current each, a function of node voltages) and evaluates them.

    The datum is moved to the last place, so that the unknowns are the first n - 1 nodes.
    """

    def __init__(self, data):
        self.data, self.elements = data, data["elements"]
        self.n = len(data["nodes"])
        others = [i for i in range(self.n) if i != data["datum"]]
        self.order = np.array(others + [data["datum"]])
        place = {node: i for i, node in enumerate(self.order)}
        rows = {law: [] for law in LAWS}
        self.where = []
        for element in self.elements:
            self.where.append(len(rows[element["law"]]))
            rows[element["law"]].append(element)
        self.groups = data.get("groups") or []
        self._outlets(rows, place)
        self.resistor = Table(rows["resistor"], ("a", "b"), ("ohms",), place)
        self.diode = Table(rows["diode"], ("anode", "cathode"), ("forward", "ohms"), place)
        self.clamp = Table(rows["clamp"], ("cathode", "anode"), ("breakdown", "forward", "ohms"), place)
        self.load = Table(rows["load"], ("plus", "minus"), ("amount", "knee"), place)
        draws = [row["draws"] for row in rows["load"]]
        self.is_current, self.is_power, self.is_ohms = (
            np.array([d == kind for d in draws], bool) for kind in ("current", "power", "resistance"))
        self.regulator = Table(rows["regulator"], ("input", "reference", "output"),
                               ("volts", "ohms", "headroom", "limit"), place)
        self.converter = Table(rows["converter"], ("in_plus", "in_minus"),
                               ("low", "high", "efficiency", "idle"), place)
        self.enables = [row.get("enable") for row in rows["converter"]]
        self.place = place
        self._branches(LONG(data["leak"]))

    def _outlets(self, rows, place):
        """Puts sources and converter outputs into one table, since they obey one law."""
        outlets, owner, group = list(rows["source"]), [-1] * len(rows["source"]), []
        self.outputs = []
        for c, row in enumerate(rows["converter"]):
            self.outputs.append(np.arange(len(outlets), len(outlets) + len(row["outputs"])))
            outlets += row["outputs"]
            owner += [c] * len(row["outputs"])
        for outlet, c in zip(outlets, owner):
            g = outlet.get("group") if c < 0 else rows["converter"][c].get("group")
            group.append(-1 if g is None else g)
        self.outlet = Table(outlets, ("plus", "minus"), ("volts", "ohms", "limit"), place)
        self.owner, self.group = np.array(owner, int), np.array(group, int)
        self.trips = np.array([o["overload"] == "trip" for o in outlets], bool)
        self.sign = sign(self.outlet.volts)
        self.cap = np.where(self.trips, LONG(np.inf), self.outlet.limit)

    def _branches(self, leak):
        """Lists from which node to which each branch goes, and on which voltages it depends."""
        r, o, d, z, l, g, c = (self.resistor, self.outlet, self.diode, self.clamp, self.load,
                               self.regulator, self.converter)
        free, ground = np.arange(self.n - 1), np.full(self.n - 1, self.n - 1)
        self.wire_y = np.concatenate([1 / r.ohms, np.full(self.n - 1, leak)])
        ends = {"wire": (np.concatenate([r.a, free]), np.concatenate([r.b, ground])),
                "outlet": (o.minus, o.plus), "diode": (d.anode, d.cathode),
                "clamp": (z.cathode, z.anode), "load": (l.plus, l.minus),
                "regulator": (g.input, g.output), "converter": (c.in_plus, c.in_minus)}
        self.start = np.concatenate([e[0] for e in ends.values()])
        self.stop = np.concatenate([e[1] for e in ends.values()])
        self.span, first = {}, 0
        for name, (a, _) in ends.items():
            self.span[name] = slice(first, first + len(a))
            first += len(a)
        # Beside the voltage along itself, a regulator's current depends on output to reference,
        # and a converter's input on its outputs.
        owned = np.flatnonzero(self.owner >= 0)
        begin = np.arange(first)
        self.stamp_branch = np.concatenate([begin, begin[self.span["regulator"]],
                                            begin[self.span["converter"]][self.owner[owned]]])
        self.stamp_p = np.concatenate([self.start, g.output, o.plus[owned]])
        self.stamp_q = np.concatenate([self.stop, g.reference, o.minus[owned]])
        f, t = self.start[self.stamp_branch], self.stop[self.stamp_branch]
        p, q, n = self.stamp_p, self.stamp_q, self.n
        self.flat = np.concatenate([f * n + p, t * n + q, f * n + q, t * n + p])
        self.owned = owned

    def outlet_law(self, V, mode):
        """Gives terminal voltage u, wanted current x and delivered current j of every outlet."""
        o = self.outlet
        u = self.sign * (V[o.plus] - V[o.minus])
        x = (abs(o.volts) - u) / o.ohms
        return u, x, np.where(mode.live, np.clip(x, 0, self.cap), 0)

    def flow(self, V, mode, share=LONG(1), nominal=False):
        """Gives the current of each branch, the slope for each stamp, and the pieces in force.

        `share` scales what draws constant power. `nominal` takes the pieces one hopes for
        (everything holding, loads left out): a linear network whose solution is a start guess.
        """
        r, o, d, z, l, g, c = (self.resistor, self.outlet, self.diode, self.clamp, self.load,
                               self.regulator, self.converter)
        s = self.sign
        u, x, j = self.outlet_law(V, mode)
        rises, capped = x > 0, x >= self.cap
        if nominal:
            j, rises, capped = np.where(mode.live, x, 0), True, False
        dj = np.where(mode.live & rises & ~np.asarray(capped), -1 / o.ohms, 0)

        xd = (V[d.anode] - V[d.cathode] - d.forward) / d.ohms
        conducts = (xd > 0) | nominal

        vz = V[z.cathode] - V[z.anode]
        up, down = (vz - z.breakdown) / z.ohms, (-vz - z.forward) / z.ohms
        if nominal:
            up, down = up * 0 - 1, down * 0 - 1

        vl = V[l.plus] - V[l.minus]
        fed = vl >= l.knee
        vs = np.where(fed, vl, l.knee)
        slope_load = np.where(self.is_current, np.where(fed, 0, l.amount / l.knee), 0)
        flow_load = np.where(self.is_current, np.where(fed, l.amount, l.amount * vl / l.knee), 0)
        flow_load += share * np.where(self.is_power, np.where(fed, l.amount, l.amount * vl / l.knee) / vs, 0)
        slope_load += share * np.where(self.is_power, l.amount * np.where(fed, -1, 1) / vs**2, 0)
        if nominal:
            flow_load, slope_load = flow_load * 0, slope_load * 0
        ohms = np.where(self.is_ohms, l.amount, 1)
        flow_load = np.where(self.is_ohms, vl / ohms, flow_load)
        slope_load = np.where(self.is_ohms, 1 / ohms, slope_load)

        sg, jg, piece = self.regulator_law(V)
        if nominal:
            piece = piece * 0
            jg = (abs(g.volts) - sg * (V[g.output] - V[g.reference])) / g.ohms

        vin = V[c.in_plus] - V[c.in_minus]
        vc = np.maximum(vin, c.low)
        watts = self.converter_watts(u * j)
        draw = np.where(mode.running, 0 if nominal else share, LONG(0))
        owner = self.owner[self.owned]
        du = (s * (j + u * dj))[self.owned] / (c.efficiency[owner] * vc[owner])
        current = np.concatenate([
            (V[self.start[self.span["wire"]]] - V[self.stop[self.span["wire"]]]) * self.wire_y, s * j,
            np.where(conducts, xd, 0), np.maximum(0, up) - np.maximum(0, down), flow_load, sg * jg,
            draw * watts / vc])
        slope = np.concatenate([
            # An outlet's branch runs from minus to plus, against the voltage in its law: hence -dj.
            self.wire_y, -dj, np.where(conducts, 1 / d.ohms, 0),
            np.where((up > 0) | (down > 0), 1 / z.ohms, 0), slope_load,
            np.where(piece == 1, 1 / g.ohms, 0), np.where(vin > c.low, -draw * watts / vc**2, 0),
            np.where(piece == 0, -1 / g.ohms, 0), draw[owner] * du])
        return current, slope, fed, vin >= c.low

    def regulator_law(self, V):
        """Gives polarity, current and piece (0 regulating, 1 drop-out, 2 limiting, 3 off) of regulators."""
        g = self.regulator
        s = sign(g.volts)
        ways = np.stack([(abs(g.volts) - s * (V[g.output] - V[g.reference])) / g.ohms,
                         (s * (V[g.input] - V[g.output]) - g.headroom) / g.ohms, g.limit])
        least = ways.min(axis=0)
        return s, np.maximum(0, least), np.where(least > 0, ways.argmin(axis=0), 3)

    def converter_watts(self, delivered):
        """Gives the input power of each converter from the power delivered by every outlet."""
        total = np.array([delivered[k].sum() for k in self.outputs], dtype=LONG)
        return self.converter.idle + total / self.converter.efficiency

    def surplus(self, current):
        """Gives the current that leaves each node; all zero is Kirchhoff's law."""
        out = np.zeros(self.n, LONG)
        np.add.at(out, self.start, current)
        np.subtract.at(out, self.stop, current)
        return out[:-1]

    def matrix(self, slope, long=False):
        """Gives the derivative of `surplus` by the free node voltages."""
        weights = np.concatenate([slope, slope, -slope, -slope])
        if long:
            full = np.zeros(self.n * self.n, LONG)
            np.add.at(full, self.flat, weights)
        else:
            full = np.bincount(self.flat, weights.astype(float), self.n * self.n)
        return full.reshape(self.n, self.n)[:-1, :-1]


def eliminate(matrix, right):
    """Solves a linear system in extended precision, for the rare matrix that double cannot hold."""
    a = np.hstack([matrix, right[:, None]])
    for k in range(len(a)):
        pivot = k + int(np.argmax(abs(a[k:, k])))
        a[[k, pivot]] = a[[pivot, k]]
        below = np.flatnonzero(a[k + 1:, k]) + k + 1
        a[below, k:] -= np.outer(a[below, k] / a[k, k], a[k, k:])
    x = np.zeros(len(a), LONG)
    for k in range(len(a) - 1, -1, -1):
        x[k] = (a[k, -1] - a[k, k + 1:-1] @ x[k + 1:]) / a[k, k]
    return x


def step(net, V, mode, share, long=False, brake=None, **kind):
    """Takes one Newton step: the change of the free voltages, the sign of the determinant, the fed loads.

    `brake` is (conductance per node, voltages to hold on to): the step of a fictitious-time run.
    """
    current, slope, fed, ranged = net.flow(V, mode, share, **kind)
    right, matrix = -net.surplus(current), net.matrix(slope, long)
    if brake is not None:
        right -= brake[0] * (V[:-1] - brake[1][:-1])
        matrix[np.diag_indices(net.n - 1)] += brake[0].astype(float)
    if long:
        return eliminate(matrix, right), 1, (fed, ranged)
    lu, pivots, info = lapack.dgetrf(matrix)
    if info > 0:
        lu[np.diag_indices(net.n - 1)] += 1e-300
    change, _ = lapack.dgetrs(lu, pivots, np.clip(right, -1e300, 1e300).astype(float))
    swaps = np.count_nonzero(pivots != np.arange(net.n - 1))
    negative = np.count_nonzero(np.diag(lu) < 0)
    return change, (1 if (swaps + negative) % 2 == 0 else -1), (fed, ranged)


def at_rest(net, V, mode, share):
    """Says whether the surplus of each node is no more than rounding error of extended precision."""
    current, slope, *_ = net.flow(V, mode, share)
    error = np.zeros(net.n, LONG)
    along = abs(current)
    np.add.at(along, net.stamp_branch, abs(slope) * (abs(V[net.stamp_p]) + abs(V[net.stamp_q])))
    np.add.at(error, net.start, along)
    np.add.at(error, net.stop, along)
    # An idle floating node inherits the rounding error of the largest currents.
    bound = 64 * error[:-1] + 8 * error.max()
    return bool((abs(net.surplus(current)) <= np.finfo(LONG).eps * bound).all())


def newton(net, V, mode, share=LONG(1), limit=40):
    """Follows Newton's steps to rest: (voltages, is it a stable point, fed loads), or None."""
    V, before, long, stalls = V.copy(), np.inf, False, 0
    for count in range(limit):
        change, turn, fed = step(net, V, mode, share, long)
        if not np.all(np.isfinite(change)):
            return None
        V[:-1] += change
        size, largest = abs(change), abs(V).max() + 1e-30
        now = float(size.max() / largest) if net.n > 1 else 0.0
        fine = float((size / (abs(V[:-1]) + 1e-6 * largest)).max()) if net.n > 1 else 0.0
        # Rounding ends the descent of nodes that float on the leak: a lasting standstill is rest.
        stalls = stalls + 1 if now < 1e-10 and now > before / 4 else 0
        if fine < 1e-14 or stalls >= 2 and at_rest(net, V, mode, share):
            return V, turn > 0, fed
        long = long or (now < 1e-3 and now > before / 2 and count > 12)
        before = now
    return None


def run_down(net, V, mode, share=LONG(1)):
    """Lets the network settle in fictitious time, by one of two choices of capacitors at the nodes."""
    return run(net, V, mode, share, False, 300) or run(net, V, mode, share, True, 600)


def run(net, V, mode, share, equal, patience):
    """Follows implicit Euler steps of growing length: capacitors by conductance, or equal ones."""
    ohmic = np.concatenate([net.wire_y, 1 / net.outlet.ohms, 1 / net.diode.ohms, 1 / net.clamp.ohms,
                            np.full(net.load.count, LONG(1e-3)), 1 / net.regulator.ohms,
                            np.full(net.converter.count, LONG(1e-3))])
    weight = np.zeros(net.n, LONG)
    np.add.at(weight, net.start, ohmic)
    np.add.at(weight, net.stop, ohmic)
    weight, pace, calm = np.ones(net.n - 1, LONG) if equal else weight[:-1], LONG(1e-2), 0
    for _ in range(patience):
        W, size = V.copy(), abs(V[:-1]) + 1.0
        good = False
        for _ in range(5):
            change, _, fed = step(net, W, mode, share, brake=(weight / pace, V))
            if not np.all(np.isfinite(change)):
                break
            W[:-1] += change
            if (abs(change) < 1e-9 * size).all():
                good = True
                break
        if not good:
            pace, calm = pace / 4, 0
            continue
        moved = float((abs(W - V)[:-1] / size).max())
        V, pace, calm = W, pace * (3 if moved > 1e-2 else 10), (calm + 1 if moved < 1e-2 else 0)
        if calm and calm % 4 == 0 or pace > 1e22:
            rest = newton(net, V, mode, share)
            if rest is not None and (abs(rest[0] - V) < 1e-2 * (abs(V) + 1)).all():
                return rest
            if pace > 1e22:
                return rest
    return newton(net, V, mode, share)


def settle(net, mode):
    """Finds the node voltages for fixed on/off and trips, constant power on the high-voltage branch.

    First without constant-power draws (a network with one solution), then with them, coming from
    above. A fall below a knee or an unstable point is not believed before a run in fictitious time,
    which comes from above slowly, has found no higher rest.
    """
    V = np.zeros(net.n, LONG)
    V[:-1] += step(net, V, mode, LONG(0), nominal=True)[0]
    if not np.all(np.isfinite(V)) or abs(V).max() > 1e7:
        V[:] = 0
    greedy = bool(net.is_power.any()) or bool(mode.running.any())
    share = LONG(0 if greedy else 1)
    rest = newton(net, V, mode, share) or run_down(net, V, mode, share)
    if rest is None:
        raise Unsolvable("no voltages found without constant-power draws")
    if not greedy:
        return rest[0]
    idle = rest
    full = newton(net, idle[0], mode)
    watched = (net.is_power, mode.running)
    if full is None or not full[1] or any(
            (w & a & ~b).any() for w, a, b in zip(watched, idle[2], full[2])):
        full = run_down(net, idle[0], mode) or full
    if full is None:
        raise Unsolvable("no voltages found with constant-power draws")
    return full[0]


def verdict(net, V, mode):
    """Says for each converter whether its conditions hold, and why not ('' if they do)."""
    reasons = []
    c = net.converter
    for k in range(c.count):
        vin = V[c.in_plus[k]] - V[c.in_minus[k]]
        enable = net.enables[k]
        reason = "below range" if vin < c.low[k] else "above range" if vin > c.high[k] else ""
        if enable and not reason:
            v = V[net.place[enable["plus"]]] - V[net.place[enable["minus"]]]
            above = enable["on_when"] == "above"
            satisfied = v >= enable["threshold"] if above else v <= enable["threshold"]
            reason = "" if satisfied else "disabled"
        reasons.append(reason)
    return reasons


def newly_tripped(net, V, mode):
    """Gives the outlets that trip now, each with its whole group."""
    u, x, j = net.outlet_law(V, mode)
    over = net.trips & mode.live & (x > net.outlet.limit)
    groups = set(net.group[over]) - {-1}
    for k, group in enumerate(net.groups):
        watts = (u * j)[net.group == k].sum()
        if group["trips"] and group["power_limit"] is not None and watts > group["power_limit"]:
            groups.add(k)
    return (over | np.isin(net.group, sorted(groups))) & ~mode.tripped


def find(net, one_at_a_time):
    """Goes through the rounds of the specification: (voltages, mode), or None if a mode comes back."""
    mode, seen = Mode(net), set()
    while mode.key() not in seen:
        seen.add(mode.key())
        V = settle(net, mode)
        trips = newly_tripped(net, V, mode)
        fulfilled = np.array([not reason for reason in verdict(net, V, mode)], bool)
        flips = np.flatnonzero((fulfilled != mode.on) & ~mode.dead)
        if not trips.any() and not len(flips):
            return V, mode
        on = mode.on.copy()
        for k in flips[:1] if one_at_a_time else flips:
            on[k] = fulfilled[k]
        mode = Mode(net, on, mode.tripped | trips)
    return None


def operating_point(net):
    """Finds the operating point, all changes at once, else one converter at a time; None: hunting."""
    return find(net, False) or find(net, True)


def either(value, corner, below, above, slack):
    """Names the state on the side of a corner where the value is; both names when it is on it."""
    return {below, above} if abs(value - corner) <= slack else {above if value > corner else below}


class Answer:
    """Holds what the oracle says about one network: allowed states, currents and powers."""

    def __init__(self, net, V, mode):
        self.net, self.V, self.mode = net, V, mode
        self.current, self.slope, *_ = net.flow(V, mode)
        self.slack = 2 * NOISE * EPS * abs(V).max()  # volts: how far from a corner rounding reaches
        self.u, self.x, self.j = net.outlet_law(V, mode)
        self.elements, self.power = [], {"in": LONG(0), "out": LONG(0)}
        across = V[net.start] - V[net.stop]
        taken = across * self.current
        span = net.span
        sources = slice(span["outlet"].start, span["outlet"].start + int((net.owner < 0).sum()))
        self.power["in"] = -taken[sources].sum()
        self.power["out"] = taken[span["load"]].sum()
        # Everything else: what a converter's outputs give back is taken (negatively) too.
        self.power["heat"] = taken.sum() - self.power["out"] + self.power["in"]
        reasons = verdict(net, V, mode)
        for element, k in zip(net.elements, net.where):
            self.elements.append(self._element(element["law"], k, reasons))

    def branch(self, name, k):
        """Gives the current of the k-th branch of a law."""
        return self.current[self.net.span[name].start + k]

    def _outlet(self, k):
        net, o = self.net, self.net.outlet
        if self.mode.tripped[k]:
            states = {"tripped"}
        elif not self.mode.live[k]:
            states = {"idle"}
        else:
            drop, r = self.x[k] * o.ohms[k], o.ohms[k]
            states = either(drop, 0, "idle", "holding", self.slack)
            if net.cap[k] * r < drop + self.slack and "holding" in states:
                states = {"limiting"} | (states if drop - net.cap[k] * r <= self.slack else set())
        return states, self.branch("outlet", k)

    def _element(self, law, k, reasons):
        """Gives (allowed states, main current, outputs) of the k-th element of a law."""
        net, V, slack = self.net, self.V, self.slack
        if law == "resistor":
            return {"conducting"}, self.branch("wire", k), []
        if law == "source":
            return *self._outlet(k), []
        if law == "diode":
            d = net.diode
            states = either(V[d.anode[k]] - V[d.cathode[k]], d.forward[k], "off", "on", slack)
        elif law == "clamp":
            z = net.clamp
            v = V[z.cathode[k]] - V[z.anode[k]]
            states = either(v, z.breakdown[k], "off", "clamping", slack)
            if -v > z.forward[k] - slack:
                states = either(-v, z.forward[k], "off", "forward", slack)
        elif law == "load":
            l = net.load
            states = {"normal"} if net.is_ohms[k] else either(
                V[l.plus[k]] - V[l.minus[k]], l.knee[k], "starved", "normal", slack)
        elif law == "regulator":
            states = self._regulator(k)
        else:
            on = self.mode.running[k]
            state = "tripped" if self.mode.dead[k] else "on" if on else reasons[k]
            return {state}, self.branch("converter", k), [self._outlet(i) for i in net.outputs[k]]
        return states, self.branch(law, k), []

    def _regulator(self, k):
        g, V, slack = self.net.regulator, self.V, self.slack
        s = sign(g.volts)[k]
        i, o, r = V[g.input[k]], V[g.output[k]], V[g.reference[k]]
        ways = {"regulating": abs(g.volts[k]) - s * (o - r), "drop-out": s * (i - o) - g.headroom[k],
                "limiting": g.limit[k] * g.ohms[k]}
        least = min(ways.values())
        states = {name for name, drop in ways.items() if drop <= least + slack}
        return {"off"} if least < -slack else states | {"off"} if least <= slack else states


class Judge:
    """Compares a given solution with the oracle's answer, and keeps the worst relative differences."""

    def __init__(self, answer, given):
        self.answer, self.given, self.net = answer, given, answer.net
        self.complaints, self.worst = [], {"V": 0.0, "I": 0.0, "P": 0.0}
        self.volts()
        self.elements()
        self.powers()

    def say(self, text):
        self.complaints.append(text)

    def check(self, kind, what, mine, theirs, scale, floor):
        """Compares two numbers; the floor is the part of the difference that rounding may cause."""
        difference = abs(float(LONG(theirs) - mine)) if theirs is not None else np.inf
        excess = max(0.0, difference - float(floor)) / max(float(scale), 1e-300)
        self.worst[kind] = max(self.worst[kind], excess)
        if float(floor) <= RELATIVE * float(scale):  # nine digits can be had: report the plain difference
            self.worst[kind] = max(self.worst[kind], difference / max(float(scale), 1e-300))
        if not excess <= RELATIVE:
            self.say(f"{what}: given {theirs!r}, found {float(mine)!r} (off by {difference:.2e})")

    def rounding(self):
        """Gives the rounding error of double arithmetic: of each node voltage, each branch voltage, each branch current."""
        net, a = self.net, self.answer
        size = abs(a.V).astype(float)
        slope, current = abs(a.slope).astype(float), abs(a.current).astype(float)
        branch = EPS * current
        np.add.at(branch, net.stamp_branch, EPS * slope * (size[net.stamp_p] + size[net.stamp_q]))
        sums = np.zeros(net.n)
        np.add.at(sums, net.start, EPS * current)
        np.add.at(sums, net.stop, EPS * current)
        inverse = np.zeros((net.n, net.n))
        inverse[:-1, :-1] = np.linalg.inv(net.matrix(a.slope))
        rows = np.vstack([inverse, inverse[net.start] - inverse[net.stop]])
        volts = abs(rows) @ sums + abs(rows[:, net.start] - rows[:, net.stop]) @ branch
        return NOISE * volts[:net.n], NOISE * volts[net.n:], NOISE * branch

    def volts(self):
        net, a = self.net, self.answer
        given = self.given["volts"]
        self.node_floor, self.across_floor, self.branch_floor = self.rounding()
        if len(given) != net.n or any(v is None for v in given):
            self.say(f"{len(given)} voltages for {net.n} nodes, or some of them missing")
            return
        theirs = np.array(given, dtype=LONG)[net.order]
        largest = abs(a.V).max()
        for k in range(net.n):
            zero = abs(a.V[k]) < RELATIVE * largest
            name = net.data["nodes"][net.order[k]]
            self.check("V", f"node {name!r} (volts)", a.V[k], theirs[k], largest if zero else abs(a.V[k]),
                       self.node_floor[k] + 1e-15)
        off = abs((theirs - a.V)[net.start] - (theirs - a.V)[net.stop]) - self.across_floor
        excess = float(off.max() / max(largest, LONG(1e-6))) if len(off) else 0.0
        if not excess <= RELATIVE:
            k = int(off.argmax())
            names = [net.data["nodes"][net.order[i]] for i in (net.start[k], net.stop[k])]
            self.say(f"voltage between {names[0]!r} and {names[1]!r}: off by {float(off[k]):.2e} V")

    def elements(self):
        net, a = self.net, self.answer
        given = self.given["elements"]
        if len(given) != len(a.elements):
            self.say(f"{len(given)} element results for {len(a.elements)} elements")
            return
        names = {"resistor": "wire", "source": "outlet"}
        self.largest = max(abs(a.current).max(initial=0), LONG(1e-30))
        for element, k, mine, theirs in zip(net.elements, net.where, a.elements, given):
            span = net.span[names.get(element["law"], element["law"])]
            self.one(element["name"], mine[:2], theirs, span.start + k)
            outputs = theirs.get("outputs") or []
            if len(outputs) != len(mine[2]):
                self.say(f"{element['name']}: {len(outputs)} outputs, expected {len(mine[2])}")
            for i, (my, their) in enumerate(zip(mine[2], outputs)):
                at = net.span["outlet"].start + net.outputs[k][i]
                self.one(f"{element['name']} output {i}", my, their, at)

    def one(self, name, mine, theirs, branch):
        if theirs["state"] not in mine[0]:
            self.say(f"{name}: given state {theirs['state']!r}, found {' or '.join(sorted(mine[0]))!r}")
        self.check("I", f"{name} (amperes)", mine[1], theirs["current"], self.largest,
                   self.branch_floor[branch] + 1e-24)

    def powers(self):
        net, a, power = self.net, self.answer, self.given["power"]
        scale = max(abs(p) for p in a.power.values())
        across = abs(a.V[net.start] - a.V[net.stop])
        floor = (across * self.branch_floor + abs(a.current) * self.across_floor).sum() + 1e-20
        for key, mine in a.power.items():
            self.check("P", f"power {key} (watts)", mine, power.get(key), scale, floor)


def examine(data):
    """Judges one network of a file: (complaints, worst differences, remark)."""
    net = Network(data)
    try:
        found = operating_point(net)
    except Unsolvable as reason:
        return [f"the oracle itself failed: {reason}"], {}, ""
    unsolved, solution = data.get("unsolved"), data.get("solution")
    hunts = bool(unsolved) and unsolved.get("kind") == "hunting"
    if found is None:
        return ([] if hunts else ["found hunting, which was not reported"]), {}, "hunting"
    if unsolved or solution is None:
        kind = (unsolved or {}).get("kind", "no solution")
        return [f"given as unsolved ({kind}), but an operating point was found"], {}, ""
    judge = Judge(Answer(net, *found), solution)
    return judge.complaints, judge.worst, ""


def judge_file(path):
    """Judges all networks of one file: the lines to print, (passed, failed), the worst differences."""
    with sys.stdin if path == "-" else open(path, encoding="utf-8") as file:
        job = json.load(file)
    if job.get("format") != 1 or not isinstance(job.get("networks"), list):
        return [f"FAIL {path}: expected format 1 and a list of networks"], (0, 1), {}
    if not job["networks"]:
        return [f"ok   {path}: a job without wiring has no network"], (0, 0), {}
    lines, counts, worst = [], [0, 0], {}
    for data in job["networks"]:
        complaints, differences, remark = examine(data)
        for kind, value in differences.items():
            worst[kind] = max(worst.get(kind, 0.0), value)
        counts[bool(complaints)] += 1
        label = f"{job['job']}: {data.get('stage')}, {data.get('side')}, {data.get('loading')}"
        numbers = ", ".join(f"{kind} {value:.1e}" for kind, value in differences.items())
        lines.append(f"{'FAIL' if complaints else 'ok  '} {label}: {len(data['nodes'])} nodes; {numbers or remark}")
        lines += [f"       {text}" for text in complaints[:8]]
        if len(complaints) > 8:
            lines.append(f"       and {len(complaints) - 8} more")
    return lines, counts, worst


def main(paths):
    """Judges all files, on all processors if there are several; gives the number of failed networks."""
    total, worst = [0, 0], {}
    with multiprocessing.Pool(min(len(paths), os.cpu_count() or 1)) if len(paths) > 1 else nullcontext() as pool:
        for lines, counts, differences in (pool.imap(judge_file, paths) if pool else map(judge_file, paths)):
            print("\n".join(lines), flush=True)
            total = [a + b for a, b in zip(total, counts)]
            for kind, value in differences.items():
                worst[kind] = max(worst.get(kind, 0.0), value)
    print("worst relative difference (beyond rounding, where rounding alone exceeds 1e-9): "
          + (", ".join(f"{kind} {value:.2e}" for kind, value in worst.items()) or "none compared"))
    print(f"{total[0]} passed, {total[1]} failed")
    return total[1]


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit("usage: operating_point.py FILE...   (`-` reads standard input)")
    sys.exit(1 if main(sys.argv[1:]) else 0)
