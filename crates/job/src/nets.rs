//! Which terminals are one conductor: through wires, mated plugs and joints inside parts.

use crate::document::{Job, PartKind, Terminal, WayUse};

/// Numbers all terminals of a job, in a fixed order.
#[derive(Debug, Clone)]
pub struct Terminals {
    parts: Vec<usize>,
    plugs: Vec<usize>,
    sockets: Vec<Vec<usize>>,
    /// How many there are; the last is the chassis.
    pub count: usize,
}

impl Terminals {
    /// Of a job.
    pub fn new(job: &Job) -> Self {
        let mut count = 0;
        let mut next = |n: usize| {
            count += n;
            count - n
        };
        let parts = job.parts.iter().map(|p| next(p.terminals.len())).collect();
        let plugs = job.plugs.iter().map(|p| next(p.ways)).collect();
        let sockets =
            job.loads.iter().map(|l| l.sockets.iter().map(|s| next(s.ways.len())).collect()).collect();
        next(1);
        Self { parts, plugs, sockets, count }
    }

    /// The number of a terminal.
    pub fn index(&self, terminal: Terminal) -> usize {
        match terminal {
            Terminal::Part(p, t) => self.parts[p] + t,
            Terminal::Plug(p, w) => self.plugs[p] + w,
            Terminal::Socket(l, s, w) => self.sockets[l][s] + w,
            Terminal::Chassis => self.count - 1,
        }
    }
}

/// The name of a terminal as it is written in wires.
pub fn name(job: &Job, terminal: Terminal) -> String {
    match terminal {
        Terminal::Part(p, t) => format!("{}.{}", job.parts[p].key.text, job.parts[p].terminals[t]),
        Terminal::Plug(p, w) => format!("{}.{}", job.plugs[p].key.text, w + 1),
        Terminal::Socket(l, s, w) => {
            format!("{}.{}.{}", job.loads[l].key.text, job.loads[l].sockets[s].name.text, w + 1)
        }
        Terminal::Chassis => "chassis".into(),
    }
}

/// All terminals of a job in the order of [`Terminals`].
pub fn all(job: &Job) -> Vec<Terminal> {
    let parts = job
        .parts
        .iter()
        .enumerate()
        .flat_map(|(p, part)| (0..part.terminals.len()).map(move |t| Terminal::Part(p, t)));
    let plugs =
        job.plugs.iter().enumerate().flat_map(|(p, plug)| (0..plug.ways).map(move |w| Terminal::Plug(p, w)));
    let sockets = job.loads.iter().enumerate().flat_map(|(l, load)| {
        load.sockets
            .iter()
            .enumerate()
            .flat_map(move |(s, socket)| (0..socket.ways.len()).map(move |w| Terminal::Socket(l, s, w)))
    });
    parts.chain(plugs).chain(sockets).chain([Terminal::Chassis]).collect()
}

/// Sets of terminals that are one conductor.
#[derive(Debug, Clone)]
pub struct Nets {
    /// Numbers of the terminals.
    pub terminals: Terminals,
    parent: Vec<usize>,
}

impl Nets {
    /// Joins what wires, mated plugs and joints inside parts join.
    pub fn of_conductors(job: &Job) -> Self {
        let terminals = Terminals::new(job);
        let mut nets = Self { parent: (0..terminals.count).collect(), terminals };
        for (p, part) in job.parts.iter().enumerate() {
            let joined: Vec<usize> = joined_terminals(part);
            for pair in joined.windows(2) {
                nets.join(Terminal::Part(p, pair[0]), Terminal::Part(p, pair[1]));
            }
        }
        for wire in &job.wires {
            nets.join(wire.from, wire.to);
        }
        for (p, plug) in job.plugs.iter().enumerate() {
            let Some((l, s)) = plug.mates else { continue };
            for w in 0..plug.ways.min(job.loads[l].sockets[s].ways.len()) {
                nets.join(Terminal::Plug(p, w), Terminal::Socket(l, s, w));
            }
        }
        nets.join_planes(job);
        nets.flatten();
        nets
    }

    /// The same, and joins what current flows through: fuses, closed switches, diodes, closed interlocks.
    pub fn of_paths(job: &Job) -> Self {
        Self::through_only(job, |_| true)
    }

    /// The same, through those kinds of parts only that are asked for.
    pub fn through_only(job: &Job, wanted: impl Fn(&PartKind) -> bool) -> Self {
        let mut nets = Self::of_conductors(job);
        for (p, part) in job.parts.iter().enumerate().filter(|(_, part)| wanted(&part.kind)) {
            for (a, b) in through(&part.kind) {
                nets.join(Terminal::Part(p, a), Terminal::Part(p, b));
            }
        }
        nets.flatten();
        nets
    }

    /// Ways of one rail on a load are one plane: what is wired to one of them feeds what is wired to another.
    fn join_planes(&mut self, job: &Job) {
        for (l, load) in job.loads.iter().enumerate() {
            let mut first: Vec<(WayUse, Terminal)> = vec![(WayUse::Chassis, Terminal::Chassis)];
            for (s, socket) in load.sockets.iter().enumerate() {
                for (w, (way, _)) in
                    socket.ways.iter().enumerate().filter(|(_, (way, _))| *way != WayUse::Nothing)
                {
                    let here = Terminal::Socket(l, s, w);
                    match first.iter().find(|(known, _)| known == way) {
                        Some((_, plane)) => _ = self.join(*plane, here),
                        None => first.push((*way, here)),
                    }
                }
            }
        }
    }

    /// Makes two terminals one; tells whether they were two before.
    pub fn join(&mut self, a: Terminal, b: Terminal) -> bool {
        let (a, b) = (self.shorten(a), self.shorten(b));
        let (low, high) = (a.min(b), a.max(b));
        self.parent[high] = low;
        low != high
    }

    /// The net of a terminal, with the way to it made short.
    fn shorten(&mut self, terminal: Terminal) -> usize {
        let mut i = self.terminals.index(terminal);
        while self.parent[i] != i {
            self.parent[i] = self.parent[self.parent[i]];
            i = self.parent[i];
        }
        i
    }

    /// Makes every look-up a single step.
    fn flatten(&mut self) {
        // A parent has a lower number, so it is flat already when its children are met.
        for i in 0..self.parent.len() {
            self.parent[i] = self.parent[self.parent[i]];
        }
    }

    /// The net a terminal belongs to.
    pub fn net(&self, terminal: Terminal) -> usize {
        let mut i = self.terminals.index(terminal);
        while self.parent[i] != i {
            i = self.parent[i];
        }
        i
    }

    /// Whether two terminals are one.
    pub fn same(&self, a: Terminal, b: Terminal) -> bool {
        self.net(a) == self.net(b)
    }
}

/// Terminals of a part that are one inside.
pub fn joined_terminals(part: &crate::document::Part) -> Vec<usize> {
    let index = |name: &str| part.terminals.iter().position(|t| t == name);
    match &part.kind {
        PartKind::MainsSupply(s) | PartKind::Converter(s) => {
            s.joined.iter().filter_map(|j| index(&j.text)).collect()
        }
        PartKind::RawSupply(s) => s.joined.iter().filter_map(|j| index(&j.text)).collect(),
        PartKind::Strip => (0..part.terminals.len()).collect(),
        _ => Vec::new(),
    }
}

/// Pairs of terminals that a closed part conducts between.
pub fn through(kind: &PartKind) -> Vec<(usize, usize)> {
    match kind {
        PartKind::Fuse(_) | PartKind::Diode(_) | PartKind::Interlock(_) => vec![(0, 1)],
        PartKind::Switch(s) => (0..s.poles).map(|p| (2 * p, 2 * p + 1)).collect(),
        _ => Vec::new(),
    }
}
