"""Reckons the resistances of stages with the power off.

NetworkX says what hangs together; within a component the Laplacian, grounded at one node, is inverted
(in extended precision, as milliohms and gigohms meet). Two nodes of different components are open:
infinite. The readings without mistakes are reckoned another way, by eliminating all nodes but two:
that adds and divides positive numbers only, so that it is right to the last digits.
"""

import networkx
import numpy as np
from mistake_edits import Edit

LONG = np.longdouble


class ColdStage:
    """Reckons readings of edits at one stage with the power off."""

    def __init__(self, stage):
        self.networks = stage["networks"]
        self.n = len(self.networks[0]["nodes"])
        self.ends = [(e["a"], e["b"]) for e in self.networks[0]["elements"]]
        for network in self.networks:
            assert all(e["law"] == "resistor" for e in network["elements"]), "a cold network holds resistors only"
            assert [(e["a"], e["b"]) for e in network["elements"]] == self.ends, "the two networks differ in shape"
        self.siemens = [[1 / e["ohms"] for e in network["elements"]] for network in self.networks]
        nodes = np.array([r["nodes"] for r in stage["readings"]], int).reshape(-1, 2)
        self.red, self.black = nodes.T
        self.solved = 0

    def links(self, edit):
        """Gives the resistors of an edited network as (a, b, siemens in each network)."""
        gone, moved = set(edit.gone), {e: (a, b) for e, a, b in edit.moved}
        kept = [e for e in range(len(self.ends)) if e not in gone]
        found = [(*moved.get(e, self.ends[e]), *(y[e] for y in self.siemens)) for e in kept]
        return found + [(a, b, *[1 / ohms] * len(self.networks)) for a, b, ohms in edit.added]

    def components(self, links):
        """Gives for each node the first node of what it hangs together with."""
        graph = networkx.Graph()
        graph.add_nodes_from(range(self.n))
        graph.add_edges_from(link[:2] for link in links)
        root = np.arange(self.n)
        for component in networkx.connected_components(graph):
            root[list(component)] = min(component)
        return root

    def laplacian(self, links, k, root):
        """Gives the Laplacian with one node of each component tied down."""
        a, b = (np.array([link[i] for link in links], int) for i in (0, 1))
        y = np.array([link[2 + k] for link in links], LONG)
        matrix = np.zeros((self.n, self.n), LONG)
        for p, q, way in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            np.add.at(matrix, (p, q), way * y)
        ground = np.unique(root)
        matrix[ground, ground] += np.maximum(matrix[ground, ground], 1)
        return matrix

    def ohms(self, edits):
        """Gives every reading [edit, network, reading]."""
        links = [self.links(edit) for edit in edits]
        roots = np.array([self.components(found) for found in links]).reshape(-1, self.n)
        out = np.empty((len(edits), len(self.networks), len(self.red)))
        for k in range(len(self.networks)):
            inverse = invert(np.array([self.laplacian(found, k, root) for found, root in zip(links, roots)]))
            self.solved += len(edits)
            a, b = self.red, self.black
            value = inverse[:, a, a] + inverse[:, b, b] - 2 * inverse[:, a, b]
            out[:, k] = np.where(roots[:, a] == roots[:, b], value, np.inf)
        return out

    def plain(self):
        """Gives every reading without mistakes [network, reading]."""
        links, n = self.links(Edit()), self.n
        root = self.components(links)
        out = np.full((len(self.networks), len(self.red)), np.inf)
        for r in np.flatnonzero(root[self.red] == root[self.black]):
            a, b = self.red[r], self.black[r]
            mine = np.flatnonzero(root == root[a])
            place = {node: i for i, node in enumerate([*(x for x in mine if x not in (a, b)), a, b])}
            for k in range(len(self.networks)):
                y = np.zeros((len(place), len(place)))
                for link in links:
                    if link[0] in place:
                        i, j = place[link[0]], place[link[1]]
                        y[[i, j], [j, i]] += link[2 + k]
                for i in range(len(place) - 2):
                    row = y[i, i + 1:]
                    y[i + 1:, i + 1:] += np.outer(row, row) / row.sum()
                    y[np.arange(len(y)), np.arange(len(y))] = 0
                out[k, r] = 1 / y[-1, -2]
        return out


def invert(a):
    """Inverts matrices in their place, by Gauss and Jordan; they are diagonally dominant."""
    for k in range(a.shape[1]):
        pivot = 1 / a[:, k, k]
        a[:, k, k] = 1
        a[:, k] *= pivot[:, None]
        others = a[:, :, k].copy()
        others[:, k] = 0
        a[:, :, k] -= others
        a -= others[:, :, None] * a[:, k][:, None, :]
    return a
