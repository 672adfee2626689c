//! Whether the supplies hold at an operating point, or have switched themselves off.

use voltwright_circuit::{Flow, State};
use voltwright_model::{Loading, Solved};

/// Whether an element, or an output of it, has switched itself off.
pub fn is_tripped(flow: &Flow) -> bool {
    flow.state == State::Tripped || flow.outputs.iter().any(|o| o.state == State::Tripped)
}

/// Whether there is an operating point at which nothing has switched itself off.
pub fn holds(solved: &Solved<'_>, loading: Loading) -> bool {
    solved.point(loading).is_ok_and(|p| !p.solution.elements.iter().any(is_tripped))
}
