"""Says what a mistake does to a network: which elements move, go, change, turn or are added.

Only `wiring`, a stage's `view` and the `changes` of a mistake are used, by the rules of
docs/mistakes.md. An `Edit` is canonical: two mistakes that make the same network give the same
Edit, so that a network is solved once however many mistakes (or pairs of them) lead to it.
"""

from typing import NamedTuple

TOUCHING, SHORT = 0.01, 0.05  # ohms of what touches by mistake, and through a part that failed shorted


class Edit(NamedTuple):
    """Holds what is different from the network without mistakes."""

    gone: tuple = ()     # elements
    lost: tuple = ()     # (converter, output) that are gone
    moved: tuple = ()    # (resistor, a, b)
    added: tuple = ()    # (a, b, ohms)
    volts: tuple = ()    # (element, output or -1, volts)
    swapped: tuple = ()  # diodes and clamps with their ends exchanged
    stuck: tuple = ()    # followers, by index, that do not act
    turned: tuple = ()   # capacitors, by part, judged with plus and minus exchanged
    wires: tuple = ()    # (element or -1 - index in `added`, wire): wires in a new place

    def topology(self):
        """Gives what a network of resistors depends on."""
        return self.gone, self.moved, self.added


class Frame:
    """Holds the names of one stage (or of the mains side), to derive edits from changes."""

    def __init__(self, wiring, view, network, followers=(), live=True):
        self.wiring, self.live, self.elements = wiring, live, network["elements"]
        self.node = view["terminals"]
        self.wire, self.contacts, self.own = view["wires"], view["contacts"], view["parts"]
        self.part = {part["name"]: part for part in wiring["parts"]}
        self.ways = {plug["name"]: plug["ways"] for plug in wiring["plugs"]}
        self.followers = followers

    def place(self, start, stop):
        """Gives the two nodes of a resistor between terminals, or None where it has no place."""
        a, b = self.node.get(start), self.node.get(stop)
        return None if a is None or b is None or a == b else (min(a, b), max(a, b))

    def edit(self, changes, dead=()):
        """Derives the edit that all these changes make together, with the elements of dead supplies gone."""
        draft = Draft(self)
        ends = {}
        for change in changes:
            if change["change"] == "end":
                wire = self.wiring["wires"][change["wire"]]
                ends.setdefault(change["wire"], dict(wire))[change["end"]] = change["at"]
            else:
                sorts = {"off": draft.off, "bridge": draft.bridge, "mate": draft.mate,
                         "turned": draft.turned, "failed": draft.failed}
                sorts[change["change"]](change)
        for wire, at in ends.items():
            draft.rewire(wire, at)
        for part in dead:
            draft.gone.update(self.own.get(part) or ())
        return draft.done()


class Draft:
    """Collects the edit while the changes are gone through; a method for each sort of change."""

    def __init__(self, frame):
        self.frame = frame
        self.gone, self.moved, self.added, self.wires, self.new = set(), {}, [], [], {}
        self.lost, self.volts, self.swapped, self.stuck, self.turned_parts = set(), {}, set(), set(), set()

    def resistor(self, element, place, wire=None):
        """Puts a wire or contact in its new place; without an element it is a new resistor."""
        if element is None:
            if place:
                self.added.append((*place, TOUCHING))
                if wire is not None:
                    self.new[len(self.added) - 1] = wire
        elif place is None:
            self.gone.add(element)
        else:
            self.moved[element] = place
            if wire is not None:
                self.wires.append((element, wire))

    def off(self, change):
        element = self.frame.wire[change["wire"]]
        if element is not None:
            self.gone.add(element)

    def rewire(self, wire, at):
        self.resistor(self.frame.wire[wire], self.frame.place(at["from"], at["to"]), wire)

    def bridge(self, change):
        self.resistor(None, self.frame.place(change["a"], change["b"]))

    def mate(self, change):
        plug = change["plug"]
        contacts = self.frame.contacts.get(plug) or []
        for k, way in enumerate(self.frame.ways[plug]):
            socket = change["ways"][k] if k < len(change["ways"]) else None
            place = None if socket is None else self.frame.place(way, socket)
            self.resistor(contacts[k] if k < len(contacts) else None, place)

    def turned(self, change):
        if self.frame.part[change["part"]]["kind"] == "capacitor":
            self.turned_parts.add(change["part"])
        for element in self.frame.own.get(change["part"]) or ():
            if self.frame.elements[element]["law"] in ("diode", "clamp"):
                self.swapped ^= {element}

    def failed(self, change):
        how = {"open": self.open, "shorted": self.shorted, "high": self.high, "dead": self.dead,
               "stuck": self.hold}[change["how"]]
        how(change, self.frame.own.get(change["part"]) or [])

    def open(self, _, own):
        self.gone.update(own)

    def shorted(self, change, own):
        self.gone.update(own)
        part = self.frame.part[change["part"]]
        terminals, kind = part["terminals"], part["kind"]
        second = terminals[2 if kind == "regulator" else 1]
        if kind == "converter":
            inputs = ("in.plus", "in.minus", "enable")
            second = next(t for t in terminals if t.endswith(".plus") and not t.endswith(inputs))
        place = self.frame.place(terminals[0], second)
        if place:
            self.added.append((*place, SHORT))

    def output(self, change, own):
        """Gives the failed output as (element, output of a converter or -1), or None."""
        if not self.frame.live or not own:
            return None
        if self.frame.elements[own[0]]["law"] == "converter":
            return own[0], change["output"]
        return (own[change["output"]], -1) if change["output"] < len(own) else None

    def high(self, change, own):
        output = self.output(change, own)
        if output and (output[1] >= 0 or "volts" in self.frame.elements[output[0]]):
            self.volts[output] = change["volts"]

    def dead(self, change, own):
        output = self.output(change, own)
        if output and output[1] < 0:
            self.gone.add(output[0])
        elif output:
            self.lost.add(output)

    def hold(self, change, _):
        """A follower that is stuck does not act."""
        self.stuck.update(k for k, f in enumerate(self.frame.followers) if f["part"] == change["part"])

    def done(self):
        """Gives the canonical edit: nothing said of what is gone or where it was anyway."""
        order = sorted(range(len(self.added)), key=lambda i: (self.added[i], self.new.get(i, -1)))
        wires = [(e, w) for e, w in self.wires if e not in self.gone]
        wires += [(-1 - k, self.new[i]) for k, i in enumerate(order) if i in self.new]
        moved = [(e, *place) for e, place in self.moved.items() if e not in self.gone and not self.home(e, place)]
        away = {e for e, *_ in moved}
        return Edit(gone=tuple(sorted(self.gone)), lost=tuple(sorted(o for o in self.lost if o[0] not in self.gone)),
                    moved=tuple(sorted(moved)), added=tuple(self.added[i] for i in order),
                    volts=tuple(sorted((*o, v) for o, v in self.volts.items() if o[0] not in self.gone)),
                    swapped=tuple(sorted(self.swapped - self.gone)), stuck=tuple(sorted(self.stuck)),
                    turned=tuple(sorted(self.turned_parts)),
                    wires=tuple(sorted((e, w) for e, w in wires if e < 0 or e in away)))

    def home(self, element, place):
        """Says whether that is where the element is without mistakes."""
        data = self.frame.elements[element]
        return place == (min(data["a"], data["b"]), max(data["a"], data["b"]))


def apply(network, edit, more_gone=()):
    """Gives the edited network as data like the original, and for each element left its old index."""
    gone = set(edit.gone) | set(more_gone)
    moved = {e: (a, b) for e, a, b in edit.moved}
    elements, old = [], []
    for e, element in enumerate(network["elements"]):
        if e in gone:
            continue
        element = dict(element)
        if e in moved:
            element["a"], element["b"] = moved[e]
        if e in edit.swapped:
            element["anode"], element["cathode"] = element["cathode"], element["anode"]
        for _, output, volts in (v for v in edit.volts if v[0] == e):
            if output < 0:
                element["volts"] = volts
            else:
                element["outputs"] = [dict(o, volts=volts) if k == output else o
                                      for k, o in enumerate(element["outputs"])]
        lost = [output for c, output in edit.lost if c == e]
        if lost:
            element["outputs"] = [o for k, o in enumerate(element["outputs"]) if k not in lost]
        elements.append(element)
        old.append(e)
    for a, b, ohms in edit.added:
        elements.append({"name": "mistake", "law": "resistor", "a": a, "b": b, "ohms": ohms})
        old.append(-1)
    return dict(network, elements=elements), old
