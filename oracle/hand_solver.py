"""Solves the circuit of a job with a current as unknown for each device: for by_hand.py."""

import math
import random

import numpy as np

INNER = 1e-4  # ohms inside an ideal source, as the program states
LEAK = 1e-9  # siemens from each node to 0 V, as the specification of a network states
DIODE_OHMS, CLAMP_FORWARD, LOGIC = 0.02, 0.7, 1.4  # common practice, as the program states


class Unsolved(Exception):
    """Says that these modes have no answer, or that none was found."""


class Answer:
    """Solves a circuit: node voltages and a current of each device, the modes found by trying."""

    def __init__(self, circuit):
        self.c, self.n = circuit, len(circuit.nodes)
        for device in circuit.devices:
            device.tripped = False
        self.volts, self.amps = (None, None) if self.n else (np.zeros(0), np.zeros(0))
        if not self.n:
            return
        for _ in range(50):
            self.settle()
            if not self.switch():
                return
        raise Unsolved("supplies and converters go on changing")

    def settle(self):
        """Solves with trips and converters as they are; moves other modes until each fits, one by one if they circle."""
        seen, dice = set(), random.Random(1)
        for _ in range(300):
            rests = self.newton()
            wrong = [(d, mode) for d in self.c.devices if (mode := self.fitting(d)) != d.mode]
            if not wrong and rests:
                return
            if not wrong:  # no voltages stand still: what draws constant power has too little, the worst fed first
                hungry = [d for d in self.c.devices if d.kind == "draw" and d.unit == "W" and d.mode == "normal"]
                if not hungry:
                    raise Unsolved("no voltages found")
                wrong = [(min(hungry, key=lambda d: self.across(d) / d.knee), "starved")]
            key = tuple(d.mode for d in self.c.devices)
            for device, mode in [dice.choice(wrong)] if key in seen else wrong:
                device.mode = mode
            seen.add(key)
        raise Unsolved("no set of modes fits")

    def newton(self):
        """Follows tangents of what draws constant power; says whether they came to stand still."""
        x = np.zeros(self.n + len(self.c.devices)) if self.volts is None else np.r_[self.volts, self.amps]
        first = self.volts is None
        for turn in range(60):
            matrix, right = self.equations(x, first and turn == 0)
            new = np.linalg.solve(matrix, right)
            change, x = np.abs(new - x).max(), new
            if not np.isfinite(change):
                break
            if change < 1e-12 * (1 + np.abs(x).max()):
                self.volts, self.amps = x[:self.n], x[self.n:]
                return all(self.across(d) > 0.2 * d.knee for d in self.c.devices if d.kind == "draw" and d.mode == "normal"
                           and d.unit == "W")
        self.volts, self.amps = x[:self.n], x[self.n:]  # the modes may be wrong: let them be tried
        return False

    def equations(self, x, unloaded):
        """Writes Kirchhoff's current law for each node and one line for each device."""
        c, n = self.c, self.n
        matrix, right = np.zeros((len(x), len(x))), np.zeros(len(x))
        for _, a, b, ohms in c.resistors:
            for i, j, sign in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                matrix[i, j] += sign / ohms
        for i in range(n):
            matrix[i, i] += LEAK
        for k, d in enumerate(c.devices):
            matrix[d.a, n + k] += -1 if d.kind == "outlet" else 1
            matrix[d.b, n + k] += 1 if d.kind == "outlet" else -1
            self.line(d, n + k, matrix[n + k], x, right, unloaded)
        matrix[c.datum], right[c.datum] = 0, 0
        matrix[c.datum, c.datum] = 1
        return matrix, right

    def line(self, d, k, row, x, right, unloaded):
        """Writes the line of one device: its law in its mode; currents have the sign of a -> b (an outlet: out of plus)."""
        row[k] = 1.0
        v = x[d.a] - x[d.b]
        if d.kind == "draw":
            if d.unit == "Ω" or d.mode == "starved":
                ohms = {"Ω": d.amount, "A": d.knee / (d.amount or 1e-300), "W": d.knee**2 / (d.amount or 1e-300)}[d.unit]
                row[d.a], row[d.b] = row[d.a] - 1 / ohms, row[d.b] + 1 / ohms
            elif d.unit == "A":
                right[k] = d.amount * (not unloaded)
            elif not unloaded and v:
                v = max(v, 0.2 * d.knee)
                row[d.a], row[d.b] = row[d.a] + d.amount / v**2, row[d.b] - d.amount / v**2
                right[k] = 2 * d.amount / v
        elif d.mode in ("off", "idle", "tripped", "open") or d.kind == "input" and (unloaded or d.mode != "on"):
            pass
        elif d.mode == "limiting":
            right[k] = math.copysign(d.limit, d.volts)
        elif d.kind == "outlet":
            row[d.a], row[d.b], row[k], right[k] = 1, -1, d.ohms, d.volts
        elif d.kind == "interlock":
            row[d.a], row[d.b], row[k] = 1, -1, -d.ohms
        elif d.kind == "diode":
            row[d.a], row[d.b], row[k], right[k] = 1, -1, -DIODE_OHMS, d.volts
        elif d.kind == "clamp":
            row[d.a], row[d.b], row[k] = 1, -1, -DIODE_OHMS
            right[k] = d.volts if d.mode == "clamping" else -CLAMP_FORWARD
        elif d.mode == "regulating":
            row[d.b], row[k], right[k] = 1, INNER, d.volts
            row[d.ref] -= 1
        elif d.mode == "drop-out":
            row[d.a], row[d.b], row[k] = 1, -1, -INNER
            right[k] = math.copysign(d.headroom, d.volts)
        else:
            self.input_line(d, k, row, x, right)

    def input_line(self, d, k, row, x, right):
        """Writes the tangent of what a converter takes: v·i = idle + sum(u·j)/efficiency."""
        v, total = max(x[d.a] - x[d.b], 0.2 * d.low + 0.1), d.idle
        row[k], right[k] = v, 0.0
        row[d.a], row[d.b] = row[d.a] + x[k], row[d.b] - x[k]
        right[k] += v * x[k] + total
        for out in d.outputs:
            j = self.n + self.c.devices.index(out)
            u, amps = x[out.a] - x[out.b], x[j]
            row[j] -= u / d.efficiency
            row[out.a] -= amps / d.efficiency
            row[out.b] += amps / d.efficiency
            right[k] -= u * amps / d.efficiency

    def across(self, d):
        """Gives the voltage from a to b."""
        return self.volts[d.a] - self.volts[d.b]

    def current(self, d):
        """Gives the current of a device."""
        return self.amps[self.c.devices.index(d)]

    def fitting(self, d):
        """Gives the mode that fits a device's voltages and current as they are now."""
        v, i = self.across(d), self.current(d)
        sign = math.copysign(1, getattr(d, "volts", 1))
        if d.kind == "draw":
            return "normal" if d.unit == "Ω" or v >= d.knee else "starved"
        if d.kind == "outlet":
            if d.mode == "tripped" or d.owner and d.owner.mode != "on":
                return "tripped" if d.mode == "tripped" else "idle"
            wanted = (abs(d.volts) - sign * v) / d.ohms if d.mode != "holding" else sign * i
            most = math.inf if d.group["trips"] else d.limit
            return "idle" if wanted < 0 else "limiting" if wanted > most else "holding"
        if d.kind == "diode":
            return ("on" if i >= 0 else "off") if d.mode == "on" else ("on" if v > d.volts else "off")
        if d.kind == "clamp":
            return "clamping" if v > d.volts else "forward" if -v > CLAMP_FORWARD else "off"
        if d.kind == "regulator":
            out = (abs(d.volts) - sign * (self.volts[d.b] - self.volts[d.ref])) / INNER
            drop = (sign * v - d.headroom) / INNER
            ways = [(sign * i if d.mode == "regulating" else out, "regulating"),
                    (sign * i if d.mode == "drop-out" else drop, "drop-out"), (d.limit, "limiting")]
            least = min(ways)
            return "off" if least[0] < 0 else least[1]
        return d.mode

    def switch(self):
        """Trips what is over its limit, turns converters and interlocks; says whether anything changed."""
        changed = False
        for group in {id(d.group): d.group for d in self.c.devices if d.kind == "outlet"}.values():
            live = [d for d in group["members"] if d.mode != "tripped"]
            over = any(abs(self.current(d)) > d.limit * (1 + 1e-12) for d in live)
            over = over or sum(self.across(d) * self.current(d) for d in live) > group["watts"]
            if group["trips"] and over and live:
                changed = True
                for d in live:
                    d.mode = "tripped"
        for d in self.c.devices:
            if d.kind == "input":
                mode = self.input_mode(d)
            elif d.kind == "interlock":
                mode = "closed" if self.volts[d.plus] - self.volts[d.minus] >= d.threshold else "open"
            else:
                continue
            changed, d.mode = changed or mode != d.mode, mode
        return changed

    def input_mode(self, d):
        """Says whether a converter runs, and if not, why."""
        v = self.across(d)
        if all(out.mode == "tripped" for out in d.outputs):
            return "tripped"
        if not d.low <= v <= d.high:
            return "below range" if v < d.low else "above range"
        if d.enable:
            level = self.volts[d.enable[0]] - self.volts[d.b]
            return "on" if (level >= LOGIC if d.enable[1] == "high" else level <= LOGIC) else "disabled"
        return "on"

    def powers(self):
        """Gives watts delivered by sources, taken by loads, and turned to heat, each added up by itself."""
        kinds = {"in": 0.0, "out": 0.0, "heat": LEAK * float(self.volts @ self.volts)}
        for _, a, b, ohms in self.c.resistors:
            kinds["heat"] += (self.volts[a] - self.volts[b])**2 / ohms
        for d in self.c.devices:
            watts = self.across(d) * self.current(d)
            if d.kind == "outlet":
                kinds["heat" if d.owner else "in"] += -watts if d.owner else watts
            else:
                kinds["out" if d.kind == "draw" else "heat"] += watts
        return kinds
