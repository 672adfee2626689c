"""Rebuilds edited networks whole, many at a time: only the arithmetic runs side by side.

A `Batch` is a list of rows; a row is one network with one edit. Every row has its own matrix and its
own right-hand side, built from its own elements; there is no use of one row's factors for another.
The laws are those of docs/network.md. Residuals are in extended precision, as nodes that float on the
leak alone need it.
"""

import numpy as np
import operating_point as plain

LONG = np.longdouble


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
        return self.value["converter"]["idle"] + total / self.value["converter"]["efficiency"]

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
