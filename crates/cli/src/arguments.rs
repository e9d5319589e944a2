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
    /// Units to show; without it the shelf's own, as its benches are written down, else us
    #[arg(long, global = true, value_enum)]
    units: Option<Units>,
    #[command(subcommand)]
    pub(crate) command: Command,
}

impl Cli {
    /// The units that were asked for.
    pub(crate) fn system(&self) -> Option<System> {
        self.units.map(|units| match units {
            Units::Us => System::Us,
            Units::Si => System::Si,
        })
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
    #[command(
        arg_required_else_help = true,
        after_help = "Example: airshelf calc restriction --baseline 574CFM --with-part 492CFM --at 5.5inH2O"
    )]
    Calc,
    /// Make an empty shelf
    #[command(after_help = "Example: airshelf --shelf shed new")]
    New,
    /// Make the demo shelf, with an old notebook to import
    #[command(
        after_help = "Example: airshelf --shelf demo demo\n         airshelf --shelf demo import demo/old-records/*"
    )]
    Demo,
    /// Read old sheets: a dry run unless --write
    #[command(
        long_about = "Read old sheets. Without --write nothing is kept: what was read, how each column was understood and \
            what looks wrong is shown. Originals are never changed, and importing again adds nothing.",
        after_help = "Example: airshelf import april.csv season.xlsx\n         airshelf import april.csv season.xlsx --write"
    )]
    Import(Import),
    /// List what is wrong with the records, where, and how to repair it
    #[command(
        long_about = "List what is wrong with the records, where it stands, and how to repair it. `block` keeps a row out of \
            comparisons, `warn` widens or marks, `inform` only tells. The exit code is 3 where a fault blocks.",
        after_help = "Example: airshelf audit\n         airshelf audit --session QL-0413"
    )]
    Audit {
        /// Only this session and the parts that its runs use: an id, or its name on its sheet
        #[arg(long)]
        session: Option<String>,
    },
    /// Say which assembly flows more, where the bench can tell
    #[command(
        long_about = "Say which assembly flows more, where the bench can tell. Each evening's runs are compared with that \
            evening's own baseline, after its drift is taken out. How well the bench repeats comes from refitted repeats and \
            from earlier evenings; without either there is no verdict, only how well the bench would have to repeat. \
            Fixture leakage is carried to each reading's pressure with the exponent 0.75 (between 0.5 and 1). With --engine, \
            k is used at 0.8 to 1.25 times the tested flow; beyond that the engine's air is only bounded, by an exponent \
            between 0.5 and 1.",
        after_help = "Example: airshelf compare --session QL-0413\n         airshelf compare --session QL-0413 --dont-care 1% --engine six"
    )]
    Compare(Compare),
    /// Show how the numbers of a run came about, step by step
    #[command(after_help = "Example: airshelf explain QL-0413/7")]
    Explain {
        /// The run: an id (or its beginning), or SESSION/ORDER such as QL-0413/7
        run: String,
    },
    /// Write canonical sheets
    #[command(after_help = "Example: airshelf export runs --out runs.csv")]
    Export {
        /// What to write
        #[arg(value_enum)]
        what: Exported,
        /// The file to write; without it, standard output
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Find parts, assemblies and results, best first
    #[command(after_help = "Example: airshelf find tall paper")]
    Find {
        /// What to look for
        #[arg(required = true)]
        text: Vec<String>,
    },
    /// Photos of parts: add, list, export
    #[command(
        subcommand,
        after_help = "Example: airshelf photo add pictures\n         airshelf photo export out --tag PF-1"
    )]
    Photo(Photo),
    /// Parts on the shelf
    #[command(
        subcommand,
        after_help = "Example: airshelf part add kind=filter tag=PF-1 OD=11in \"pleat depth=1-1/8in\"\n         airshelf part change PF-1 \"height=3 in\""
    )]
    Part(Entry),
    /// Parts after a change: a clay radius, a cut
    #[command(
        subcommand,
        after_help = "Example: airshelf revision add part=BS-1 label=B \"change=clay radius\""
    )]
    Revision(Entry),
    /// Assemblies of parts
    #[command(
        subcommand,
        after_help = "Example: airshelf assembly add parts=BS-1,FF-1,LD-1 \"name=tall paper\""
    )]
    Assembly(Entry),
    /// Evenings at the bench
    #[command(subcommand, after_help = "Example: airshelf session add name=QL-0518 date=2024-05-18")]
    Session(Entry),
    /// Runs with their readings
    #[command(
        subcommand,
        after_help = "Example: airshelf run list --session QL-0413\n         airshelf run add session=QL-0518 purpose=test parts=BS-1,FF-1,LD-1 set_pressure=20inH2O flow=265.8CFM"
    )]
    Run(RunEntry),
    /// Flow benches
    #[command(subcommand, after_help = "Example: airshelf bench add \"name=shed bench\"")]
    Bench(Entry),
    /// Ranges of a bench
    #[command(subcommand, after_help = "Example: airshelf range add \"bench=shed bench\" full_scale=300CFM")]
    Range(Entry),
    /// Engines
    #[command(
        subcommand,
        after_help = "Example: airshelf engine add name=six displacement=250in3 volumetric_efficiency=85% speed=4500"
    )]
    Engine(Entry),
    /// Vehicles
    #[command(subcommand, after_help = "Example: airshelf vehicle add \"name=half-ton\"")]
    Vehicle(Entry),
    /// People
    #[command(subcommand, after_help = "Example: airshelf person add name=Wren")]
    Person(Entry),
    /// What happened to a part in use
    #[command(subcommand, after_help = "Example: airshelf service list")]
    Service(Entry),
    /// Decisions about parts and faults
    #[command(subcommand, after_help = "Example: airshelf decision list")]
    Decision(Entry),
    /// Rows that could not be taken
    #[command(
        subcommand,
        after_help = "Example: airshelf quarantine list\n         airshelf quarantine show 3f2a91c0\n         airshelf quarantine mend 3f2a91c0 \"flow (CFM)=246.1\""
    )]
    Quarantine(Quarantine),
    /// Take back what a change did; without a number, list the changes
    #[command(after_help = "Example: airshelf undo\n         airshelf undo 12")]
    Undo {
        /// The number that the change was reported under
        number: Option<u64>,
    },
    /// Values that two devices changed apart
    #[command(
        subcommand,
        after_help = "Example: airshelf conflicts list\n         airshelf conflicts settle 1 2"
    )]
    Conflicts(Conflicts),
    /// Verify the shelf: database, change log, photos
    #[command(after_help = "Example: airshelf check")]
    Check,
    /// Write the whole shelf to one file
    #[command(after_help = "Example: airshelf backup shed.zip")]
    Backup {
        /// The file to write
        file: PathBuf,
    },
    /// Bring a backup back into an empty folder (--shelf)
    #[command(after_help = "Example: airshelf --shelf restored restore shed.zip")]
    Restore {
        /// The backup
        file: PathBuf,
    },
    /// Run the hub that other devices sync with
    #[command(after_help = "Example: airshelf serve\n         airshelf serve --lan")]
    Serve(Serve),
    /// Make a code that pairs one device with the hub
    #[command(after_help = "Example: airshelf pair")]
    Pair,
    /// Devices that are paired with the hub
    #[command(subcommand, after_help = "Example: airshelf devices list")]
    Devices(Devices),
    /// Sync this shelf with a hub elsewhere
    Sync(Sync),
    /// Print completions for a shell
    #[command(
        after_help = "Example: airshelf completions bash > ~/.local/share/bash-completion/completions/airshelf"
    )]
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page
    #[command(after_help = "Example: airshelf man > airshelf.1")]
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
pub(crate) enum Quarantine {
    #[command(flatten)]
    Entry(Entry),
    /// Take a row again, with what really stands in its cells
    Mend {
        /// An id, or its beginning
        which: String,
        /// Cells such as "flow (CFM)=246.1" or I=246.1; an empty text leaves the cell out
        #[arg(value_name = "COLUMN=TEXT", required = true)]
        set: Vec<String>,
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
    /// The digits of the link, if the address is typed without them; a space between them does no harm
    #[arg(long, value_name = "DIGITS", num_args = 1..=2)]
    pub(crate) code: Vec<String>,
    /// The authority's certificate (PEM) that vouches for a hub with a certificate of your own, when pairing with it
    #[arg(long, value_name = "FILE")]
    pub(crate) authority: Option<PathBuf>,
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
