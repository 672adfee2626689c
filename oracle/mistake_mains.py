"""Judges the mains side: which conductors hang together, and what currents flow.

The conductor questions are asked of a graph of terminals (NetworkX); the currents are those of the
mains network, solved like any other.
"""

import networkx
from mistake_edits import Frame
from mistake_live import NEAR, OUTLET, LiveStage
from mistake_newton import FINE

HAZARD = 50.0  # volts on a terminal of protective earth


class Effect:
    """Holds the effect of a mistake on the mains side: threats (surely, maybe), dead supplies, conductors touching."""

    def __init__(self, sure=(), maybe=(), dead=(), touched=False, doubtful=False):
        self.sure, self.maybe = set(sure), set(maybe) | set(sure)
        self.dead, self.touched, self.doubtful = tuple(sorted(dead)), touched, doubtful


class Mains:
    """Holds the mains side of a job."""

    def __init__(self, wiring, mains):
        self.wiring, self.mains, self.solver = wiring, mains, None
        parts = wiring["parts"]
        self.parts = {part["name"]: part for part in parts}
        self.wires = [(w["from"], w["to"]) for w in wiring["wires"]]
        self.hot = {t for part in parts for t in part["mains"]}
        self.earth = {"chassis"} | {t for part in parts for t in part["earth"]}
        self.ways = {t for plug in wiring["plugs"] for t in plug["ways"]}
        self.known = self.hot | self.earth | self.ways | {t for part in parts for t in part["terminals"]}
        self.cache = {}
        if mains is None:
            return
        inlet = next(part for part in parts if part["kind"] == "inlet")
        self.line, self.neutral, self.ground = inlet["terminals"][:3]
        own = mains["view"]["parts"]
        self.fuses = [{"element": own[p["name"]][0], "elements": own[p["name"]], "opens": mains["fuses"][p["name"]]}
                      for p in parts if p["name"] in mains["fuses"] and own.get(p["name"])]
        stage = {"networks": [mains["network"]], "followers": [], "fuses": self.fuses, "watched": [], "readings": []}
        self.solver = LiveStage(stage)
        self.frame = Frame(wiring, mains["view"], mains["network"], live=False)
        self.fed = {t for p in parts if p["kind"] in ("mains supply", "raw supply") for t in p["terminals"][:2]}
        self.plan = self.conductors([])

    def concerns(self, changes):
        """Says whether a mistake has to do with a terminal of the mains or of protective earth."""
        here = self.hot | self.earth
        for change in changes:
            sort = change["change"]
            if sort in ("off", "end"):
                at = {*self.wires[change["wire"]], change.get("at")}
            elif sort == "bridge":
                at = {change["a"], change["b"]}
            elif sort == "failed":
                part = self.parts[change["part"]]
                at = {*part["mains"], *part["earth"]}
            else:
                at = set()
            if at & here:
                return self.mains is not None
        return False

    def joints(self, changes):
        """Gives the wires (None: gone) where they are now, and the bridges."""
        wires, bridges = list(self.wires), []
        for change in changes:
            if change["change"] == "off":
                wires[change["wire"]] = None
            elif change["change"] == "end":
                start, stop = wires[change["wire"]]
                wires[change["wire"]] = (change["at"], stop) if change["end"] == "from" else (start, change["at"])
            elif change["change"] == "bridge":
                bridges.append((change["a"], change["b"]))
        return [w for w in wires if w] + bridges

    def joined(self, joints, without=None):
        """Gives a graph of what conducts, without the inside of one kind of part."""
        graph = networkx.Graph()
        graph.add_nodes_from(self.known)
        graph.add_edges_from(joints)
        for part in self.wiring["parts"]:
            graph.add_edges_from(zip(part["joined"], part["joined"][1:]))
            if part["kind"] != without:
                graph.add_edges_from(part["through"])
        return graph

    def conductors(self, changes):
        """Gives what is joined: (touched, earthed terminals, mains terminals that stay live)."""
        joints = self.joints(changes)
        graph = self.joined(joints)
        reach = {t: networkx.node_connected_component(graph, t) for t in (self.line, self.neutral, self.ground)}
        low = self.known - self.hot - self.earth
        touched = bool((reach[self.line] | reach[self.neutral]) & low)
        live = set()
        for kind in ("fuse", "switch"):
            live |= networkx.node_connected_component(self.joined(joints, kind), self.line) & self.fed
        return touched, reach[self.ground] & self.earth, live

    def effects(self, lists):
        """Gives the effect of each list of changes; None for what does not concern the mains."""
        keys = [repr(changes) if self.concerns(changes) else None for changes in lists]
        new = {key: changes for key, changes in zip(keys, lists) if key is not None and key not in self.cache}
        todo, edits = [], []
        for key, changes in new.items():
            touched, earthed, live = self.conductors(changes)
            sure = set()
            if touched:
                sure.add("Touch")
            if earthed != self.plan[1]:
                sure.add("NoEarth")
            if live - self.plan[2] and not self.mains["reversible"]:
                sure.add("StaysLive")
            self.cache[key] = Effect(sure, touched=touched)
            if not touched:
                todo.append(key)
                edits.append(self.frame.edit(changes))
        self.currents(todo, edits)
        return [None if key is None else self.cache[key] for key in keys]

    def currents(self, keys, edits):
        """Adds what the currents and voltages of the mains side do."""
        unique = list(dict.fromkeys(edits))
        answers = {}
        for at in range(0, len(unique), 256):
            some = unique[at:at + 256]
            V, amps, state, *_ = self.solver.solve([(edit, 0) for edit in some])
            answers.update((edit, (V[k], amps[k], state[k])) for k, edit in enumerate(some))
        for key, edit in zip(keys, edits):
            self.judge(self.cache[key], *answers[edit])

    def judge(self, effect, V, amps, state):
        """Judges one solved mains side."""
        place, node = self.solver.circuit.place, self.mains["view"]["terminals"]
        if state != FINE:
            effect.doubtful = True
            return
        if amps[self.mains["outlet"]] > OUTLET:
            effect.dead = tuple(sorted(self.mains["supplies"]))
            return
        near = NEAR * abs(V).max()
        volts = [abs(V[place[node[t]]]) for t in sorted(self.earth) if node.get(t) is not None]
        if any(v > HAZARD + near for v in volts):
            effect.sure.add("Touch")
        if any(v > HAZARD - near for v in volts):
            effect.maybe.add("Touch")
        effect.maybe |= effect.sure
        dead = []
        for part, least in self.mains["supplies"].items():
            ends = [node.get(t) for t in self.parts[part]["terminals"][:2]]
            volts = 0 if None in ends else abs(V[place[ends[0]]] - V[place[ends[1]]])
            if volts < least:
                dead.append(part)
        effect.dead = tuple(sorted(dead))
