"""Solves many edited networks at a time: each is rebuilt whole, only the arithmetic runs side by side.

A `Batch` is a list of rows; a row is one network with one edit. Every row has its own matrix and its
own right-hand side, built from its own elements; there is no use of one row's factors for another.
The laws and the rounds are those of docs/network.md. Residuals are in extended precision, as nodes
that float on the leak alone need it. A row that does not come to rest by plain Newton steps, or stands
on a point that is in doubt, is handed to `operating_point.py` as data, one at a time.
"""

import numpy as np
import operating_point as plain
from mistake_edits import apply

LONG = np.longdouble
FINE, HUNTING, UNSETTLED = 0, 1, 2
PLAIN, PATIENCE = 6, 80  # Newton's steps in full; all steps
EULER, TRIES = 400, 5  # steps in fictitious time; Newton's steps in each


class Plain(plain.Network):
    """An output that is pulled backward counts as 0 W in its converter's input power."""

    def converter_watts(self, delivered):
        return super().converter_watts(np.maximum(delivered, 0))


class Circuit:
    """Holds what the corners of a stage have in common, and their values as arrays [corner, element]."""

    def __init__(self, networks):
        self.networks, first = networks, networks[0]
        self.n, datum = len(first["nodes"]), first["datum"]
        self.order = [k for k in range(self.n) if k != datum] + [datum]
        self.place = np.argsort(self.order)
        self.leak, self.groups = LONG(first["leak"]), [g["trips"] for g in first.get("groups") or []]
        self.power = np.array([[np.inf if g["power_limit"] is None else g["power_limit"]
                                for g in network.get("groups") or []] for network in networks])
        self.count = len(first["elements"])
        for network in networks[1:]:
            assert self.shape(network) == self.shape(first), "the corners of a stage differ in more than values"
        rows = {law: [] for law in plain.LAWS}
        for e, element in enumerate(first["elements"]):
            rows[element["law"]].append(e)
        self.rows = {law: np.array(found, int) for law, found in rows.items()}
        self.index = {e: k for found in rows.values() for k, e in enumerate(found)}
        self.outlets = [(e, -1) for e in rows["source"]]
        self.outlets += [(e, k) for e in rows["converter"] for k in range(len(first["elements"][e]["outputs"]))]
        self.owner = np.array([-1 if k < 0 else self.index[e] for e, k in self.outlets], int)
        group = [first["elements"][e].get("group") for e, _ in self.outlets]
        self.group = np.array([-1 if g is None else g for g in group], int)
        self.trips = np.array([self.outlet(first, o)["overload"] == "trip" for o in self.outlets], bool)
        self.enables = [first["elements"][e].get("enable") for e in rows["converter"]]
        self.draws = [first["elements"][e]["draws"] for e in rows["load"]]
        self.is_power = np.array([d == "power" for d in self.draws], bool)
        self.is_ohms = np.array([d == "resistance" for d in self.draws], bool)
        self.is_current = ~(self.is_power | self.is_ohms)
        self.greedy = bool(self.is_power.any()) or len(rows["converter"]) > 0
        self.pull()

    @staticmethod
    def shape(network):
        """Gives all of a network but the numbers that may differ from corner to corner."""
        values = {"ohms", "volts", "limit", "amount", "knee", "forward", "breakdown", "headroom", "low",
                  "high", "efficiency", "idle", "name"}
        kept = [{k: v for k, v in e.items() if k not in values | {"outputs"}} for e in network["elements"]]
        groups = [group["trips"] for group in network.get("groups") or []]
        outputs = [[(o["plus"], o["minus"], o["overload"]) for o in e.get("outputs", [])] for e in network["elements"]]
        return len(network["nodes"]), network["datum"], network["leak"], groups, kept, outputs

    @staticmethod
    def outlet(network, outlet):
        """Gives a source or a converter's output as data."""
        e, k = outlet
        return network["elements"][e] if k < 0 else network["elements"][e]["outputs"][k]

    def pull(self):
        """Reads nodes and values out of the data."""
        first = self.networks[0]["elements"]

        def nodes(law, key):
            return np.array([self.place[first[e][key]] for e in self.rows[law]], int)

        def values(law, key):
            return np.array([[np.inf if n["elements"][e].get(key) is None else n["elements"][e][key]
                              for e in self.rows[law]] for n in self.networks], LONG)

        self.nodes = {law: [nodes(law, key) for key in keys] for law, keys in (
            ("resistor", "ab"), ("diode", ("anode", "cathode")), ("clamp", ("cathode", "anode")),
            ("load", ("plus", "minus")), ("regulator", ("input", "output", "reference")),
            ("converter", ("in_plus", "in_minus")))}
        self.nodes["outlet"] = [np.array([self.place[self.outlet(self.networks[0], o)[key]] for o in self.outlets], int)
                                for key in ("minus", "plus")]
        self.values = {law: {key: values(law, key) for key in keys} for law, keys in (
            ("resistor", ("ohms",)), ("diode", ("forward", "ohms")), ("clamp", ("breakdown", "forward", "ohms")),
            ("load", ("amount", "knee")), ("regulator", ("volts", "ohms", "headroom", "limit")),
            ("converter", ("low", "high", "efficiency", "idle")))}
        self.values["outlet"] = {key: np.array([[np.inf if self.outlet(n, o)[key] is None else self.outlet(n, o)[key]
                                                 for o in self.outlets] for n in self.networks], LONG)
                                 for key in ("volts", "ohms", "limit")}


class Batch:
    """Holds rows (edit, corner) as arrays [row, element], and evaluates their laws.

    `gone` [row, element] may change while followers and fuses act; then `refresh` rebuilds. A batch that
    is `held` holds at its limits and does not trip.
    """

    LAWS = ("resistor", "leak", "outlet", "diode", "clamp", "load", "regulator", "converter")

    def __init__(self, circuit, rows):
        self.c, self.rows = circuit, rows
        c, size = circuit, len(rows)
        self.held = False
        extra = max((len(edit.added) for edit, _ in rows), default=0)
        corner = np.array([k for _, k in rows], int)
        self.value = {law: {key: v[corner] for key, v in table.items()} for law, table in c.values.items()}
        self.power = c.power[corner]
        self.ends = {law: [np.tile(n, (size, 1)) for n in c.nodes[law]] for law in ("resistor", "diode", "clamp")}
        wide = np.full((size, extra), np.inf, LONG)
        self.value["resistor"]["ohms"] = np.hstack([self.value["resistor"]["ohms"], wide])
        self.ends["resistor"] = [np.hstack([n, np.zeros((size, extra), int)]) for n in self.ends["resistor"]]
        self.gone, self.lost = np.zeros((size, c.count), bool), np.zeros((size, len(c.outlets)), bool)
        outlet = {o: k for k, o in enumerate(c.outlets)}
        for r, (edit, _) in enumerate(rows):
            if any(edit[:7]):
                self.make(r, edit, outlet)
        self.refresh()

    def make(self, r, edit, outlet):
        """Makes the edit of one row."""
        c = self.c
        self.gone[r, list(edit.gone)] = True
        for e, k in edit.lost:
            self.lost[r, outlet[e, k]] = True
        resistors = len(c.rows["resistor"])
        placed = [(c.index[e], a, b) for e, a, b in edit.moved]
        placed += [(resistors + i, a, b) for i, (a, b, _) in enumerate(edit.added)]
        for k, a, b in placed:
            for end, node in zip(self.ends["resistor"], (a, b)):
                end[r, k] = c.place[node]
        for i, (_, _, ohms) in enumerate(edit.added):
            self.value["resistor"]["ohms"][r, resistors + i] = ohms
        for e, k, volts in edit.volts:
            table = "regulator" if c.networks[0]["elements"][e]["law"] == "regulator" else "outlet"
            self.value[table]["volts"][r, outlet[e, k] if table == "outlet" else c.index[e]] = volts
        for e in edit.swapped:
            one, two = self.ends[c.networks[0]["elements"][e]["law"]]
            one[r, c.index[e]], two[r, c.index[e]] = two[r, c.index[e]], one[r, c.index[e]]

    def take(self, chosen):
        """Gives a batch of some of the rows."""
        part = object.__new__(Batch)
        part.c, part.rows, part.held = self.c, [self.rows[k] for k in chosen], self.held
        part.value = {law: {key: v[chosen] for key, v in table.items()} for law, table in self.value.items()}
        part.ends = {law: [n[chosen] for n in ends] for law, ends in self.ends.items()}
        part.power = self.power[chosen]
        part.gone, part.lost = self.gone[chosen], self.lost[chosen]
        part.refresh()
        return part

    def refresh(self):
        """Lists the branches of each row: from which node to which, and the stamps of the matrix."""
        c, size, n = self.c, len(self.rows), self.c.n
        here = {law: ~self.gone[:, rows] for law, rows in c.rows.items()}
        extra = self.value["resistor"]["ohms"].shape[1] - here["resistor"].shape[1]
        here["resistor"] = np.hstack([here["resistor"], np.ones((size, extra), bool)])
        source = np.array([e for e, _ in c.outlets], int)
        here["outlet"] = ~self.gone[:, source] & ~self.lost
        self.here = here

        def wide(nodes):
            return np.broadcast_to(nodes, (size, len(nodes)))

        ends = {law: [wide(k) for k in nodes[:2]] for law, nodes in c.nodes.items()} | self.ends
        ends["leak"] = [wide(np.arange(n - 1)), wide(np.full(n - 1, n - 1))]
        self.start, self.stop = (np.hstack([ends[law][k] for law in self.LAWS]) for k in (0, 1))
        self.span, first = {}, 0
        for law in self.LAWS:
            self.span[law] = slice(first, first + ends[law][0].shape[1])
            first = self.span[law].stop
        self.owned = np.flatnonzero(c.owner >= 0)
        behind = np.concatenate([np.arange(first), np.arange(*self.span["regulator"].indices(first)),
                                 self.span["converter"].start + c.owner[self.owned]])
        g, o = c.nodes["regulator"], c.nodes["outlet"]
        p = np.hstack([self.start, wide(g[1]), wide(o[1][self.owned])])
        q = np.hstack([self.stop, wide(g[2]), wide(o[0][self.owned])])
        f, t = self.start[:, behind], self.stop[:, behind]
        base = np.arange(size)[:, None] * n
        self.flat = np.hstack([(base + x) * n + y for x, y in ((f, p), (t, q), (f, q), (t, p))]).ravel()
        self.out, self.into = (base + self.start).ravel(), (base + self.stop).ravel()
        self.r = np.arange(size)[:, None]

    def across(self, V, law):
        """Gives the voltage along the branches of a law."""
        return V[self.r, self.start[:, self.span[law]]] - V[self.r, self.stop[:, self.span[law]]]

    def outlets(self, V, mode):
        """Gives polarity, terminal voltage, wanted and delivered current of sources and outputs."""
        o = self.value["outlet"]
        sign = np.where(o["volts"] < 0, LONG(-1), LONG(1))
        u = -sign * self.across(V, "outlet")
        x = (abs(o["volts"]) - u) / o["ohms"]
        cap = o["limit"] if self.held else np.where(self.c.trips, LONG(np.inf), o["limit"])
        return sign, u, x, np.where(self.live(mode), np.clip(x, 0, cap), 0), cap

    def live(self, mode):
        """Says which outlets may deliver."""
        on, tripped = mode
        live = self.here["outlet"] & ~tripped
        if len(self.owned):
            live[:, self.owned] &= self.running(mode)[:, self.c.owner[self.owned]]
        return live

    def running(self, mode):
        """Says which converters are there, on, and not tripped with all of their outputs."""
        on, tripped = mode
        left = np.zeros(on.shape, int)
        some = np.zeros(on.shape, int)
        for k in self.owned:
            some[:, self.c.owner[k]] += self.here["outlet"][:, k]
            left[:, self.c.owner[k]] += self.here["outlet"][:, k] & ~tripped[:, k]
        return on & self.here["converter"] & ~((some > 0) & (left == 0))

    def flow(self, V, mode, share, nominal=False):
        """Gives the current of each branch, the slope for each stamp, fed loads and fed converters."""
        c, value, here = self.c, self.value, self.here
        sign, u, x, j, cap = self.outlets(V, mode)
        live = self.live(mode)
        free = live & ((x > 0) & (x < cap) | nominal)
        if nominal:
            j = np.where(live, x, 0)
        dj = np.where(free, -1 / value["outlet"]["ohms"], 0)

        wire_y = np.where(here["resistor"], 1 / value["resistor"]["ohms"], 0)
        d, z = value["diode"], value["clamp"]
        xd = (self.across(V, "diode") - d["forward"]) / d["ohms"]
        conducts = ((xd > 0) | nominal) & here["diode"]
        vz = self.across(V, "clamp")
        up, down = (vz - z["breakdown"]) / z["ohms"], (-vz - z["forward"]) / z["ohms"]
        clamps = ((up > 0) | (down > 0)) & here["clamp"] & (not nominal)

        amount, knee = value["load"]["amount"], value["load"]["knee"]
        vl = self.across(V, "load")
        fed = vl >= knee
        vs = np.where(fed, vl, knee)
        starved = amount * vl / knee
        flow_load = np.where(c.is_ohms, vl / amount, np.where(fed, amount, starved)
                             * np.where(c.is_power, share / vs, 1) * (not nominal))
        slope_load = np.where(c.is_ohms, 1 / amount, np.where(
            c.is_power, share * amount * np.where(fed, -1, 1) / vs**2,
            np.where(fed, 0, amount / knee)) * (not nominal))
        flow_load, slope_load = (np.where(here["load"], k, 0) for k in (flow_load, slope_load))

        sg, jg, piece = self.regulators(V)
        if nominal:
            piece, jg = piece * 0, self.ways[0]
        jg = np.where(here["regulator"], jg, 0)
        yg = np.where(here["regulator"], 1 / value["regulator"]["ohms"], 0)

        vin, low = self.across(V, "converter"), value["converter"]["low"]
        k = np.maximum(low, LONG(1e-3))
        watts = self.watts(u * j)
        draw = np.where(self.running(mode), LONG(0) if nominal else share, LONG(0))
        vc = np.maximum(vin, k)
        fed_in = vin >= k
        # Below k the draw is P·v/k².
        flow_in = draw * watts * np.where(fed_in, 1 / vc, vin / k**2)
        slope_in = draw * watts * np.where(fed_in, -1 / vc**2, 1 / k**2)
        owner = c.owner[self.owned]
        per_watt = np.where(fed_in, 1 / vc, vin / k**2) / value["converter"]["efficiency"]
        # dP per volt of an outlet; an output that is pulled backward counts as 0 W
        pushing = (u * j >= 0)[:, self.owned]
        du = np.where(pushing, (sign * (j + u * dj))[:, self.owned], 0) * (draw * per_watt)[:, owner]
        leak = np.broadcast_to(c.leak, (len(V), c.n - 1))
        current = np.hstack([self.across(V, "resistor") * wire_y, self.across(V, "leak") * leak, sign * j,
                             np.where(conducts, xd, 0), np.where(clamps, np.maximum(0, up) - np.maximum(0, down), 0),
                             flow_load, sg * jg, flow_in])
        slope = np.hstack([wire_y, leak, -dj, np.where(conducts, 1 / d["ohms"], 0),
                           np.where(clamps, 1 / z["ohms"], 0), slope_load, np.where(piece == 1, yg, 0),
                           slope_in, np.where(piece == 0, -yg, 0), du])
        return current, slope, fed, fed_in

    def regulators(self, V):
        """Gives polarity, current and piece (0 regulating, 1 drop-out, 2 limiting, 3 off)."""
        g = self.value["regulator"]
        inp, out, ref = (V[:, k] for k in self.c.nodes["regulator"])
        s = np.where(g["volts"] < 0, LONG(-1), LONG(1))
        self.ways = np.stack([(abs(g["volts"]) - s * (out - ref)) / g["ohms"],
                              (s * (inp - out) - g["headroom"]) / g["ohms"], g["limit"]])
        least = self.ways.min(axis=0)
        return s, np.maximum(0, least), np.where(least > 0, self.ways.argmin(axis=0), 3)

    def watts(self, delivered):
        """Gives the input power of each converter."""
        total = np.zeros(self.here["converter"].shape, LONG)
        for k in self.owned:
            total[:, self.c.owner[k]] += np.maximum(delivered[:, k], 0)
        return (self.value["converter"]["idle"] + total) / self.value["converter"]["efficiency"]

    def step(self, V, mode, share, nominal=False, brake=None):
        """Gives one Newton step, the matrices, what is fed, and the size of the surplus.

        `brake` is (conductance per node, voltages to hold on to): a step in fictitious time.
        """
        n, size = self.c.n, len(V)
        current, slope, fed, fed_in = self.flow(V, mode, share, nominal)
        surplus = np.zeros(size * n, LONG)
        np.add.at(surplus, self.out, current.ravel())
        np.subtract.at(surplus, self.into, current.ravel())
        right = -surplus.reshape(size, n)[:, :-1].astype(float)
        if brake is not None:
            right -= brake[0] * (V - brake[1])[:, :-1].astype(float)
        weight = slope.astype(float)
        weight = np.hstack([weight, weight, -weight, -weight]).ravel()
        matrix = np.bincount(self.flat, weight, size * n * n).reshape(size, n, n)[:, :-1, :-1]
        if brake is not None:
            k = np.arange(n - 1)
            matrix[:, k, k] += brake[0]
        try:
            change = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
        except np.linalg.LinAlgError:  # one singular row would spoil all
            change = np.full(right.shape, np.nan)
            for k in range(size):
                try:
                    change[k] = np.linalg.solve(matrix[k], right[k])
                except np.linalg.LinAlgError:
                    pass
        return change, matrix, (fed & self.c.is_power, fed_in & self.running(mode)), np.linalg.norm(right, axis=1)


def newton(batch, V, mode, share):
    """Follows Newton's steps: (voltages, which came to rest, last matrix's determinant sign, fed).

    After PLAIN steps a step is halved as long as it does not make the surplus smaller.
    """
    size = len(V)
    V, good, turn = V.copy(), np.zeros(size, bool), np.ones(size)
    fed = [np.zeros((size, len(batch.c.rows[law])), bool) for law in ("load", "converter")]
    todo, part, walk = np.arange(size), batch, Walk(V)
    for count in range(PATIENCE):
        change, matrix, now_fed, surplus = part.step(V[todo], (mode[0][todo], mode[1][todo]), share)
        back = walk.worse(todo, surplus) if count >= PLAIN else np.zeros(len(todo), bool)
        walk.note(V, todo[~back], change[~back], surplus[~back])
        V[todo, :-1] = walk.base[todo, :-1] + walk.length[todo][:, None] * walk.change[todo]
        rest = walk.rests(V, todo, change) & ~back
        for k in (0, 1):
            fed[k][todo] = now_fed[k]
        if rest.any():
            good[todo[rest]] = True
            if batch.c.greedy:
                turn[todo[rest]] = np.linalg.slogdet(matrix[rest])[0]
        left = ~rest & np.isfinite(surplus) & np.isfinite(change).all(axis=1)
        if not left.any():
            break
        if not left.all():
            todo, part = todo[left], part.take(np.flatnonzero(left))
    return V, good, turn, fed


class Walk:
    """Holds for each row of a batch from where and in which direction Newton's last step goes."""

    def __init__(self, V):
        self.base, self.change = V.copy(), np.zeros(V[:, :-1].shape)
        self.surplus, self.length = np.full(len(V), np.inf), np.ones(len(V))
        self.before, self.stalls = np.full(len(V), np.inf), np.zeros(len(V), int)

    def worse(self, todo, surplus):
        """Halves the last step of the rows that it has not brought nearer, and says which they are."""
        moved = abs(self.change[todo]).max(axis=1, initial=0) > 1e-6 * (1e-3 + abs(self.base[todo]).max(axis=1))
        back = (surplus > self.surplus[todo]) & moved.astype(bool) & (self.length[todo] > 1e-6)
        self.length[todo[back]] /= 2
        return back

    def note(self, V, rows, change, surplus):
        """Takes the next step from here for these rows."""
        self.base[rows], self.change[rows] = V[rows], change
        self.surplus[rows], self.length[rows] = surplus, 1

    def rests(self, V, todo, change):
        """Says which rows have come to rest; rounding ends the descent of nodes that float on the leak."""
        now = abs(change).max(axis=1, initial=0) / (abs(V[todo]).max(axis=1).astype(float) + 1e-3)
        still = (now < 1e-11) & (now > self.before[todo] / 4)
        self.stalls[todo] = np.where(still, self.stalls[todo] + 1, 0)
        self.before[todo] = now
        return (now < 1e-14) | (self.stalls[todo] >= 2)


def descend(batch, V, mode, share):
    """Follows Newton's steps; where they do not come to rest, the network first settles in fictitious time."""
    W, good, _, fed = newton(batch, V, mode, share)
    bad = np.flatnonzero(~good)
    if len(bad):
        part, some = batch.take(bad), (mode[0][bad], mode[1][bad])
        U = run_down(part, V[bad], some, share)
        W[bad], good[bad], _, eats = newton(part, U, some, share)
        for k in (0, 1):
            fed[k][bad] = eats[k]
    return W, good, fed


def run_down(batch, V, mode, share):
    """Lets rows settle in fictitious time: implicit Euler steps of growing length, each row at its own pace.

    The capacitors at the nodes are as large as what may conduct there. A step that Newton does not
    finish in TRIES is taken again, shorter.
    """
    size, n = V.shape
    value = batch.value
    ohmic = np.hstack([np.broadcast_to(y.astype(float), (size, y.shape[1])) for y in (
        np.where(batch.here["resistor"], 1 / value["resistor"]["ohms"], 0), np.zeros((size, n - 1)),
        1 / value["outlet"]["ohms"], 1 / value["diode"]["ohms"], 1 / value["clamp"]["ohms"],
        np.full(value["load"]["amount"].shape, 1e-3), 1 / value["regulator"]["ohms"],
        np.full(value["converter"]["low"].shape, 1e-3))])
    weight = (np.bincount(batch.out, ohmic.ravel(), size * n) + np.bincount(batch.into, ohmic.ravel(), size * n))
    weight = weight.reshape(size, n)[:, :-1] + 1e-3
    V, W, pace, tries = V.copy(), V.copy(), np.full(size, 1e-2), np.zeros(size, int)
    todo, part = np.arange(size), batch
    for _ in range(EULER):
        brake = weight[todo] / pace[todo][:, None], V[todo]
        change, *_ = part.step(W[todo], (mode[0][todo], mode[1][todo]), share, brake=brake)
        change = np.where(np.isfinite(change), change, 1e3)
        W[todo, :-1] += change
        scale = abs(V[todo, :-1]).astype(float) + 1
        done = (abs(change) < 1e-9 * scale).all(axis=1)
        tries[todo] += 1
        failed = ~done & (tries[todo] >= TRIES)
        moved = (abs(W[todo] - V[todo])[:, :-1] / scale).max(axis=1)
        pace[todo] *= np.where(done, np.where(moved > 1e-2, 3, 10), np.where(failed, 0.25, 1))
        V[todo[done]], W[todo[failed]] = W[todo[done]], V[todo[failed]]
        tries[todo[done | failed]] = 0
        left = pace[todo] < 1e22
        if not left.any():
            break
        if not left.all():
            todo, part = todo[left], part.take(np.flatnonzero(left))
    return V


def settle(batch, mode):
    """Finds node voltages with on/off and trips fixed: (voltages, which were found beyond doubt)."""
    V = np.zeros((len(batch.rows), batch.c.n), LONG)
    V[:, :-1] += batch.step(V, mode, LONG(0), nominal=True)[0]
    V[~np.isfinite(V).all(axis=1) | (abs(V).max(axis=1) > 1e7)] = 0
    V, good, idle = descend(batch, V, mode, LONG(0 if batch.c.greedy else 1))
    if batch.c.greedy:
        idle_V = V
        V, full, turn, fed = newton(batch, V, mode, LONG(1))
        fell = [(a & ~b).any(axis=1) for a, b in zip(idle, fed)]
        doubt = np.flatnonzero(good & ~(full & (turn > 0) & ~fell[0] & ~fell[1]))
        good &= full
        if len(doubt):  # is there a higher rest, that is reached from above slowly?
            part, some = batch.take(doubt), (mode[0][doubt], mode[1][doubt])
            U, rest, *_ = newton(part, run_down(part, idle_V[doubt], some, LONG(1)), some, LONG(1))
            V[doubt[rest]] = U[rest]
            good[doubt[rest]] = True
    return V, good


def fulfilled(batch, V):
    """Says which converters have their conditions."""
    c, value = batch.c, batch.value["converter"]
    vin = batch.across(V, "converter")
    fine = (vin >= value["low"]) & (vin <= value["high"])
    for k, enable in enumerate(c.enables):
        if enable:
            v = V[:, c.place[enable["plus"]]] - V[:, c.place[enable["minus"]]]
            fine[:, k] &= v >= enable["threshold"] if enable["on_when"] == "above" else v <= enable["threshold"]
    return fine


def trips(batch, V, mode):
    """Says which outlets trip now, each with its whole group."""
    c = batch.c
    if batch.held:
        return np.zeros(mode[1].shape, bool)
    _, u, x, j, _ = batch.outlets(V, mode)
    over = c.trips & batch.live(mode) & (x > batch.value["outlet"]["limit"])
    trip = over.copy()
    for k, falls in enumerate(c.groups):
        mine = c.group == k
        fall = over[:, mine].any(axis=1)
        if falls:
            fall |= (u * j)[:, mine].sum(axis=1) > batch.power[:, k]
        trip |= fall[:, None] & mine
    return trip & ~mode[1]


def operating_points(batch):
    """Finds the operating point of each row: (voltages, mode, FINE or HUNTING or UNSETTLED, how many in doubt)."""
    size, c = len(batch.rows), batch.c
    V = np.zeros((size, c.n), LONG)
    on, tripped = np.ones((size, len(c.rows["converter"])), bool), np.zeros((size, len(c.outlets)), bool)
    state, todo, part, doubtful = np.zeros(size, int), np.arange(size), batch, []
    seen = [set() for _ in range(size)]
    while len(todo):
        mode = on[todo], tripped[todo]
        W, good = settle(part, mode)
        V[todo] = W
        trip = trips(part, W, mode)
        flips = (fulfilled(part, W) != mode[0]) & part.here["converter"]
        flips &= ~(mode[0] & ~part.running(mode))  # what has tripped draws nothing, on or off
        again = trip.any(axis=1) | flips.any(axis=1)
        keep = []
        for k, row in enumerate(todo):
            key = on[row].tobytes(), tripped[row].tobytes()
            if not good[k] or again[k] and key in seen[row]:
                doubtful.append(row)
            elif again[k]:
                seen[row].add(key)
                on[row] ^= flips[k]
                tripped[row] |= trip[k]
                keep.append(k)
        if len(keep) < len(todo):
            todo, part = todo[keep], part.take(keep)
    for row in doubtful:
        state[row] = alone(batch, row, V, on, tripped)
    return V, (on, tripped), state, len(doubtful)


def alone(batch, row, V, on, tripped):
    """Solves one row by `operating_point.py`, from its data, and puts the answer in its place."""
    c, (edit, corner) = batch.c, batch.rows[row]
    data, old = apply(c.networks[corner], edit, np.flatnonzero(batch.gone[row]))
    if batch.held:
        data = held(data)
    network = Plain(data)
    try:
        found = plain.operating_point(network)
    except plain.Unsolvable:
        return UNSETTLED
    if found is None:
        return HUNTING
    V[row], mode = found
    left = [k for k, (e, o) in enumerate(c.outlets) if e in old and not batch.lost[row, k]]
    tripped[row, left] = mode.tripped
    on[row, [c.index[e] for e in old if e in set(c.rows["converter"])]] = mode.on
    return FINE


def held(data):
    """Gives a network in which everything that would trip holds at its limit instead."""
    def hold(outlet):
        return dict(outlet, overload="hold") if "overload" in outlet else outlet

    elements = [dict(hold(e), outputs=[hold(o) for o in e["outputs"]]) if "outputs" in e else hold(e)
                for e in data["elements"]]
    return dict(data, elements=elements, groups=[dict(g, trips=False) for g in data.get("groups") or []])
