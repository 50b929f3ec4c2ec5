//! The command tree: one file a verb that needs more than a line, options in one place.

mod claim;
mod completions;
mod forecast;
#[cfg(feature = "developer")]
mod generate;
mod inspect;
mod output;
mod plan;
mod progress;
mod query;
mod sample;
mod season;
mod stage;
mod trial;

pub(crate) use output::say;

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// What a command that could begin its work came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// All was done.
    Done,
    /// A log was refused or needs an answer, or `--strict` found something rejected.
    DoneInPart,
}

/// Why nothing was done, ready to print.
pub(crate) type Failure = Box<dyn std::error::Error>;

/// Turns barbecue cook logs into phases, measures, statistics and a season report.
///
/// Logger CSVs and a season sheet go in; a Parquet store, `study.json` and a self-contained
/// HTML report come out. Nothing is sent anywhere: the program has no network code.
#[derive(Debug, Parser)]
#[command(
    name = "cookstudy",
    version,
    help_expected = true,
    max_term_width = 100,
    after_help = "Start here:\n  cookstudy demo            the whole job on a bundled season\n  cookstudy new my-season   a season folder of your own\n  cookstudy run my-season   all stages, only what changed\n  cookstudy run night.csv   a first look at logs alone\n\nExit codes: 0 done; 1 done in part (a log was refused or needs an answer, a forecast without an answer, a\nplan that cannot be kept, or --strict); 2 nothing done."
)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write the bundled team's seasons, run the whole pipeline on them, say where the report is
    #[command(after_help = "Examples:\n  cookstudy demo\n  cookstudy demo --out /tmp/demo")]
    Demo {
        /// Folder to make (default: cookstudy-demo)
        #[arg(long, value_name = "DIR", default_value = "cookstudy-demo")]
        out: PathBuf,
    },
    /// Make a season folder: settings, sheets and claims to fill in, a card to print, a page for a phone
    #[command(
        after_help = "Without --tz and without a terminal to ask at, the zone is left out; `run` asks where a time hangs on\nit.\n\nWith --from the sheet has a row a cook: its name, its log, and the meat-on and pull that the curve shows.\nThose are guesses; the column `guessed` names them. Correct what is wrong, then take the name out.\n\npit.html is one file that works without a network: open it on the phone at the pit, tap what\nhappens, and bring its export home with `cookstudy note --from FILE`.\n\nExamples:\n  cookstudy new spring-2026\n  cookstudy new spring-2026 --tz America/Chicago --units us\n  cookstudy new spring-2026 --tz America/Chicago --from downloads/*.csv\n  cookstudy new spring-2026 --page"
    )]
    New(NewArgs),
    /// Write events into the season's events sheet: one, now or at a time, or those of a file
    #[command(
        after_help = "Run it in the season folder. Events: lit, meat_on, spritz, wrap, unwrap, setpoint, lid, fuel,\nprobe_moved, probe_test, pull, slice, core (a reading by hand), bark (not-yet, nearly, set, or 1 to 5).\n\n--from takes an export of pit.html, or plain lines as in a notebook: perhaps a cook, perhaps a time,\nthen the event and its value, and a remark behind a `;`. A clock time is the first such time after the\nline before it, or after meat-on; a line without a time has that of the line before. A temperature alone\nis a reading by hand, in the season's units. Each event is taken once, however often the file is given:\nthe column `id` of the events sheet knows it, also after you edited its row.\n\nExamples:\n  cookstudy note may-contest spritz\n  cookstudy note may-contest wrap paper --at 3:10\n  cookstudy note may-contest core \"165F flat\"\n  cookstudy note may-contest bark nearly\n  cookstudy note may-contest probe_test not\n  cookstudy note --from pit-export.txt\n  cookstudy note --from night.txt may-contest      with lines such as\n                                                   3:12 wrap foil\n                                                   bark set\n                                                   4:05 165 flat"
    )]
    Note(NoteArgs),
    /// Show how each log would be read: every guess, its evidence, the setting that overrides it
    #[command(
        after_help = "Writes nothing, unless --save-layout names a file.\n\nExamples:\n  cookstudy inspect logs/*.csv\n  cookstudy inspect logs/odd.csv --tz America/Chicago --save-layout layouts/odd.toml"
    )]
    Inspect(InspectArgs),
    /// Run all stages for a season folder, or for logs alone; only what changed is done again
    #[command(
        after_help = "Writes SEASON/store and SEASON/out (summary.html, report.html, report.md,\nstudy.json, data/), and keeps\nSEASON/claims.lock, which says when each claim was first written down.\n\nAnything but one folder with season.toml is taken as logs without a season folder: their curves,\nphases and pulls, with store, out and questions.toml in DIR of --out. `cookstudy new DIR --from LOG…`\nmakes a season folder of them.\n\nExamples:\n  cookstudy run spring-2026\n  cookstudy run night.csv\n  cookstudy run logs/*.csv --out first-look --tz America/Chicago"
    )]
    Run(RunArgs),
    /// Read logs and sheets into a store
    #[command(
        after_help = "Examples:\n  cookstudy ingest --logs logs --sheet sheet.csv --events events.csv --store store --tz America/Chicago\n  cookstudy ingest --logs 'logs/2025-*.csv' --sheet sheet.csv --store store --settings season.toml"
    )]
    Ingest(IngestArgs),
    /// Find ramp, stall, push and rest of every cook in a store
    #[command(
        after_help = "Seconds count from the cook's meat-on. `complete` is false where the log ends first.\n\n--sensitivity lists, in place of the phases, each cook's stall under the season's definition\nand with one constant moved at a time: stall_fraction to 0.35 and 0.45, pit_lag_min to 20 and\n30, the slope window (smoothing_min) to 10 and 40.\n\nExamples:\n  cookstudy phases --store store --format csv > phases.csv\n  cookstudy phases --store store --sensitivity\n  cookstudy phases --store store --sensitivity --format csv > sensitivity.csv"
    )]
    Phases(PhasesArgs),
    /// Work out one row of measures a cook
    #[command(
        after_help = "Example:\n  cookstudy measures --store store --format json > measures.json"
    )]
    Measures(StageArgs),
    /// Answer the questions: what drives the stall, and what the data say of each claim
    #[command(
        after_help = "Writes DIR/study.json and tables to DIR/data (CSV and Parquet).\n\nExamples:\n  cookstudy study --store store --claims claims.toml --lock claims.lock --out out\n  cookstudy study --table measures.csv --claims claims.toml --out out"
    )]
    Study(StudyArgs),
    /// Write an argument down as a claim, before looking
    Claim(claim::ClaimArgs),
    /// Merge several teams or seasons into one season folder, anonymised on request
    #[command(
        after_help = "Every cook, fire and pit gets its team's name in front, and a column `team` says whose it is,\nfor claims (`group = [\"team\", \"fire\"]`), drivers and comparisons. A season folder's team is\nthat of its season.toml; a store merged before keeps its teams. The inputs are left as they\nare. DIR becomes a season folder: season.toml with what the seasons share, claims.toml with claims\nof equal text once, claims.lock with the cooks that each knew, and store. `cookstudy run DIR` begins\nat phases, by one definition for all. Merging again into the same DIR takes up what changed in the\nseasons, and leaves settings and claims there as you edited them.\n\n--anonymise puts codes in place of teams, cooks, fires, pits, places, contests, suppliers, lots,\nlogs and channels, numbers in place of seasons, and moves each team's dates back by a whole\nnumber of weeks of its own. Cuts, grades, woods, cookers, holds and arms stay where they\nare words of the trade. Dropped are notes, weather, reasons, costs, altitudes that no\ncorrection needs, texts of rejected rows, how logs were read, claims, and every column of your own.\n--keep COLUMN keeps one (texts of your own columns as codes).\n\nWhat still identifies: the curves themselves, to whoever has seen them; a channel of outside\ntemperature, which a weather record can place and date; the clock times of every reading and event, and\nthe weekdays; weights, scores, and how far apart the cooks lie; weather and notes where --keep asks for\nthem. Give away no more than you would tell.\n\nExamples:\n  cookstudy merge spring-2025 spring-2026 --out both\n  cookstudy merge oak=2025/store oak=2026/store river=river/store --out teams\n  cookstudy merge --anonymise spring-2026 --key my-key.json --out to-give-away\n  cookstudy merge --anonymise spring-2026 --keep cost --keep rub_g --out to-give-away\n  cookstudy run teams"
    )]
    Merge(MergeArgs),
    /// Set two studies side by side: which answers changed, and why
    #[command(
        after_help = "For a study made again after a corrected card, a new log or other settings. Copy the whole out folder\nfirst: with data/measures.parquet beside each study.json the cooks and cells that changed are named.\n\nExample:\n  cp -r out before\n  cookstudy run\n  cookstudy diff before/study.json out/study.json"
    )]
    Diff {
        /// The earlier study.json
        #[arg(value_name = "BEFORE")]
        before: PathBuf,
        /// The later study.json
        #[arg(value_name = "AFTER")]
        after: PathBuf,
        /// How to print the claims that changed
        #[arg(long, value_enum, default_value_t)]
        format: Format,
    },
    /// Ask the tables in SQL
    #[command(
        after_help = "The question is read-only SQL: SELECT, joins, GROUP BY, HAVING, WITH, UNION, window functions.\nRows come in the order of ORDER BY, and by all columns where it leaves them equal or is not there;\nrows without a value come last. Text stands in 'single quotes', a name with a blank in it in\n\"double quotes\". Instants are compared with text: at > '2026-05-02T06:00Z', in UTC where nothing\nis said of the offset; a difference of instants is given in seconds.\n\ncsv and json are SI with instants in UTC; table speaks the units and clock of the season that the\ntables lie in (--settings names another), as far as a column comes from a table as it is.\n\nA store has the tables cooks, events, scores, phases, measures, history, degrees,\nmoved, moved_history, flags, channels, warnings, rejected, sources and readings; of readings a question can hold a million: name cooks\n(WHERE cook = 'may-1') or a season beside it.\n\nExamples:\n  cookstudy query --tables --store spring-2026/store\n  cookstudy query \"SELECT pit, COUNT(*) AS cooks, AVG(stall_min) FROM measures GROUP BY pit\" --store store\n  cookstudy query \"SELECT cook, at, value FROM events WHERE event = 'wrap' ORDER BY at\" --store store\n  cookstudy query \"SELECT m.cook, m.stall_min, COUNT(*) AS spritzes FROM measures m JOIN events e ON m.cook = e.cook WHERE e.event = 'spritz' GROUP BY m.cook, m.stall_min ORDER BY spritzes DESC\" --store store --format csv\n  cookstudy query \"SELECT MAX(temp_c) FROM readings WHERE cook = 'may-1' AND role = 'pit'\" --store store\n  cookstudy query \"SELECT claim, verdict, estimate FROM claims\" --data out/data"
    )]
    Query(QueryArgs),
    /// Say when cooks that are on will be done, with a range, and what a wrap now would change
    #[command(
        after_help = "Looks for the past in the season's store. Without any, simulated cooks stand in: \
wider, and said.\nA core temperature is forecast (190 °F by the season's definition, and the card's target), \
neither tenderness\nnor that the food is fit to eat.\n\nOptions to try: foil-now, paper-now, setpoint+25F. Times \
typed behind @ count from meat-on.\n\nExit codes: 0 all cooks answered; 1 some; 2 none.\n\nExamples:\n  cookstudy \
forecast logs/today.csv --sheet sheet.csv --turn-in 12:00\n  cookstudy forecast logs/today.csv --what-if foil-now \
--what-if setpoint+25F\n  cookstudy forecast --pit 250F --core 165F@3:10 --core 172F@4:05 --wrapped foil@1:40\n  \
cookstudy forecast logs/today.csv --season spring-2026 --format csv"
    )]
    Forecast(ForecastArgs),
    /// Say when to light the fire and put the meat on, so that it is rested and ready in time
    #[command(
        after_help = "Plans the cooks named, the one typed, else those of the season's sheets with a `turn_in_at` to \
come.\n`[pits.NAME]` in season.toml says what a pit holds (holds_kg) and how long before meat-on it is \
lit\n(light_min). The meat rests an hour at least. A core temperature is planned, neither tenderness nor that \
the\nfood is fit to eat.\n\nExit codes: 0 done; 1 a plan cannot be kept; 2 nothing done.\n\nExamples:\n  \
cookstudy plan may-contest --certainty 90\n  cookstudy plan --weight 12lb --setpoint 250F --wrap foil@165F --turn-in \
'2026-05-02 12:00'\n  cookstudy plan --season spring-2026 --check --format csv"
    )]
    Plan(PlanArgs),
    /// Draw lots that settle a claim, and look at what they say
    #[command(
        subcommand_required = true,
        after_help = "Two meats on one fire, one of each side, settle in a dozen fires what a season of cooks leaves open.\n\n  new    says how many fires it takes by your own past, and fixes design, looks and rules\n  next   before each fire: writes the cooks into the sheet, then shows their lots\n  look   what the lots say, at the looks that were planned and at no other time\n\nThe lots come from a secret number of the operating system in trial.key, beside season.toml; the design and a chain of\nthe lots drawn stand in claims.lock. This shows redrawing and peeking, it cannot prevent them.\n\nExamples:\n  cookstudy trial new --claim oak-or-hickory --show\n  cookstudy trial new --claim oak-or-hickory\n  cookstudy trial next may-1 may-2 --page lot.html\n  cookstudy trial look"
    )]
    Trial {
        #[command(subcommand)]
        verb: TrialCommand,
    },
    /// Print the season report, or one cook's page
    #[command(
        after_help = "Examples:\n  cookstudy report --store store --study out/study.json --out out\n  cookstudy report --store store --study out/study.json --out out --cook may-contest"
    )]
    Report(ReportArgs),
    /// Print the four pages for a team to frame: verdicts, the argument, the season, every cook
    #[command(
        after_help = "--public is for people outside the team: without costs, suppliers and lots, and without claims on\ncolumns of your own, which may be recipes. `run` writes out/summary.html with all of it.\n\nExamples:\n  cookstudy summary --store store --study out/study.json --out summary.html\n  cookstudy summary --store store --study out/study.json --out for-sponsors.html --public"
    )]
    Summary(SummaryArgs),
    /// Print a shell's completion script to stdout
    #[command(
        after_help = "Example:\n  cookstudy completions bash > ~/.local/share/bash-completion/completions/cookstudy"
    )]
    Completions {
        /// Which shell
        #[arg(value_enum)]
        shell: clap_complete::Shell,
    },
}

/// What to do with a trial.
#[derive(Debug, Subcommand)]
pub(crate) enum TrialCommand {
    /// Say how many fires a claim takes, and fix design, looks and rules before the first lot
    #[command(
        after_help = "By simulation from your own past in the season's store: the scatter between the meats of one fire and among all\ncooks. A trial of single cooks draws in blocks of four within pit and weight class. A trial takes the next share of the\nyear's error, as claims written down later do.\n\nExamples:\n  cookstudy trial new --claim oak-or-hickory --show\n  cookstudy trial new --claim oak-or-hickory\n  cookstudy trial new --claim oak-or-hickory --single\n  cookstudy trial new --claim oak-or-hickory --pairs 12 --positions front,back"
    )]
    New(TrialNewArgs),
    /// Write cooks into the sheet and show their lots: arm, place on the pit, code for tasters
    #[command(
        after_help = "Draw once both meats are trimmed and weighed, and before either is on. A cook has one lot: who asks again is\nshown it again. A sheet in CSV is written to, every other byte of it stays; of XLSX and ODS the cells to fill in are\nprinted. Tasters see the code in place of the cook's name.\n\nExamples:\n  cookstudy trial next may-1 may-2\n  cookstudy trial next may-1 may-2 --date 2026-05-02 --page lot.html"
    )]
    Next(TrialNextArgs),
    /// Say what the lots say at the looks that are due, and whether to go on
    #[command(
        after_help = "Looks at what the last `cookstudy run` measured. Between the planned looks nothing is told. A look is kept as it was\ntaken. Exit 1 where lots or files are not as they were drawn, or too many lots were lost.\n\nExamples:\n  cookstudy trial look\n  cookstudy trial look --claim oak-or-hickory --format json"
    )]
    Look(TrialLookArgs),
}

#[derive(Debug, Args)]
pub(crate) struct TrialNewArgs {
    /// The claim, by its id in claims.toml: of kind compare or wrap-timing
    #[arg(long, value_name = "ID")]
    claim: String,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Single cooks in blocks of four, in place of two meats on a fire
    #[arg(long)]
    single: bool,
    /// How many pairs (with --single, blocks), in place of what your past says
    #[arg(long, value_name = "N")]
    pairs: Option<usize>,
    /// Places on the pit to draw among
    #[arg(long, value_name = "PLACE,PLACE", value_delimiter = ',', default_value = "left,right")]
    positions: Vec<String>,
    /// Say what it would take, and begin nothing
    #[arg(long)]
    show: bool,
    /// The instant taken for now (for tests)
    #[arg(long, value_name = "INSTANT", value_parser = season::instant)]
    now: Option<i64>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct TrialNextArgs {
    /// The cooks: both of a fire, or the one of a trial of single cooks
    #[arg(value_name = "COOK", required = true)]
    cooks: Vec<String>,
    /// The claim, where several are tried
    #[arg(long, value_name = "ID")]
    claim: Option<String>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Date of cooks that no sheet has yet (default: today)
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Write the lots as one page of HTML to print
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// The instant taken for now (for tests)
    #[arg(long, value_name = "INSTANT", value_parser = season::instant)]
    now: Option<i64>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct TrialLookArgs {
    /// The claim; all that are tried where it is left out
    #[arg(long, value_name = "ID")]
    claim: Option<String>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// The instant taken for now (for tests)
    #[arg(long, value_name = "INSTANT", value_parser = season::instant)]
    now: Option<i64>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// How a listing is printed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Aligned columns for people
    #[default]
    Table,
    /// An array of objects
    Json,
    /// Comma-separated values with a header
    Csv,
}

/// The units that people are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum UnitsChoice {
    /// °F and pounds
    Us,
    /// °C and kilograms
    Metric,
}

#[derive(Debug, Args)]
pub(crate) struct NoteArgs {
    /// The cook, as the season sheet names it; with --from, whose the lines are that name none
    #[arg(value_name = "COOK", required_unless_present = "from")]
    cook: Option<String>,
    /// What happened
    #[arg(value_name = "EVENT", required_unless_present = "from", conflicts_with = "from")]
    event: Option<String>,
    /// Method of a wrap, temperature of a set-point or of the core (with C or F), mass of fuel (with
    /// its unit), what was felt or seen
    #[arg(value_name = "VALUE", conflicts_with = "from")]
    value: Option<String>,
    /// When: 3:10 is the last such time, +6:30 counts from meat-on [default: now]
    #[arg(long, value_name = "TIME", conflicts_with = "from")]
    at: Option<String>,
    /// Take the events of a file: an export of pit.html, or plain lines
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// A remark to keep with it
    #[arg(long, value_name = "TEXT", conflicts_with = "from")]
    remark: Option<String>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
}

#[derive(Debug, Args)]
pub(crate) struct InspectArgs {
    /// Logs to look at: files, folders or globs
    #[arg(value_name = "LOG", required = true)]
    logs: Vec<PathBuf>,
    /// Season settings to read them with
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Answers to questions (default: questions.toml beside the settings)
    #[arg(long, value_name = "FILE")]
    questions: Option<PathBuf>,
    /// IANA time zone of clock times without an offset (default: the settings' zone; without one, a time that hangs on it is a question)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Layout file to try first
    #[arg(long, value_name = "FILE")]
    layout: Vec<PathBuf>,
    /// Write the layout as read, to edit and name in season.toml (one log only)
    #[arg(long, value_name = "FILE")]
    save_layout: Option<PathBuf>,
    /// How to print
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct RunArgs {
    /// Season folder (holds season.toml), or logs: files, folders, globs [default: the folder it stands in]
    #[arg(value_name = "SEASON|LOG")]
    inputs: Vec<PathBuf>,
    /// For logs without a season folder: the folder of store, results and questions [default: cookstudy-out]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// For logs without a season folder: IANA time zone of clock times without an offset (without one,
    /// a time that hangs on it is a question)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Exit with 1 where anything was rejected
    #[arg(long)]
    strict: bool,
    /// Units of the report, whatever season.toml says
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Give up what was read from files that are gone or cannot be opened any more
    #[arg(long)]
    prune: bool,
    /// The instant that claims.lock takes for now, such as 2026-11-30T08:15:00Z, for tests; it is
    /// written down there [default: this computer's clock]
    #[arg(long, value_name = "INSTANT", value_parser = season::instant)]
    now: Option<i64>,
}

#[derive(Debug, Args)]
pub(crate) struct NewArgs {
    /// Folder to make; files that are there already are never overwritten
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// IANA time zone of the clocks of logs and sheets (default: asked at a terminal, else left
    /// out)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Units that people are shown (default: asked at a terminal, else us)
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Copy these logs (files, folders, globs) into it, and fill the sheet with what they show
    #[arg(long, value_name = "LOG", num_args = 1..)]
    from: Vec<PathBuf>,
    /// Write only pit.html, of a season folder that is there, with the cards of its sheet as they are now
    #[arg(long, conflicts_with = "from")]
    page: bool,
}

#[derive(Debug, Args)]
pub(crate) struct IngestArgs {
    /// Log files, folders or globs; logs in .gz, .zst and .zip are read too
    #[arg(long, value_name = "PATH", required = true, num_args = 1..)]
    logs: Vec<PathBuf>,
    /// Season sheet, one row a cook: CSV, XLSX or ODS (`file.xlsx#Worksheet` picks one)
    #[arg(long, value_name = "FILE", required = true)]
    sheet: Vec<PathBuf>,
    /// Events sheet, one row an event: CSV, XLSX or ODS
    #[arg(long, value_name = "FILE")]
    events: Vec<PathBuf>,
    /// Scores sheet, one row a score: CSV, XLSX or ODS; the settings hold the scales
    #[arg(long, value_name = "FILE")]
    scores: Vec<PathBuf>,
    /// Store to write to; made where it is not there
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// IANA time zone of clock times without an offset (default: the settings' zone; without one, a time that hangs on it is a question)
    #[arg(long, value_name = "ZONE")]
    tz: Option<String>,
    /// Layout file to try first
    #[arg(long, value_name = "FILE")]
    layout: Vec<PathBuf>,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Answers to questions (default: questions.toml beside the settings)
    #[arg(long, value_name = "FILE")]
    questions: Option<PathBuf>,
    /// Exit with 1 where anything was rejected
    #[arg(long)]
    strict: bool,
    /// How to print the list of cooks
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct StageArgs {
    /// The store
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct PhasesArgs {
    #[command(flatten)]
    stage: StageArgs,
    /// List how far each cook's stall moves when the definition's constants are moved
    #[arg(long)]
    sensitivity: bool,
}

#[derive(Debug, Args)]
pub(crate) struct MergeArgs {
    /// Stores or season folders; `TEAM=` in front says whose one is
    #[arg(value_name = "[TEAM=]IN", required = true)]
    stores: Vec<String>,
    /// Season folder to make: one that is not there, is empty, or was made by merging before
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Put codes in place of names, drop words of your own, move dates
    #[arg(long)]
    anonymise: bool,
    /// Keep this column all the same; may be given several times
    #[arg(long, value_name = "COLUMN", requires = "anonymise")]
    keep: Vec<String>,
    /// File that says who is who, for you alone: written there, and read again so that codes stay the
    /// same as cooks are added; without it no such file is written and codes change with the cooks
    #[arg(long, value_name = "FILE", requires = "anonymise")]
    key: Option<PathBuf>,
    /// How to print the list of teams
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct ForecastArgs {
    /// Logs of cooks that are on (none, and none typed: cooks of the season that are read by hand alone)
    #[arg(value_name = "LOG")]
    logs: Vec<PathBuf>,
    /// Season folder: its settings, and the past in its store
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Season sheet with the cooks' cards (default: those of season.toml)
    #[arg(long, value_name = "FILE")]
    sheet: Vec<PathBuf>,
    /// Events sheet (default: those of season.toml)
    #[arg(long, value_name = "FILE")]
    events: Vec<PathBuf>,
    /// How often in 100 a range should hold
    #[arg(long, value_name = "N", default_value_t = 80)]
    level: u8,
    /// A wrap to come: method and core, or method and time since meat-on (foil@165F, foil@6:30)
    #[arg(long, value_name = "M@T")]
    wrap: Option<String>,
    /// Whether simulated cooks stand in while there are few of your own
    #[arg(long, value_enum, default_value_t)]
    prior: Prior,
    /// Something to try now; may be given several times
    #[arg(long, value_name = "CHANGE")]
    what_if: Vec<String>,
    /// When it is turned in: a clock time, the first such after the moment asked about, or a date and time
    #[arg(long, value_name = "TIME")]
    turn_in: Option<String>,
    /// The moment asked about (default: each log's last reading; of typed readings, this computer's clock)
    #[arg(long, value_name = "INSTANT")]
    now: Option<String>,
    /// Print again whenever the logs have grown and the answer has moved; ends with Ctrl-C
    #[arg(long, conflicts_with = "core")]
    watch: bool,
    /// Say which past cooks count how much
    #[arg(long)]
    explain: bool,
    /// Draw curve, range and past cooks alike as one HTML file
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// The pit, typed in place of a log
    #[arg(long, value_name = "TEMP", conflicts_with = "logs", requires = "core")]
    pit: Option<String>,
    /// The pit's set-point, typed
    #[arg(long, value_name = "TEMP", conflicts_with = "logs", requires = "core")]
    setpoint: Option<String>,
    /// A core reading and its time since meat-on (165F@3:10); may be given several times
    #[arg(long, value_name = "TEMP@H:MM", conflicts_with = "logs")]
    core: Vec<String>,
    /// A wrap that was made, and its time since meat-on (foil@1:40)
    #[arg(long, value_name = "M@H:MM", conflicts_with = "logs", requires = "core")]
    wrapped: Vec<String>,
    /// Weight as it went on (12lb)
    #[arg(long, value_name = "WEIGHT", conflicts_with = "logs", requires = "core")]
    weight: Option<String>,
    /// The cut
    #[arg(long, value_name = "CUT", conflicts_with = "logs", requires = "core")]
    cut: Option<String>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct PlanArgs {
    /// Cooks of the season sheet
    #[arg(value_name = "COOK")]
    cooks: Vec<String>,
    /// Season folder: its settings, and the past in its store
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
    /// Season sheet with the cooks to plan (default: those of season.toml)
    #[arg(long, value_name = "FILE")]
    sheet: Vec<PathBuf>,
    /// When it is turned in, in place of the sheet's `turn_in_at`
    #[arg(long, value_name = "TIME")]
    turn_in: Option<String>,
    /// How often in 100 it should be in time
    #[arg(long, value_name = "N", default_value_t = 90)]
    certainty: u8,
    /// Weight as it goes on (12lb)
    #[arg(long, value_name = "WEIGHT")]
    weight: Option<String>,
    /// Which pit
    #[arg(long, value_name = "PIT")]
    pit: Option<String>,
    /// The pit's set-point (250F)
    #[arg(long, value_name = "TEMP")]
    setpoint: Option<String>,
    /// The wrap that is planned (foil@165F), or none
    #[arg(long, value_name = "M@T")]
    wrap: Option<String>,
    /// Whether simulated cooks stand in while there are few of your own
    #[arg(long, value_enum, default_value_t)]
    prior: Prior,
    /// The moment of planning (default: this computer's clock)
    #[arg(long, value_name = "INSTANT")]
    now: Option<String>,
    /// Say how often such plans would have been on time on your own past
    #[arg(long)]
    check: bool,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// What stands in where there are few cooks of one's own.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Prior {
    /// Simulated cooks that come with the program
    #[default]
    Bundled,
    /// Nothing: your own cooks alone
    None,
}

#[derive(Debug, Args)]
pub(crate) struct QueryArgs {
    /// The question
    #[arg(value_name = "SELECT …", required_unless_present = "tables")]
    sql: Option<String>,
    /// Ask the tables of this store, or of the store in this season folder
    #[arg(long, value_name = "DIR", required_unless_present = "data", conflicts_with = "data")]
    store: Option<PathBuf>,
    /// Ask the .parquet and .csv files of this folder, such as a season's out/data
    #[arg(long, value_name = "DIR")]
    data: Option<PathBuf>,
    /// List the tables with kind, unit and meaning of each column, in place of asking
    #[arg(long, conflicts_with = "sql")]
    tables: bool,
    /// Season settings, for units and clock of --format table
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Units of --format table, whatever the settings say
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// How to print the rows
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct StudyArgs {
    /// The store whose measures are studied
    #[arg(long, value_name = "DIR", required_unless_present = "table")]
    store: Option<PathBuf>,
    /// A CSV or Parquet file with one row a cook, in place of a store
    #[arg(long, value_name = "FILE", conflicts_with = "store")]
    table: Option<PathBuf>,
    /// Claims to judge
    #[arg(long, value_name = "FILE")]
    claims: Option<PathBuf>,
    /// When each claim was first written down; without it every verdict is after the fact
    #[arg(long, value_name = "FILE", requires = "claims")]
    lock: Option<PathBuf>,
    /// Folder to write study.json and data/ to
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// How to print the verdicts
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Debug, Args)]
pub(crate) struct ReportArgs {
    /// The store
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// The study, as `cookstudy study` wrote it
    #[arg(long, value_name = "FILE")]
    study: PathBuf,
    /// Folder to write report.html and data/ to
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Only this cook's page, as cook-ID.html
    #[arg(long, value_name = "ID")]
    cook: Option<String>,
    /// Units of the report, whatever the settings say
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct SummaryArgs {
    /// The store
    #[arg(long, value_name = "DIR")]
    store: PathBuf,
    /// The study, as `cookstudy study` wrote it
    #[arg(long, value_name = "FILE")]
    study: PathBuf,
    /// File to write
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// For people outside the team: without costs, suppliers, lots and columns of your own
    #[arg(long)]
    public: bool,
    /// Units of the pages, whatever the settings say
    #[arg(long, value_enum)]
    units: Option<UnitsChoice>,
    /// Season settings
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
}

/// Reads the command line and carries it out.
///
/// # Errors
/// Nothing was done; the error says why.
pub(crate) fn from_command_line() -> Result<Outcome, Failure> {
    #[cfg(feature = "developer")]
    if let Some(out) = generate::asked() {
        return generate::everything(&out);
    }
    carry_out(Cli::parse().command)
}

fn carry_out(command: Command) -> Result<Outcome, Failure> {
    match command {
        Command::Demo { out } => season::demo(&out),
        Command::New(args) => season::new(&args),
        Command::Note(args) => season::note(&args),
        Command::Inspect(args) => inspect::inspect(&args),
        Command::Run(args) => season::run(&args),
        Command::Ingest(args) => stage::ingest(&args),
        Command::Phases(args) => stage::phases(&args),
        Command::Measures(args) => stage::measures(&args),
        Command::Study(args) => stage::study(&args),
        Command::Claim(args) => claim::claim(&args),
        Command::Merge(args) => stage::merge(&args),
        Command::Diff { before, after, format } => stage::diff(&before, &after, format),
        Command::Query(args) => query::query(&args),
        Command::Forecast(args) => forecast::forecast(&args),
        Command::Plan(args) => plan::plan(&args),
        Command::Trial { verb } => trial::trial(&verb),
        Command::Report(args) => stage::report(&args),
        Command::Summary(args) => stage::summary(&args),
        Command::Completions { shell } => completions::completions(shell),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_tree_is_sound_and_every_option_has_help() {
        Cli::command().debug_assert();
    }
}
