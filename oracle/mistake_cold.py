"""Reckons the resistances of stages with the power off.

NetworkX says what hangs together; within a component the Laplacian, grounded at one node, is inverted.
Two nodes of different components are open: infinite.
"""

import networkx
import numpy as np


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

    def laplacian(self, links, k, root, kind=float):
        """Gives the Laplacian with one node of each component tied down."""
        a, b = (np.array([link[i] for link in links], int) for i in (0, 1))
        y = np.array([link[2 + k] for link in links], kind)
        matrix = np.zeros((self.n, self.n), kind)
        for p, q, way in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
            np.add.at(matrix, (p, q), way * y)
        ground = np.unique(root)
        matrix[ground, ground] += np.maximum(matrix[ground, ground], 1)
        return matrix

    def ohms(self, edits, exact=False):
        """Gives every reading [edit, network, reading]."""
        kind = np.longdouble if exact else float
        links = [self.links(edit) for edit in edits]
        roots = np.array([self.components(found) for found in links]).reshape(-1, self.n)
        out = np.empty((len(edits), len(self.networks), len(self.red)))
        for k in range(len(self.networks)):
            matrices = np.array([self.laplacian(found, k, root, kind) for found, root in zip(links, roots)])
            inverse = invert(matrices) if exact else np.linalg.inv(matrices)
            self.solved += len(edits)
            a, b = self.red, self.black
            value = inverse[:, a, a] + inverse[:, b, b] - 2 * inverse[:, a, b]
            out[:, k] = np.where(roots[:, a] == roots[:, b], value, np.inf)
        return out


def invert(matrices):
    """Inverts matrices in extended precision, by Gauss and Jordan; they are diagonally dominant."""
    size, n, _ = matrices.shape
    a = np.concatenate([matrices, np.broadcast_to(np.eye(n, dtype=matrices.dtype), (size, n, n))], axis=2)
    for k in range(n):
        a[:, k] /= a[:, k, k][:, None]
        others = a[:, :, k].copy()
        others[:, k] = 0
        a -= others[:, :, None] * a[:, k][:, None, :]
    return a[:, :, n:]
