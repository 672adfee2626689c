//! Parts that float or may come to: *islands*, which only the leak ties to the datum, and what lies beyond a *cut*, a
//! link that alone holds a part of the network.
//!
//! The potential of such a part is a balance of leaks, some ten decades below its wires, and lost in the rounding of an
//! ordinary inverse. So the common *shift* of each part is an unknown of its own, and all about it that would cancel is
//! made from the leak, by two identities. Let `A` be the slopes, `Z` its inverse, `1` one on the part `S` and zero
//! elsewhere. Every law depends on differences, so where nothing but the leak holds `S`, `A·1 = leak·1`.
//!
//! - An island is tied to the datum at one node `r` by an artificial `G`: `(A + G r rᵀ)·1 = leak·1 + G r`, hence
//!   `G·Z r = 1 − leak·q` with `q = Z·1`. Taking the tie away again (Sherman and Morrison) leaves, for currents that
//!   enter and leave within `S`, `Z − (1 − leak·q) q'ᵀ/(G q_r)` with `q' = Zᵀ·1`: no digit is lost.
//! - Beyond a cut of slope `g` and ends `u`, likewise, `g·Z u = ±(1 − leak·q)`: the voltages that follow a current
//!   through the cut. What is left when it is taken away is `1 − g·uᵀZ u = ±leak·uᵀq`.

use super::links::Links;

pub(super) const NONE: u32 = u32::MAX;

/// Which nodes hold together by slopes, and the tree of a depth-first walk over them.
pub(super) struct Forest {
    /// Root of each node's part; the datum's part is rooted there.
    pub root: Vec<u32>,
    /// Nodes, each after its parent.
    pub order: Vec<u32>,
    /// Parent of each node; a root is its own.
    pub parent: Vec<u32>,
    /// The link to the parent where that is a cut, else none.
    pub cut: Vec<u32>,
    /// Place in `order`, and one past the last place of what lies beyond.
    pub enters: Vec<u32>,
    pub leaves: Vec<u32>,
}

/// Neighbours of each node: other node, number of the edge, and its link if that may be a cut.
type Edges = Vec<Vec<(u32, u32, u32)>>;

fn edges(nodes: usize, links: &Links) -> Edges {
    let mut edges = vec![Vec::new(); nodes];
    let mut count = 0;
    let mut join = |a: usize, b: usize, link: u32| {
        edges[a].push((b as u32, count, link));
        edges[b].push((a as u32, count, link));
        count += 1;
    };
    for (l, link) in links.all.iter().enumerate() {
        match links.terms(l) {
            [own] if own.plus == link.from && own.minus == link.to => join(link.from, link.to, l as u32),
            terms => {
                // What a voltage elsewhere controls is held together by more than one link.
                for term in terms {
                    let nodes = [link.from, link.to, term.plus, term.minus];
                    let pairs = nodes.windows(2).filter(|pair| pair[0] != pair[1]);
                    pairs.for_each(|pair| (0..2).for_each(|_| join(pair[0], pair[1], NONE)));
                }
            }
        }
    }
    edges
}

impl Forest {
    pub fn of(nodes: usize, datum: usize, links: &Links) -> Self {
        let edges = edges(nodes, links);
        let blank = vec![NONE; nodes];
        let mut forest = Self {
            root: blank.clone(),
            order: Vec::with_capacity(nodes),
            parent: blank.clone(),
            cut: blank.clone(),
            enters: blank.clone(),
            leaves: blank,
        };
        let mut low = vec![NONE; nodes];
        forest.walk_from(datum as u32, &edges, &mut low);
        (0..nodes as u32).for_each(|root| forest.walk_from(root, &edges, &mut low));
        forest
    }

    /// Depth first; `low` is the earliest node that a node's subtree reaches by an edge outside the tree.
    fn walk_from(&mut self, root: u32, edges: &Edges, low: &mut [u32]) {
        if self.root[root as usize] != NONE {
            return;
        }
        self.enter(root, root, root, low);
        let mut stack = vec![(root, NONE, NONE, 0)];
        while let Some((node, by, link, next)) = stack.last_mut() {
            let (v, by, link) = (*node as usize, *by, *link);
            if let Some((to, edge, its_link)) = edges[v].get(*next).copied() {
                *next += 1;
                if edge == by {
                    continue;
                }
                if self.root[to as usize] == NONE {
                    self.enter(to, v as u32, root, low);
                    stack.push((to, edge, its_link, 0));
                } else {
                    low[v] = low[v].min(self.enters[to as usize]);
                }
                continue;
            }
            stack.pop();
            self.leaves[v] = self.order.len() as u32;
            let parent = self.parent[v] as usize;
            if parent != v {
                low[parent] = low[parent].min(low[v]);
                if low[v] == self.enters[v] {
                    self.cut[v] = link;
                }
            }
        }
    }

    fn enter(&mut self, node: u32, parent: u32, root: u32, low: &mut [u32]) {
        let v = node as usize;
        (self.root[v], self.parent[v]) = (root, parent);
        self.enters[v] = self.order.len() as u32;
        low[v] = self.enters[v];
        self.order.push(node);
    }

    /// Whether a node is in the subtree of another.
    pub fn beyond(&self, top: usize, node: usize) -> bool {
        (self.enters[top]..self.leaves[top]).contains(&self.enters[node])
    }
}

/// The shifts of all islands and of what lies beyond each cut. Vectors by node stand one after another.
#[derive(Debug, Default)]
pub(super) struct Shifts {
    pub nodes: usize,
    /// Volts at each node for a shift of one: `inside − lean`.
    pub volts: Vec<f64>,
    /// Its constant part.
    pub inside: Vec<f64>,
    /// Its part that the leak makes.
    pub lean: Vec<f64>,
    /// One in the part, else zero.
    pub member: Vec<f64>,
    /// Share of a current from a node that does not count as leaving the part, for the leak takes it before.
    pub drift: Vec<f64>,
    pub one: Vec<Shift>,
}

/// One shift.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shift {
    /// Amperes to the datum for a shift of a volt.
    pub rate: f64,
    /// Amperes that leave the part through its cut at the base point; 0 for an island.
    pub start: f64,
    /// What rounding may have made of that.
    pub noise: f64,
    /// Slope of the cut; 0 for an island.
    pub slope: f64,
    /// 1 if the cut's link leads out of the part, −1 if into it; 0 for an island.
    pub sense: f64,
    pub from: usize,
    pub to: usize,
}

impl Shifts {
    /// Whether one of two nodes is in the part and one is not.
    pub fn crosses(&self, shift: usize, a: usize, b: usize) -> bool {
        let at = shift * self.nodes;
        (self.member[at + a] - self.member[at + b]).abs() > 0.5
    }

    /// Share of a current `from` → `to` that leaves the part.
    #[inline]
    pub fn leaving(&self, shift: usize, from: usize, to: usize) -> f64 {
        let at = shift * self.nodes;
        (self.member[at + from] - self.member[at + to]) - (self.drift[at + from] - self.drift[at + to])
    }

    /// Volts between two nodes for a shift of one.
    #[inline]
    pub fn between(&self, shift: usize, plus: usize, minus: usize) -> f64 {
        let at = shift * self.nodes;
        (self.inside[at + plus] - self.inside[at + minus]) - (self.lean[at + plus] - self.lean[at + minus])
    }

    pub fn push(&mut self, inside: &[f64], lean: &[f64], member: &[f64], drift: &[f64], shift: Shift) {
        self.volts.extend(inside.iter().zip(lean).map(|(i, l)| i - l));
        self.inside.extend_from_slice(inside);
        self.lean.extend_from_slice(lean);
        self.member.extend_from_slice(member);
        self.drift.extend_from_slice(drift);
        self.one.push(shift);
    }
}
