//! What a mistake changes, in terms of the wiring: wires, plugs and parts, not networks.

use voltwright_job::{Job, Terminal};

/// One way in which the wiring, or a part, differs from the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A wire is not there.
    Off(usize),
    /// An end of a wire sits elsewhere.
    End {
        /// The wire.
        wire: usize,
        /// Which of its ends.
        end: End,
        /// Where it sits.
        at: Terminal,
    },
    /// Two terminals touch.
    Bridge(Terminal, Terminal),
    /// A plug's ways touch other ways than they should, or nothing.
    Mate {
        /// The plug.
        plug: usize,
        /// What each of its ways touches.
        ways: Vec<Option<Terminal>>,
    },
    /// A part with two ends sits the other way round.
    Turned(usize),
    /// A part has failed.
    Failed(usize, Failure),
}

/// An end of a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The one written first.
    From,
    /// The one written second.
    To,
}

/// How a part fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Failure {
    /// Conducts from end to end, or from input to output.
    Shorted,
    /// Conducts nothing.
    Open,
    /// An output, by index, that is as high as the part can drive it: its feedback is open.
    High(usize),
    /// An output, by index, that gives nothing.
    Dead(usize),
    /// A device that should wait does not.
    Stuck,
}

impl End {
    /// Both.
    pub const BOTH: [End; 2] = [End::From, End::To];

    /// Where this end of a wire should be.
    pub fn of(self, job: &Job, wire: usize) -> Terminal {
        match self {
            End::From => job.wires[wire].from,
            End::To => job.wires[wire].to,
        }
    }

    /// The other one.
    #[must_use]
    pub fn other(self) -> End {
        match self {
            End::From => End::To,
            End::To => End::From,
        }
    }
}

/// What a change takes hold of: two changes of one thing cannot be told apart from a third, so such a pair is not one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hold {
    /// A wire.
    Wire(usize),
    /// A plug's mating.
    Plug(usize),
    /// A part.
    Part(usize),
}

impl Change {
    /// What it takes hold of; nothing for a bridge, which is only added.
    pub fn hold(&self) -> Option<Hold> {
        match self {
            Change::Off(wire) | Change::End { wire, .. } => Some(Hold::Wire(*wire)),
            Change::Bridge(..) => None,
            Change::Mate { plug, .. } => Some(Hold::Plug(*plug)),
            Change::Turned(part) | Change::Failed(part, _) => Some(Hold::Part(*part)),
        }
    }
}
