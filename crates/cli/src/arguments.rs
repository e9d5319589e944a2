//! The commands and their options.

use airshelf_app::units::System;
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Intake parts on a flow bench: what was tested, what it means, and what the bench cannot see.
#[derive(Parser, Debug)]
#[command(name = "airshelf", version, arg_required_else_help = true, max_term_width = 100)]
pub(crate) struct Cli {
    /// The shelf's folder; without it, the one in your data folder
    #[arg(long, global = true, value_name = "DIR", env = "AIRSHELF_SHELF")]
    pub(crate) shelf: Option<PathBuf>,
    /// Print one JSON document: SI values, keys ending in their unit
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Units to show
    #[arg(long, global = true, value_enum, default_value = "us")]
    units: Units,
    #[command(subcommand)]
    pub(crate) command: Command,
}

impl Cli {
    pub(crate) fn system(&self) -> System {
        match self.units {
            Units::Us => System::Us,
            Units::Si => System::Si,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum Units {
    /// Inches, CFM, inches of water, °F
    Us,
    /// Millimeters, L/s, kPa, °C
    Si,
}

#[derive(Subcommand, Debug)]
pub(crate) enum Command {
    /// Compute without a shelf
    #[command(arg_required_else_help = true)]
    Calc,
    /// Make an empty shelf
    New {
        /// What people call it
        #[arg(long)]
        name: Option<String>,
    },
    /// Make the demo shelf, with an old notebook to import
    Demo,
    /// Read old sheets: a dry run unless --write
    Import(Import),
    /// List what is wrong with the records, where, and how to repair it
    Audit {
        /// Only this session: an id, or its name on its sheet
        #[arg(long)]
        session: Option<String>,
    },
    /// Say which assembly flows more, where the bench can tell
    Compare(Compare),
    /// Show how the numbers of a run came about, step by step
    Explain {
        /// The run: an id (or its beginning), or SESSION/ORDER such as QL-0413/7
        run: String,
    },
    /// Write canonical sheets
    Export {
        /// What to write
        #[arg(value_enum)]
        what: Exported,
        /// The file to write; without it, standard output
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Find parts, assemblies and results, best first
    Find {
        /// What to look for
        #[arg(required = true)]
        text: Vec<String>,
    },
    /// Photos of parts: add, list, export
    #[command(subcommand)]
    Photo(Photo),
    /// Parts on the shelf
    #[command(subcommand)]
    Part(Entry),
    /// Parts after a change: a clay radius, a cut
    #[command(subcommand)]
    Revision(Entry),
    /// Assemblies of parts
    #[command(subcommand)]
    Assembly(Entry),
    /// Evenings at the bench
    #[command(subcommand)]
    Session(Entry),
    /// Runs with their readings
    #[command(subcommand)]
    Run(RunEntry),
    /// Flow benches
    #[command(subcommand)]
    Bench(Entry),
    /// Ranges of a bench
    #[command(subcommand)]
    Range(Entry),
    /// Engines
    #[command(subcommand)]
    Engine(Entry),
    /// Vehicles
    #[command(subcommand)]
    Vehicle(Entry),
    /// People
    #[command(subcommand)]
    Person(Entry),
    /// What happened to a part in use
    #[command(subcommand)]
    Service(Entry),
    /// Decisions about parts and faults
    #[command(subcommand)]
    Decision(Entry),
    /// Rows that could not be taken
    #[command(subcommand)]
    Quarantine(Entry),
    /// Take back what a change did; without a number, list the changes
    Undo {
        /// The number that the change was reported under
        number: Option<u64>,
    },
    /// Values that two devices changed apart
    #[command(subcommand)]
    Conflicts(Conflicts),
    /// Verify the shelf: database, change log, photos
    Check,
    /// Write the whole shelf to one file
    Backup {
        /// The file to write
        file: PathBuf,
    },
    /// Bring a backup back into an empty folder (--shelf)
    Restore {
        /// The backup
        file: PathBuf,
    },
    /// Run the hub that other devices sync with
    Serve(Serve),
    /// Make a code that pairs one device with the hub
    Pair,
    /// Devices that are paired with the hub
    #[command(subcommand)]
    Devices(Devices),
    /// Sync this shelf with a hub elsewhere
    Sync(Sync),
    /// Print completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    Man,
}

#[derive(Args, Debug)]
pub(crate) struct Import {
    /// CSV, XLSX or ODS files
    #[arg(required = true)]
    pub(crate) files: Vec<PathBuf>,
    /// Keep what was read; without this nothing is written
    #[arg(long)]
    pub(crate) write: bool,
    /// A file that says what the columns mean, where the guess is wrong
    #[arg(long, value_name = "FILE")]
    pub(crate) map: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(crate) struct Compare {
    /// Only this session: an id, or its name on its sheet
    #[arg(long)]
    pub(crate) session: Option<String>,
    /// The difference that does not matter, stated before looking
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true)]
    pub(crate) dont_care: Option<String>,
    /// What it means to this engine
    #[arg(long)]
    pub(crate) engine: Option<String>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum Exported {
    /// Runs with their readings
    Runs,
    /// Parts with their dimensions
    Parts,
}

#[derive(Subcommand, Debug)]
pub(crate) enum Photo {
    /// Keep photos; a folder of files named after tags goes in at once
    Add {
        /// Photos or folders
        #[arg(required = true)]
        paths: Vec<PathBuf>,
        /// The part's tag, where the file is not named after it
        #[arg(long)]
        tag: Option<String>,
        /// What they show: face, underside, neck, pleats, label, damage, as tested, page
        #[arg(long)]
        role: Option<String>,
    },
    /// List the photos
    List {
        /// Only of this part
        tag: Option<String>,
    },
    /// Write the photos to a folder
    Export {
        /// The folder
        folder: PathBuf,
        /// Only of this part
        #[arg(long)]
        tag: Option<String>,
    },
}

#[derive(Subcommand, Debug)]
pub(crate) enum Entry {
    /// List them
    List,
    /// Show one
    Show {
        /// An id (or its beginning), a tag or a name
        which: String,
    },
    /// Add one: FIELD=VALUE … (`--fields` lists the fields)
    Add {
        /// Fields such as kind=filter tag=PF-1 OD=11in
        #[arg(value_name = "FIELD=VALUE", required_unless_present = "fields")]
        set: Vec<String>,
        /// List the fields
        #[arg(long)]
        fields: bool,
    },
    /// Change one: FIELD=VALUE …, empty to blank
    Change {
        /// An id (or its beginning), a tag or a name
        which: String,
        /// Fields to set
        #[arg(value_name = "FIELD=VALUE", required = true)]
        set: Vec<String>,
    },
    /// Remove one; it can be brought back with undo
    Remove {
        /// An id (or its beginning), a tag or a name
        which: String,
    },
}

#[derive(Subcommand, Debug)]
pub(crate) enum RunEntry {
    /// List the runs of a session
    List {
        /// The session: an id, or its name on its sheet
        #[arg(long)]
        session: Option<String>,
    },
    /// Show one
    Show {
        /// An id (or its beginning), or SESSION/ORDER
        which: String,
    },
    /// Add a run with its reading: FIELD=VALUE …
    Add {
        /// Fields such as session=QL-0413 purpose=test base=BS-1 filter=FF-1 lid=LD-1 flow=265.8CFM
        #[arg(value_name = "FIELD=VALUE", required_unless_present = "fields")]
        set: Vec<String>,
        /// List the fields
        #[arg(long)]
        fields: bool,
    },
    /// Change what a run says about itself; readings are struck out instead
    Change {
        /// An id (or its beginning), or SESSION/ORDER
        which: String,
        /// Fields to set
        #[arg(value_name = "FIELD=VALUE", required = true)]
        set: Vec<String>,
    },
    /// Strike out a run's reading with a reason; it is kept and never used
    Strike {
        /// An id (or its beginning), or SESSION/ORDER
        which: String,
        /// Why
        #[arg(long)]
        reason: String,
    },
}

#[derive(Subcommand, Debug)]
pub(crate) enum Conflicts {
    /// List them
    List,
    /// Settle one with a value
    Settle {
        /// Its number in the list
        number: usize,
        /// The number of the value that stays, as listed
        value: usize,
    },
}

#[derive(Args, Debug)]
pub(crate) struct Serve {
    /// Let other devices on your networks in, over HTTPS; without it, only this machine
    #[arg(long)]
    pub(crate) lan: bool,
    /// The port; 0 for any that is free [default: 28028]
    #[arg(long)]
    pub(crate) port: Option<u16>,
    /// Your own certificate with its chain (PEM), instead of the hub's own authority
    #[arg(long, value_name = "FILE", requires_all = ["key", "lan"])]
    pub(crate) cert: Option<PathBuf>,
    /// The certificate's key (PEM, not encrypted)
    #[arg(long, value_name = "FILE", requires = "cert")]
    pub(crate) key: Option<PathBuf>,
    /// What people call the hub; without it, the machine's name
    #[arg(long)]
    pub(crate) name: Option<String>,
}

#[derive(Args, Debug)]
#[command(
    after_help = "Example: airshelf sync 'https://shed.local:28028/#pair=12345678&authority=5f2c…', later airshelf sync"
)]
pub(crate) struct Sync {
    /// The link that `airshelf pair` shows on the hub, or the address of a hub paired before; without it, the only one
    pub(crate) hub: Option<String>,
    /// The digits of the link, if the address is typed without them
    #[arg(long, value_name = "DIGITS", requires = "hub")]
    pub(crate) code: Option<String>,
    /// What people call this device; without it, the machine's name
    #[arg(long)]
    pub(crate) name: Option<String>,
    /// Which photos are fetched; what is only here is sent all the same
    #[arg(long, value_enum, default_value_t = Photos::All)]
    pub(crate) photos: Photos,
    /// Stay, and sync whenever either side has something new
    #[arg(long)]
    pub(crate) stay: bool,
}

#[derive(clap::ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Photos {
    /// All of them
    All,
    /// Small pictures; originals stay where they are
    Thumbnails,
    /// None
    None,
}

#[derive(Subcommand, Debug)]
pub(crate) enum Devices {
    /// List them
    List,
    /// Call one something else
    Rename {
        /// Its name, or its id (or the beginning of it)
        which: String,
        /// The new name
        name: String,
    },
    /// Let one in no longer; what it synced stays
    Revoke {
        /// Its name, or its id (or the beginning of it)
        which: String,
    },
}

/// The whole command tree, calculators included.
pub(crate) fn command() -> clap::Command {
    Cli::command()
        .mut_subcommand("calc", |calc| calc.subcommands(crate::calc::commands()).subcommand_required(true))
}
