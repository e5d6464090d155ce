//! The command's arguments.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum, builder::PossibleValuesParser};
use loomwright_core::{
    document::Document,
    noise::{Answer, Hear, Settings, Step},
    reports::{PAPERS, wires::Group},
    rules::Level,
};

/// Checks, solves, draws and lists the wiring of an aircraft.
///
/// An aid to the builder. Local regulation, the equipment maker's manual and the judgment of a
/// licensed person come first.
#[derive(Parser)]
#[command(name = "loomwright", version)]
pub struct Ask {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Subcommand)]
pub enum Command {
    /// Check a project against every rule. Exit code 0: no open finding at or above the level of
    /// --fail-at; 1: at least one; 2: the file cannot be read
    Check(Check),
    /// Volts at every terminal and amps in every wire, phase by phase
    Solve {
        /// Project file
        file: PathBuf,
        /// Only the phase with this name or id
        #[arg(long)]
        state: Option<String>,
        /// Output format
        #[arg(long, value_enum, default_value_t = Data::Json)]
        format: Data,
    },
    /// Solve a bare network: an object with `reference`, `elements` and an optional `off` list
    Network {
        /// Network file
        file: PathBuf,
        /// Output format
        #[arg(long, value_enum, default_value_t = Data::Json)]
        format: Data,
    },
    /// Loads by bus and phase: plain sums, solved currents, the alternator's share
    Loads {
        /// Project file
        file: PathBuf,
        /// Output format
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
    },
    /// Battery minutes after the alternator stops: no pilot action, main bus off, essential loads only
    Endurance {
        /// Project file
        file: PathBuf,
        /// Output format
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
        /// Draw the bus voltage over time into this SVG file as well
        #[arg(long)]
        plot: Option<PathBuf>,
    },
    /// What stops if a part fails open: each source, breaker, fuse, switch, wire, splice, connector
    /// and ground
    WhatStops {
        /// Project file
        file: PathBuf,
        /// Only this record, by its key or its name
        #[arg(long)]
        item: Option<String>,
        /// Phase, by its name or id; if left out, one with the alternators on
        #[arg(long)]
        state: Option<String>,
        /// Output format
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
    },
    /// Ground loops and shared returns that put noise into the audio, and what to test first
    Noise {
        /// Project file
        file: PathBuf,
        /// What is heard
        #[arg(long, value_enum)]
        hear: Option<Heard>,
        /// What a test showed, as STEP=ANSWER: off,usb1=gone, or ohms,ic1=these,jk2; may be repeated.
        /// Answers: same, gone, partly, or these and keys. The next test is printed with its step and keys
        #[arg(long, value_parser = answer)]
        answer: Vec<(Step, Answer)>,
        /// Phase, by its name or id; if left out, one with the alternators on
        #[arg(long)]
        state: Option<String>,
        /// Output format
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
        #[command(flatten)]
        figures: NoiseFigures,
    },
    /// Draw a sheet as SVG
    Draw {
        /// Project file
        file: PathBuf,
        /// Number or id of the sheet
        #[arg(long)]
        sheet: String,
        /// File to write; if left out, print to the terminal
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
    /// Lay out the devices of a sheet again, so that few wires cross
    Tidy {
        /// Project file
        file: PathBuf,
        /// Number or id of a sheet
        #[arg(long, required_unless_present = "all")]
        sheet: Option<String>,
        /// All sheets
        #[arg(long, conflicts_with = "sheet")]
        all: bool,
        /// Project file to write
        #[arg(short, long)]
        output: PathBuf,
    },
    /// Print a paper
    Report(Report),
    /// List what changed between two files: records, fields, and findings that came or went
    Diff {
        /// Earlier project file
        before: PathBuf,
        /// Later project file
        after: PathBuf,
        /// Output format
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
    },
    /// Merge two files that began as the same project. Exit code 0: no conflict; 1: both changed the
    /// same fields, MINE is kept there; 2: a file cannot be read. In git, as a merge driver:
    /// `loomwright merge %O %A %B -o %A`
    Merge {
        /// The file that both began with
        common: PathBuf,
        /// My file
        mine: PathBuf,
        /// The other builder's file
        other: PathBuf,
        /// File to write; if left out, print to the terminal
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
    /// Show what swapping a unit changes: pins, currents, breakers, wires, endurance, findings. Changes
    /// nothing unless --output is given
    Swap(Swap),
    /// Make a fix that a rule suggests for a finding, tried first: say what comes and what goes. Lists findings
    /// with their fixes if --finding is left out. Nothing is changed unless --output is given
    Fix(Fix),
    /// Write one of the sample aircraft
    Sample {
        /// Which
        #[arg(value_enum)]
        name: Sample,
        /// File to write; if left out, print to the terminal
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
    /// Print the JSON Schema of project files
    Schema,
    /// Rewrite a project file in the standard layout; its content stays the same
    Rewrite {
        /// Project file
        file: PathBuf,
    },
}

#[derive(Args)]
pub struct Check {
    /// Project file
    pub file: PathBuf,
    /// Output format
    #[arg(long, value_enum, default_value_t = Form::Text)]
    pub format: Form,
    /// Lowest level of a finding that makes the exit code 1
    #[arg(long, value_enum, default_value_t = FailAt::Fault)]
    pub fail_at: FailAt,
}

#[derive(Args)]
pub struct Fix {
    /// Project file
    pub file: PathBuf,
    /// Number of the finding in the list that this command gives without it
    #[arg(long)]
    pub finding: Option<usize>,
    /// Number of the fix there; may be left out where only one is offered
    #[arg(long = "fix", value_name = "FIX", requires = "finding")]
    pub number: Option<usize>,
    /// Write the project with the fix here
    #[arg(short, long, requires = "finding")]
    pub output: Option<PathBuf>,
}

#[derive(Args)]
pub struct Report {
    /// Project file
    pub file: PathBuf,
    /// Which paper
    #[arg(value_parser = paper_names())]
    pub paper: String,
    /// Output format
    #[arg(long, value_enum, default_value_t = PaperForm::Csv)]
    pub format: PaperForm,
    /// Group the wire list
    #[arg(long, value_enum)]
    pub group: Option<GroupBy>,
    /// Only rows that contain this text
    #[arg(long)]
    pub only: Option<String>,
    /// Sort rows by this column, named as in CSV
    #[arg(long)]
    pub sort: Option<String>,
    /// Compare the load sheet with an earlier project, or keep only the ring-out lines of circuits that changed since:
    /// a file, or the first letters of a version's key
    #[arg(long)]
    pub before: Option<PathBuf>,
    /// Date on every page, YYYY-MM-DD; today's, universal time, if left out
    #[arg(long)]
    pub date: Option<String>,
    /// File to write; if left out, print to the terminal
    #[arg(short, long)]
    pub output: Option<PathBuf>,
}

#[derive(Args)]
pub struct Swap {
    /// Project file
    pub file: PathBuf,
    /// Tag of the device, or its id
    pub device: String,
    /// The new unit: a catalogue part by its key, or a device by its tag
    #[arg(long)]
    pub unit: String,
    /// File that holds the new unit; if left out, the catalogue and FILE
    #[arg(long)]
    pub from: Option<PathBuf>,
    /// Old pin and new pin, by their marking: 2=14, or J105-2=J1-14; nothing after = leaves the wire
    /// open
    #[arg(long = "pin", value_name = "OLD=NEW")]
    pub pins: Vec<String>,
    /// Output format
    #[arg(long, value_enum, default_value_t = PaperForm::Text)]
    pub format: PaperForm,
    /// Write the project with the new unit to this file
    #[arg(short, long)]
    pub output: Option<PathBuf>,
    /// Who swapped it; adds an entry to the log
    #[arg(long, requires_all = ["date", "output"])]
    pub who: Option<String>,
    /// Date of the swap, YYYY-MM-DD
    #[arg(long, requires = "who")]
    pub date: Option<String>,
}

/// Papers by name, and two tables that print on their own.
fn paper_names() -> PossibleValuesParser {
    let names = PAPERS.iter().map(|(name, ..)| *name);
    names
        .chain(["always-hot", "endurance"])
        .collect::<Vec<_>>()
        .into()
}

/// How the wire list is grouped.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum GroupBy {
    Harness,
    Device,
    Sheet,
    Status,
}

impl GroupBy {
    /// The grouping of the core.
    pub fn group(self) -> Group {
        match self {
            Self::Harness => Group::Harness,
            Self::Device => Group::Device,
            Self::Sheet => Group::Sheet,
            Self::Status => Group::Status,
        }
    }
}

/// What is heard in the headset.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Heard {
    Whine,
    Strobe,
    Charging,
    EngineOff,
    Squelch,
    Transmit,
    OneSeat,
    Other,
}

impl Heard {
    /// The noise of the core.
    pub fn hear(self) -> Hear {
        match self {
            Self::Whine => Hear::Whine,
            Self::Strobe => Hear::Strobe,
            Self::Charging => Hear::Charging,
            Self::EngineOff => Hear::EngineOff,
            Self::Squelch => Hear::Squelch,
            Self::Transmit => Hear::Transmit,
            Self::OneSeat => Hear::OneSeat,
            Self::Other => Hear::Other,
        }
    }
}

fn answer(text: &str) -> Result<(Step, Answer), String> {
    let words = |text: &str| text.split(',').map(str::to_owned).collect::<Vec<_>>();
    let (step, answer) = text.split_once('=').unwrap_or((text, ""));
    let read = Step::read(&words(step)).zip(Answer::read(&words(answer)));
    read.ok_or_else(|| {
        format!("found {text:?}, expected a step, = and an answer, as off,usb1=gone")
    })
}

/// Values that replace the project's own. Where neither has one, an assumed value is used.
#[derive(Args)]
pub struct NoiseFigures {
    /// Speed of the engine, 1/min
    #[arg(long, value_parser = positive)]
    pub rpm: Option<f64>,
    /// Alternator turns per engine turn
    #[arg(long, value_parser = positive)]
    pub pulley: Option<f64>,
    /// Pole pairs of the alternator
    #[arg(long, value_parser = positive)]
    pub pole_pairs: Option<f64>,
    /// Ripple current of each alternator, A rms
    #[arg(long, value_parser = positive)]
    pub ripple_a: Option<f64>,
    /// Inductance of wires and shields, uH/m
    #[arg(long, value_parser = positive)]
    pub wire_uh_per_m: Option<f64>,
    /// Inductance of each bond to structure, uH
    #[arg(long, value_parser = positive)]
    pub bond_uh: Option<f64>,
}

impl NoiseFigures {
    /// The settings of a project with these figures in place of its own.
    pub fn settings(&self, document: &Document) -> Settings {
        let mut project = document.project.clone();
        let own = project.noise.get_or_insert_default();
        for (figure, own) in [
            (self.rpm, &mut own.engine_rpm),
            (self.pulley, &mut own.pulley_ratio),
            (self.pole_pairs, &mut own.pole_pairs),
            (self.ripple_a, &mut own.ripple_a),
            (self.wire_uh_per_m, &mut own.wire_uh_per_m),
            (self.bond_uh, &mut own.bond_uh),
        ] {
            *own = figure.or(*own);
        }
        Settings::of(&project)
    }
}

fn positive(text: &str) -> Result<f64, String> {
    let value = text.parse().ok().filter(|it| (1e-9..=1e9).contains(it));
    value.ok_or_else(|| format!("found {text:?}, expected a number over 0"))
}

/// Text for people, JSON for programs.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Form {
    Text,
    Json,
}

/// JSON only.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Data {
    Json,
}

/// Formats of a paper.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum PaperForm {
    Html,
    Csv,
    Json,
    Text,
}

/// A sample aircraft.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Sample {
    Sorrel,
    Teasel,
    Bryony,
}

/// The lowest level that counts as a failure.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum FailAt {
    Hazard,
    Fault,
    Caution,
    Note,
}

impl FailAt {
    /// The level of a finding.
    pub fn level(self) -> Level {
        match self {
            Self::Hazard => Level::Hazard,
            Self::Fault => Level::Fault,
            Self::Caution => Level::Caution,
            Self::Note => Level::Note,
        }
    }
}
