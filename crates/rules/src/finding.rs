//! What a check says, and what could not be judged.

use std::ops::Range;
use voltwright_quantity::Working;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Do not energise.
    Stop,
    /// Energise only with this in mind.
    Caution,
    /// Worth knowing.
    Note,
}

/// Where on the path from the wall to the board a finding belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stretch {
    /// The mains and the nameplate.
    Wall,
    /// The machine's own supply.
    OldSupply,
    /// Inlet, fuse, switch and the wires between them.
    MainsSide,
    /// Supplies, converters and regulators.
    Supply,
    /// Wires and contacts between supply and loads.
    Wiring,
    /// What reaches the boards.
    Load,
    /// Heat and room.
    Case,
}

impl Stretch {
    /// As a heading.
    pub fn words(self) -> &'static str {
        match self {
            Stretch::Wall => "At the wall",
            Stretch::OldSupply => "The machine's own supply",
            Stretch::MainsSide => "Inlet to supply",
            Stretch::Supply => "Supply",
            Stretch::Wiring => "Wires and contacts",
            Stretch::Load => "At the boards",
            Stretch::Case => "In the case",
        }
    }
}

/// A kind of finding: its code, where it belongs, and what it is about.
#[derive(Debug)]
pub struct Code {
    /// As shown and asked for: `ground-lift`.
    pub name: &'static str,
    /// Where on the path it belongs.
    pub stretch: Stretch,
    /// What is judged, in a sentence.
    pub about: &'static str,
}

impl Code {
    /// A code.
    pub const fn new(name: &'static str, stretch: Stretch, about: &'static str) -> Self {
        Self { name, stretch, about }
    }
}

/// The one thing of the job that a finding is about, by its place in the job's lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    /// A part.
    Part(usize),
    /// A plug.
    Plug(usize),
    /// A wire.
    Wire(usize),
    /// A load as a whole, or its 0 V.
    Load(usize),
    /// A rail where it arrives at a load.
    Rail {
        /// The load.
        load: usize,
        /// The rail.
        rail: usize,
    },
}

/// What a check says, with its working and the cure.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Finding {
    /// Code of its kind.
    pub code: &'static str,
    /// How grave.
    pub severity: Severity,
    /// Where on the path.
    pub stretch: Stretch,
    /// What it is about: `board, rail p5`.
    pub subject: String,
    /// The same as a place in the job, where it is about one thing that has one.
    #[serde(skip)]
    pub about: Option<About>,
    /// What was found, in one or two sentences.
    pub says: String,
    /// How the figure came about.
    pub working: Option<Working>,
    /// What would cure it.
    pub cure: Option<String>,
    /// Share of random samples over the spreads in which the limit is passed.
    pub likelihood: Option<f64>,
    /// Bytes of the job file that it is about.
    pub place: Option<Range<usize>>,
}

impl Finding {
    /// What was found, without working or cure yet.
    pub fn new(subject: impl Into<String>, says: impl Into<String>) -> Self {
        Self {
            code: "",
            severity: Severity::Note,
            stretch: Stretch::Wall,
            subject: subject.into(),
            about: None,
            says: says.into(),
            working: None,
            cure: None,
            likelihood: None,
            place: None,
        }
    }
    /// With what in the job it is about.
    #[must_use]
    pub fn about(mut self, about: About) -> Self {
        self.about = Some(about);
        self
    }
    /// With its working.
    #[must_use]
    pub fn working(mut self, working: Working) -> Self {
        self.working = Some(working);
        self
    }
    /// With what would cure it.
    #[must_use]
    pub fn cure(mut self, cure: impl Into<String>) -> Self {
        self.cure = Some(cure.into());
        self
    }
    /// With its place in the job file.
    #[must_use]
    pub fn at(mut self, place: &Range<usize>) -> Self {
        self.place = Some(place.clone());
        self
    }
}

/// What could not be judged, and what to enter to have it judged.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Unjudged {
    /// Code of the finding that it might give.
    pub code: &'static str,
    /// What it is about.
    pub subject: String,
    /// What is missing, as keys of the job file.
    pub enter: String,
    /// What it would then tell.
    pub tells: String,
}
