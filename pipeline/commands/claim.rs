//! `claim new`: an argument written down before looking.

use super::season::line_of_input;
use super::{Failure, Outcome, output, say};
use clap::{Args, Subcommand};
use stages::arguments::{ARGUMENTS, Answered, Argument};
use stages::{DraftedClaim, draft_claim};
use std::io::IsTerminal as _;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(crate) struct ClaimArgs {
    #[command(subcommand)]
    verb: ClaimVerb,
}

#[derive(Debug, Subcommand)]
enum ClaimVerb {
    /// Write an argument down as a claim, before looking; says how likely cooks to come will answer it
    #[command(after_help = "Examples:\n  cookstudy claim new\n  \
        cookstudy claim new --argument hotter-pit --matters 10\n  \
        cookstudy claim new --argument wrap-sooner --between foil@160F,paper@160F --matters 20\n\n\
        --matters is in minutes, points or percent, as the argument asks.")]
    New(NewClaimArgs),
}

#[derive(Debug, Args)]
struct NewClaimArgs {
    /// Which argument (default: asked at a terminal)
    #[arg(long, value_name = "NAME", value_parser = ARGUMENTS.map(|own| own.name))]
    argument: Option<String>,
    /// Its two sides, the one that is said to win first
    #[arg(long, value_name = "A,B")]
    between: Option<String>,
    /// The smallest difference that would make you cook otherwise
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    matters: Option<f64>,
    /// Name of the claim (default: made of the argument)
    #[arg(long, value_name = "ID")]
    id: Option<String>,
    /// The claim in your own words
    #[arg(long, value_name = "TEXT")]
    says: Option<String>,
    /// New cooks that judge it
    #[arg(long, value_name = "COOKS")]
    judge_after: Option<usize>,
    /// Season folder
    #[arg(long, value_name = "DIR", default_value = ".")]
    season: PathBuf,
}

/// `claim`.
pub(crate) fn claim(args: &ClaimArgs) -> Result<Outcome, Failure> {
    let ClaimVerb::New(args) = &args.verb;
    let asks = std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let argument = match &args.argument {
        Some(name) => Argument::of(name).ok_or("there is no such argument")?,
        None if asks => ask_argument()?,
        None => return Err(format!("--argument is missing; {}", offered()).into()),
    };
    let sides = match (&args.between, argument.sides) {
        (Some(typed), _) => Some(two(typed)?),
        (None, Some(sides)) if asks => {
            say(&format!("{} Such as {}:", sides.asks, sides.example));
            Some(two(&line_of_input()?)?)
        }
        (None, _) => None,
    };
    let matters = match args.matters {
        Some(number) => number,
        None if asks => ask_number(argument.matters)?,
        None => return Err(format!("--matters is missing: {}", argument.matters).into()),
    };
    let answered = Answered {
        sides,
        matters,
        id: args.id.clone(),
        says: args.says.clone(),
        judge_after_cooks: args.judge_after,
    };
    let draft = draft_claim(&args.season, argument, &answered)?;
    say(&format!("“{}”", draft.claim.says));
    foretell(&draft);
    if asks && !confirmed()? {
        say("Nothing was written.");
        return Ok(Outcome::Done);
    }
    draft.write()?;
    output::print(&draft.text)?;
    say(&format!(
        "Written into {}. The next `cookstudy run` puts it into claims.lock; cooks after that judge it.",
        draft.path.display()
    ));
    Ok(Outcome::Done)
}

fn offered() -> String {
    let names: Vec<String> =
        ARGUMENTS.iter().map(|own| format!("{} ({})", own.name, own.asks)).collect();
    format!("there are: {}", names.join("; "))
}

fn ask_argument() -> Result<&'static Argument, Failure> {
    say("What do you argue about?");
    for (place, own) in ARGUMENTS.iter().enumerate() {
        say(&format!("  {}  {}", place + 1, own.asks));
    }
    loop {
        say("Its number:");
        let line = line_of_input()?;
        if line.is_empty() {
            return Err("no argument was chosen".into());
        }
        let place = line.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        if let Some(own) = place.and_then(|place| ARGUMENTS.get(place)) {
            return Ok(own);
        }
        say(&format!("`{line}` is none of 1 to {}.", ARGUMENTS.len()));
    }
}

fn ask_number(question: &str) -> Result<f64, Failure> {
    loop {
        say(question);
        let line = line_of_input()?;
        if line.is_empty() {
            return Err("nothing was answered".into());
        }
        match line.parse::<f64>() {
            Ok(number) if number.is_finite() && number > 0.0 => return Ok(number),
            _ => say(&format!("`{line}` is no number above 0.")),
        }
    }
}

fn two(typed: &str) -> Result<[String; 2], Failure> {
    match typed.split(',').map(str::trim).collect::<Vec<_>>().as_slice() {
        [a, b] if !a.is_empty() && !b.is_empty() => Ok([(*a).to_owned(), (*b).to_owned()]),
        _ => {
            Err(format!("`{typed}` are not two sides; write them with a comma between: A,B").into())
        }
    }
}

/// Says the chances of an answer.
fn foretell(draft: &DraftedClaim) {
    if let Some(reason) = &draft.unforeseen {
        say(&format!("How likely it is to be answered is not known: {reason}."));
        return;
    }
    say(
        "How likely an answer is if there is nothing in it, or twice what you named (from how far your \
         cooks scatter, not from what they say of it):",
    );
    for own in &draft.chances {
        say(&format!("  from your next {:>2} cooks: {}", own.cooks, percent(own.chance)));
    }
    if draft.chances.last().is_some_and(|own| own.chance < 0.5) {
        say(
            "That is little. A larger difference to act on, or lots drawn before each cook, gets there sooner.",
        );
    }
}

/// A chance as people say it; never 0 or 100.
fn percent(share: f64) -> String {
    match 100.0 * share {
        share if share < 1.0 => "under 1 %".into(),
        share if share > 99.0 => "over 99 %".into(),
        share => format!("{share:.0} %"),
    }
}

fn confirmed() -> Result<bool, Failure> {
    say("Write it down? (yes, no)");
    Ok(matches!(line_of_input()?.to_lowercase().as_str(), "y" | "yes"))
}
