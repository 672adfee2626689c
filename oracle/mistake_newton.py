"""Finds the operating points of a batch, by the rounds of docs/network.md.

Newton's steps on the pieces of the laws; what they do not bring to rest settles in fictitious time
first. A row that goes in circles is handed to `operating_point.py` as data, one at a time.
"""

import numpy as np
import operating_point as plain
from mistake_edits import apply

LONG = np.longdouble
FINE, HUNTING, UNSETTLED = 0, 1, 2  # UNSETTLED: this oracle found no voltages, which proves nothing
PLAIN, PATIENCE = 6, 80  # Newton's steps in full; all steps
EULER, TRIES = 400, 5  # steps in fictitious time; Newton's steps in each


class Plain(plain.Network):
    """An output that is pulled backward counts as 0 W in its converter's input power."""

    def converter_watts(self, delivered):
        return super().converter_watts(np.maximum(delivered, 0))


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
