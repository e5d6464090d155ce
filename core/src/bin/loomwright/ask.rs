//! What can be asked of the command.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum, builder::PossibleValuesParser};
use loomwright_core::{
    document::Document,
    noise::{Hear, Settings},
    reports::{PAPERS, wires::Group},
    rules::Level,
};

/// Checks, solves, draws and lists the wiring of an aircraft.
///
/// An aid to the builder. Local regulation, the equipment maker's manual and the judgement of a
/// licensed person come first.
#[derive(Parser)]
#[command(name = "loomwright", version)]
pub struct Ask {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Subcommand)]
pub enum Command {
    /// Run the rules over a project. Exit code 0: nothing open at or above the level of --deny;
    /// 1: something is; 2: the file cannot be read.
    Check(Check),
    /// Volts at every terminal and amps in every wire, state by state
    Solve {
        /// Project file
        file: PathBuf,
        /// Only the state with this name or id
        #[arg(long)]
        state: Option<String>,
        /// Form of the answer
        #[arg(long, value_enum, default_value_t = Data::Json)]
        format: Data,
    },
    /// Solve a bare network: an object with `reference`, `elements` and an optional `off` list
    Network {
        /// Network file
        file: PathBuf,
        /// Form of the answer
        #[arg(long, value_enum, default_value_t = Data::Json)]
        format: Data,
    },
    /// Loads by bus and phase: plain sums, solved currents, the alternator's share
    Loads {
        /// Project file
        file: PathBuf,
        /// Form of the answer
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
    },
    /// Minutes after the alternator stops: nothing done, main bus shed, essential only
    Endurance {
        /// Project file
        file: PathBuf,
        /// Form of the answer
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
        /// Draw the bus voltage over time into this SVG file as well
        #[arg(long)]
        plot: Option<PathBuf>,
    },
    /// What stops if a part fails open: every source, protector, switch, wire, splice, connector and
    /// ground in turn
    WhatStops {
        /// Project file
        file: PathBuf,
        /// Only this record: a key, or what it is called
        #[arg(long)]
        item: Option<String>,
        /// In the state with this name or id; in one with the alternators on if left out
        #[arg(long)]
        state: Option<String>,
        /// Form of the answer
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
    },
    /// Loops and shared returns that bring noise into the audio, and what to test first
    Noise {
        /// Project file
        file: PathBuf,
        /// What is heard
        #[arg(long, value_enum)]
        hear: Option<Heard>,
        /// In the state with this name or id; in one with the alternators on if left out
        #[arg(long)]
        state: Option<String>,
        /// Form of the answer
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
        /// File to write; to the terminal if left out
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
    /// Print a paper
    Report(Report),
    /// Say how a project became another: records and fields, findings that came and went
    Diff {
        /// Project file before
        before: PathBuf,
        /// Project file after
        after: PathBuf,
        /// Form of the answer
        #[arg(long, value_enum, default_value_t = Form::Text)]
        format: Form,
    },
    /// Put together what two builders did since they had the same project. Exit code 0: all of it fits;
    /// 1: both changed the same fields, OURS stands there; 2: a file cannot be read. As a driver of git:
    /// `loomwright merge %O %A %B -o %A`
    Merge {
        /// The project that both began with
        base: PathBuf,
        /// Ours
        ours: PathBuf,
        /// Theirs
        theirs: PathBuf,
        /// File to write; to the terminal if left out
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
    /// Say what another unit in a device's place would do: pins, currents, protectors, wires, endurance,
    /// findings. Nothing is changed unless --output is given
    Swap(Swap),
    /// Make a fix that a rule suggests for a finding, tried first: say what comes and what goes. Lists findings
    /// with their fixes if --finding is left out. Nothing is changed unless --output is given
    Fix(Fix),
    /// Write one of the sample aircraft
    Sample {
        /// Which
        #[arg(value_enum)]
        name: Sample,
        /// File to write; to the terminal if left out
        #[arg(short, long)]
        output: Option<PathBuf>,
    },
    /// Print the JSON Schema of project files
    Schema,
    /// Write a project file anew in its one layout; what it says stays the same
    Fmt {
        /// Project file
        file: PathBuf,
    },
}

#[derive(Args)]
pub struct Check {
    /// Project file
    pub file: PathBuf,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = Form::Text)]
    pub format: Form,
    /// Lowest level that makes the exit code 1
    #[arg(long, value_enum, default_value_t = Deny::Fault)]
    pub deny: Deny,
}

#[derive(Args)]
pub struct Fix {
    /// Project file
    pub file: PathBuf,
    /// Number of the finding in the list that this command gives without it
    #[arg(long)]
    pub finding: Option<usize>,
    /// Number of the fix there; may be left out where only one is offered
    #[arg(long, requires = "finding")]
    pub fix: Option<usize>,
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
    /// Form of the paper
    #[arg(long, value_enum, default_value_t = PaperForm::Csv)]
    pub format: PaperForm,
    /// The wire list by this
    #[arg(long, value_enum)]
    pub group: Option<GroupBy>,
    /// Only rows in which this text stands
    #[arg(long)]
    pub only: Option<String>,
    /// Rows in the order of this column, named as in CSV
    #[arg(long)]
    pub sort: Option<String>,
    /// The project before a change, for the load sheet: a file, or the first letters of the key of a revision
    #[arg(long)]
    pub before: Option<PathBuf>,
    /// File to write; to the terminal if left out
    #[arg(short, long)]
    pub output: Option<PathBuf>,
}

#[derive(Args)]
pub struct Swap {
    /// Project file
    pub file: PathBuf,
    /// Tag of the device, or its id
    pub device: String,
    /// The new unit: a part of the catalogue by its name there, or a device by its tag
    #[arg(long)]
    pub unit: String,
    /// The project in which the new unit is; in the catalogue or FILE if left out
    #[arg(long)]
    pub from: Option<PathBuf>,
    /// Where a pin goes, both by what is marked beside them: 2=14, or J105-2=J1-14; nothing after = leaves
    /// its wires open
    #[arg(long = "pin", value_name = "OLD=NEW")]
    pub pins: Vec<String>,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = PaperForm::Text)]
    pub format: PaperForm,
    /// Write the project with the new unit here
    #[arg(short, long)]
    pub output: Option<PathBuf>,
    /// Who swapped it: what is written gets an entry in its log
    #[arg(long, requires_all = ["date", "output"])]
    pub who: Option<String>,
    /// When, as YYYY-MM-DD
    #[arg(long, requires = "who")]
    pub date: Option<String>,
}

/// Papers by name, and the two tables that are no papers of their own.
fn paper_names() -> PossibleValuesParser {
    let names = PAPERS.iter().map(|(name, ..)| *name);
    names
        .chain(["always-hot", "endurance"])
        .collect::<Vec<_>>()
        .into()
}

/// What the wire list is grouped by.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum GroupBy {
    Harness,
    Device,
    Sheet,
    Status,
}

impl GroupBy {
    /// What it stands for.
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
    OneSeat,
    Transmit,
}

impl Heard {
    /// What it stands for.
    pub fn hear(self) -> Hear {
        match self {
            Self::Whine => Hear::Whine,
            Self::Strobe => Hear::Strobe,
            Self::Charging => Hear::Charging,
            Self::OneSeat => Hear::OneSeat,
            Self::Transmit => Hear::Transmit,
        }
    }
}

/// Figures in place of the project's own; an assumed one stands in for each that neither has.
#[derive(Args)]
pub struct NoiseFigures {
    /// Speed of the engine, 1/min
    #[arg(long, value_parser = positive)]
    pub rpm: Option<f64>,
    /// Turns of the alternator for one of the engine
    #[arg(long, value_parser = positive)]
    pub pulley: Option<f64>,
    /// Pairs of poles of the alternator
    #[arg(long, value_parser = positive)]
    pub pole_pairs: Option<f64>,
    /// Ripple current of each alternator, A rms
    #[arg(long, value_parser = positive)]
    pub ripple_a: Option<f64>,
    /// Inductance of wires and shields, uH/m
    #[arg(long, value_parser = positive)]
    pub wire_uh_per_m: Option<f64>,
    /// Inductance of the way through structure at each bond, uH
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

/// A form for people or for programs.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Form {
    Text,
    Json,
}

/// A form for programs.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Data {
    Json,
}

/// A form of a paper.
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
}

/// A level to deny.
#[derive(Clone, Copy, PartialEq, ValueEnum)]
pub enum Deny {
    Hazard,
    Fault,
    Caution,
    Note,
}

impl Deny {
    /// The level it stands for.
    pub fn level(self) -> Level {
        match self {
            Self::Hazard => Level::Hazard,
            Self::Fault => Level::Fault,
            Self::Caution => Level::Caution,
            Self::Note => Level::Note,
        }
    }
}
