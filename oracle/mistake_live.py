"""Judges edits at a live stage: operating points with followers and fuses, harm, and readings.

Every comparison is made twice: surely (beyond the limit by more than NEAR) and maybe (within NEAR of
it, or beyond). A verdict is borderline where the two differ.
"""

import numpy as np
from mistake_circuit import Batch, Circuit
from mistake_newton import FINE, HUNTING, UNSETTLED, operating_points

NEAR = 1e-9  # of a limit, or of the largest voltage or current of the network
OUTLET = 32.0  # amperes above which the outlet's own protection opens


class Watch:
    """Holds what does harm at one stage, as arrays."""

    def __init__(self, circuit, stage):
        place = circuit.place
        listed = [w for w in stage["watched"] if w["protected"]]
        self.threats = [w["threat"] for w in listed]
        kinds = {kind: [k for k, w in enumerate(listed) if kind in w] for kind in ("volts", "amps", "order")}
        self.volts, self.amps, self.order = (np.array(kinds[k], int) for k in ("volts", "amps", "order"))

        def pick(kind, key, none=0.0):
            values = [listed[k][kind][key] for k in kinds[kind]]
            return np.array([none if v is None else v for v in values])

        self.low, self.high = pick("volts", "low", -np.inf), pick("volts", "high", np.inf)
        self.plus, self.minus = (place[pick("volts", k).astype(int)] for k in ("plus", "minus"))
        self.part = [listed[k].get("capacitor") for k in kinds["volts"]]
        self.element, self.most = pick("amps", "element").astype(int), pick("amps", "most", "open")
        self.pairs = [place[pick("order", k).astype(int).reshape(-1, 2)] for k in ("first", "then")]
        self.nominal = [pick("order", k) for k in ("first_nominal", "then_nominal")]

    def by_volts(self, batch, V, harm):
        """Marks harm [row, threat, surely or maybe] from voltages and orders."""
        turned = np.array([[p is not None and p in edit.turned for p in self.part] for edit, _ in batch.rows], bool)
        v = (V[:, self.plus] - V[:, self.minus]).astype(float)
        v = np.where(turned.reshape(v.shape), -v, v)
        largest = abs(V).max(axis=1).astype(float)[:, None]
        for k, way in enumerate((1, -1)):
            near = [way * NEAR * np.maximum(np.where(np.isfinite(x), abs(x), 0), largest) for x in (self.low, self.high)]
            harm[:, self.volts, k] |= (v < self.low - near[0]) | (v > self.high + near[1])
            first, then = ((V[:, p[:, 0]] - V[:, p[:, 1]]).astype(float) / n for p, n in zip(self.pairs, self.nominal))
            tight = [way * NEAR * np.maximum(0.5, largest / abs(n)) for n in self.nominal]
            harm[:, self.order, k] |= (then > 0.5 + tight[1]) & (first < 0.5 - tight[0])

    def by_amps(self, batch, current, harm):
        """Marks harm from currents, which are nil where the element is gone."""
        i = abs(current[:, self.element]).astype(float)
        largest = abs(current).max(axis=1, initial=0).astype(float)[:, None]
        for k, way in enumerate((1, -1)):
            harm[:, self.amps, k] |= i > self.most + way * NEAR * np.maximum(self.most, largest)


class LiveStage:
    """Solves and judges edits at one live stage (or on the mains side)."""

    def __init__(self, stage, survive=()):
        self.circuit = Circuit(stage["networks"])
        self.followers, self.fuses = stage["followers"], stage["fuses"]
        self.watch, self.survive = Watch(self.circuit, stage), survive
        self.readings = stage["readings"]
        place = self.circuit.place
        self.is_amps = np.array([r["function"] == "amps" for r in self.readings], bool)
        nodes = np.array([r["nodes"] for r in self.readings], int).reshape(-1, 2)
        volts = np.where(self.is_amps[:, None], 0, nodes)
        self.red, self.black = place[volts[:, 0]], place[volts[:, 1]]
        self.lead = np.where(self.is_amps, nodes[:, 0], 0)
        self.solved = self.doubtful = 0

    def element_currents(self, batch, V, mode):
        """Gives the current of every element of the network, and of what was added, in that order."""
        current = batch.flow(V, mode, 1)[0]
        c, out = self.circuit, []
        law = [e["law"] for e in c.networks[0]["elements"]]
        for e in range(c.count):
            name = "outlet" if law[e] == "source" else law[e]
            out.append(batch.span[name].start + c.index[e])
        extra = batch.span["resistor"].stop - batch.span["resistor"].start - len(c.rows["resistor"])
        out += [batch.span["resistor"].start + len(c.rows["resistor"]) + k for k in range(extra)]
        return current[:, out]

    def solve(self, rows):
        """Solves rows (edit, corner) with followers and fuses.

        Gives (voltages, element currents, state, harm [row, threat, surely or maybe], threats of
        displaced wires [row] as two sets).
        """
        whole = Batch(self.circuit, rows)
        size, watch = len(rows), self.watch
        harm = np.zeros((size, len(watch.threats), 2), bool)
        wires = [(set(), set()) for _ in rows]
        V, state = np.zeros((size, self.circuit.n), np.longdouble), np.zeros(size, int)
        amps = np.zeros((size, self.circuit.count + max((len(e.added) for e, _ in rows), default=0)), np.longdouble)
        away, blown = [set() for _ in rows], [set() for _ in rows]
        todo, batch = np.arange(size), whole
        while len(todo):
            points, mode, found, doubtful = operating_points(batch)
            self.solved += len(todo)
            self.doubtful += doubtful
            V[todo], state[todo] = points, found
            current = self.element_currents(batch, points, mode)
            amps[todo, :current.shape[1]] = current
            self.before_trip(batch, mode, harm, todo, np.flatnonzero(np.array(found) == FINE).tolist(), away)
            again, fits, judged = [], [], []
            for k, row in enumerate(todo):
                if state[row] != FINE:
                    continue
                misfit = self.misfit(rows[row][0], points[k], away[row])
                if misfit is None:
                    fits.append(k)
                elif misfit in away[row]:
                    state[row] = HUNTING
                    judged.append(k)
                else:
                    away[row].add(misfit)
                    again.append((k, self.followers[misfit]["elements"]))
            self.judge_volts(batch, points, harm, todo, sorted(fits + judged))
            quiet = []
            for k in fits:
                over = next((f for f in range(len(self.fuses)) if f not in blown[todo[k]] and abs(
                    current[k, self.fuses[f]["element"]]) > self.fuses[f]["opens"]), None)
                if over is None:
                    quiet.append(k)
                else:
                    blown[todo[k]].add(over)
                    again.append((k, self.fuses[over].get("elements") or [self.fuses[over]["element"]]))
            if quiet:
                part = harm[todo[quiet]]
                watch.by_amps(batch, current[quiet], part)
                harm[todo[quiet]] = part
                for k in quiet if len(self.survive) else ():
                    self.displaced(rows[todo[k]][0], current[k], wires[todo[k]])
            again.sort()
            chosen = [k for k, _ in again]
            batch = batch.take(chosen)
            for k, (_, elements) in enumerate(again):
                batch.gone[k, elements] = True
            batch.refresh()
            todo = todo[chosen]
        return V, amps, state, harm, wires

    def judge_volts(self, batch, points, harm, todo, chosen):
        """Judges voltages and orders of some rows of a batch."""
        if chosen and len(self.watch.threats):
            part = harm[todo[chosen]]
            self.watch.by_volts(batch.take(chosen), points[chosen], part)
            harm[todo[chosen]] = part

    def before_trip(self, batch, mode, harm, todo, solved, away):
        """Judges the moment before something trips: all that would trip holds at its limit."""
        tripped = [k for k in solved if mode[1][k].any()]
        if not tripped or not len(self.watch.threats):
            return
        part = batch.take(tripped)
        part.held = True
        points, _, found, doubtful = operating_points(part)
        self.solved += len(tripped)
        self.doubtful += doubtful
        fits = [i for i, k in enumerate(tripped) if found[i] == FINE
                and self.misfit(part.rows[i][0], points[i], away[todo[k]]) is None]
        self.judge_volts(part, points, harm, todo[tripped], fits)

    def misfit(self, edit, V, away):
        """Gives the first follower that does not fit its voltage, or None."""
        place = self.circuit.place
        for k, f in enumerate(self.followers):
            v = V[place[f["plus"]]] - V[place[f["minus"]]]
            conducts = v >= f["threshold"] if f["above"] else v <= f["threshold"]
            if k not in edit.stuck and conducts == (k in away):
                return k
        return None

    def displaced(self, edit, current, found):
        """Judges wires in a new place by what they survive."""
        largest = float(abs(current).max(initial=0))
        for element, wire in edit.wires:
            i = float(abs(current[element if element >= 0 else self.circuit.count - 1 - element]))
            for k, way in enumerate((1, -1)):
                most = self.survive[wire]
                if most is not None and i > most + way * NEAR * max(most, largest):
                    found[k].add(f"Wire({wire})")

    def read(self, V, amps):
        """Gives the value of every reading of the stage [row, reading]."""
        values = V[:, self.red] - V[:, self.black]
        return np.where(self.is_amps, amps[:, self.lead], values).astype(float)

    def judge(self, edits, corners=None):
        """Judges edits over all corners (or the first): a Verdict for each."""
        corners = range(len(self.circuit.networks)) if corners is None else corners
        rows = [(edit, k) for edit in edits for k in corners]
        V, amps, state, harm, wires = self.solve(rows)
        values = self.read(V, amps)
        largest = abs(V).max(axis=1).astype(float)
        verdicts = []
        for k, edit in enumerate(edits):
            at = slice(k * len(corners), (k + 1) * len(corners))
            sets = []
            for sure in (0, 1):
                threats = {self.watch.threats[t] for t in np.flatnonzero(harm[at, :, sure].any(axis=0))}
                sets.append(threats.union(*(w[sure] for w in wires[at])))
            unsolved = bool((state[at] != FINE).any())
            first = at.start
            back = np.empty(self.circuit.n)
            back[self.circuit.order] = V[first].astype(float)
            verdicts.append(Verdict(back if state[first] == FINE else None, sets[0], sets[1], unsolved,
                                    values[at].min(axis=0), values[at].max(axis=0), largest[at].max(),
                                    float(abs(amps[at]).max(initial=0)), bool((state[at] == UNSETTLED).any())))
        return verdicts


class Verdict:
    """Holds what was found about an edit at a live stage."""

    __slots__ = ("volts", "sure", "maybe", "unsolved", "low", "high", "largest", "most", "open")

    def __init__(self, *values):
        for key, value in zip(self.__slots__, values):
            setattr(self, key, value)
