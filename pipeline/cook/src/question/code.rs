//! What questions are about: one list, each code with its state and its page in `docs/codes`.

use std::fmt;

/// Whether a code is asked with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CodeState {
    /// Asked; its word and its answers stay what they are.
    Stable,
    /// Asked; its answers may still change, and old answers are then asked for anew.
    Preview,
    /// No longer asked. The word is kept, since no code is ever used for another question.
    Removed,
}

/// What is asked. The word of a code stays what it is, whatever becomes of the question's text:
/// an answer is known again by it, and no code is ever used for another question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum QuestionCode {
    /// Which delimiter parts the cells: two give different numbers.
    Delimiter,
    /// Whether a mark stands between thousands or before decimals, in times.
    MarkInTimes,
    /// Whether a mark stands between thousands or before decimals, in temperatures.
    MarkInTemperatures,
    /// What times that are numbers count.
    UnitOfTimes,
    /// Whether times without a date are of the day or elapsed.
    ClockOrElapsed,
    /// Whether elapsed times of two parts are hours and minutes, or minutes and seconds.
    PartsOfElapsed,
    /// Which number of a date is the day.
    DateOrder,
    /// The day on which a log without dates begins.
    FirstDay,
    /// When a log was kept whose clock was never set.
    ClockNeverSet,
    /// When a log began that counts from its own zero and has no card.
    StartOfElapsed,
    /// Which clock was right where one was put back.
    ClockPutBack,
    /// Whether a clock was put forward while the log ran on.
    ClockPutOn,
    /// Which of the two passes of an hour is meant that the clock showed twice.
    HourTwice,
    /// What a log means that runs through an hour which the clock skipped.
    HourSkipped,
    /// The unit of temperatures.
    UnitOfTemperatures,
    /// Which of several logs of one name a card means.
    LogOfName,
    /// Which log is a cook's.
    LogOfCook,
    /// Which of several worksheets is meant.
    Worksheet,
    /// Which column a heading is that is like some that are known.
    ColumnMeaning,
    /// In which unit the weights of a sheet are.
    UnitOfWeights,
    /// Whether two words are one that was misspelt.
    NearTwins,
    /// Which half of the day a clock time of a card is of.
    ClockWithoutAmPm,
    /// The zone of times without an offset.
    TimeZone,
    /// The unit of temperatures that are those of no cook as the log says it.
    UnitAgainstPhysics,
    /// Whether the unit changes in the middle of a log.
    UnitChanges,
    /// What a set-point or target is that the pit, or any cook, speaks against.
    SetPointAgainstPit,
    /// Whether a weight is right that the others, or the cut, speak against.
    WeightInDoubt,
    /// When a mark was of which the curve shows another time.
    MarkAgainstCurve,
    /// Whether all marks of some cooks are to be moved.
    MarksShifted,
    /// Whether two cooks with one curve are one.
    SameCurveTwice,
    /// Whether the probes of two cooks' meats changed places for a while.
    MeatsExchanged,
    /// Whether a channel that jumps between two levels is one probe.
    TwoSources,
    /// Whether the card or the events are right about a mark, or a wrap.
    CardAgainstEvents,
    /// A reading of the core by hand that the log speaks against.
    HandAgainstCurve,
    /// Which of two cooks that follow each other in a log is meant.
    TwoCooksInALog,
    /// Whether a cook is to be left out.
    LeftOutOrNot,
    /// Whether logs that count from their own zero begin before meat-on.
    ZeroBeforeMeatOn,
    /// Whether two cooks have each other's marks.
    MarksOfAnother,
    /// Whether a rest lasted the best part of a day.
    LongRest,
    /// Whether a score is right that no other cook's comes near.
    ScoreInDoubt,
    /// Which meat channel of a log is whose, of cooks that were on together.
    WhoseChannel,
}

/// What a code's page says.
struct Entry {
    code: &'static str,
    state: CodeState,
    asks: &'static str,
    why: &'static str,
    instead: &'static str,
    example: &'static str,
}

impl QuestionCode {
    /// Every code.
    pub const ALL: [Self; 41] = [
        Self::Delimiter,
        Self::MarkInTimes,
        Self::MarkInTemperatures,
        Self::UnitOfTimes,
        Self::ClockOrElapsed,
        Self::PartsOfElapsed,
        Self::DateOrder,
        Self::FirstDay,
        Self::ClockNeverSet,
        Self::StartOfElapsed,
        Self::ClockPutBack,
        Self::ClockPutOn,
        Self::HourTwice,
        Self::HourSkipped,
        Self::UnitOfTemperatures,
        Self::LogOfName,
        Self::LogOfCook,
        Self::Worksheet,
        Self::ColumnMeaning,
        Self::UnitOfWeights,
        Self::NearTwins,
        Self::ClockWithoutAmPm,
        Self::TimeZone,
        Self::UnitAgainstPhysics,
        Self::UnitChanges,
        Self::SetPointAgainstPit,
        Self::WeightInDoubt,
        Self::MarkAgainstCurve,
        Self::MarksShifted,
        Self::SameCurveTwice,
        Self::MeatsExchanged,
        Self::TwoSources,
        Self::CardAgainstEvents,
        Self::HandAgainstCurve,
        Self::TwoCooksInALog,
        Self::LeftOutOrNot,
        Self::ZeroBeforeMeatOn,
        Self::MarksOfAnother,
        Self::LongRest,
        Self::ScoreInDoubt,
        Self::WhoseChannel,
    ];

    /// The code's word.
    pub fn as_str(self) -> &'static str {
        self.entry().code
    }

    /// Whether it is asked with.
    pub fn state(self) -> CodeState {
        self.entry().state
    }

    /// The page of `docs/codes/` for this code, in Markdown.
    pub fn page(self) -> String {
        let Entry { code, state, asks, why, instead, example } = self.entry();
        let state = match state {
            CodeState::Stable => "",
            CodeState::Preview => "\n\nThe answers offered may still change.",
            CodeState::Removed => "\n\nThis is no longer asked.",
        };
        format!(
            "# `{code}`\n\nA question in `questions.toml`: {asks}{state}\n\n## Why it is asked\n\n{why}\n\n## What decides\n\nWrite one `take` of the entry's `answers` into its `answer`, and run again. {instead}\n\n## Example\n\n```text\n{example}\n```\n"
        )
    }

    fn entry(self) -> Entry {
        let stable = |code, asks, why, instead, example| Entry {
            code,
            state: CodeState::Stable,
            asks,
            why,
            instead,
            example,
        };
        match self {
            Self::Delimiter => stable(
                "delimiter",
                "which sign parts the cells?",
                "Two signs part the lines equally well and give different numbers.",
                "`delimiter` in a layout decides as well.",
                "Time;Pit (C);Meat (C)\n2026-05-02 06:00;103,5;4,0",
            ),
            Self::MarkInTimes => stable(
                "mark-in-times",
                "does the mark in the times stand between thousands or before decimals?",
                "Both readings of the times grow from line to line.",
                "An export without marks between thousands decides as well.",
                "Elapsed (s);Pit (F)\n3,600;225",
            ),
            Self::MarkInTemperatures => stable(
                "mark-in-temperatures",
                "does the mark in the temperatures stand between thousands or before decimals?",
                "No temperature of the log has a mark that can only be one of the two.",
                "`decimal` in a layout decides as well.",
                "Time;Firebox (F)\n2026-05-02T06:00Z;1,050",
            ),
            Self::UnitOfTimes => stable(
                "unit-of-times",
                "are these seconds, minutes, hours or days?",
                "The times are numbers, and neither the column's name nor a line of units says of what.",
                "`time.format` in a layout decides as well.",
                "Elapsed,Pit (F)\n0,225\n1,226",
            ),
            Self::ClockOrElapsed => stable(
                "clock-or-elapsed",
                "are these times of the day, or since the log began?",
                "The times have no date and begin near zero.",
                "`time.format` in a layout decides as well.",
                "Time,Pit (F)\n0:10:00,225",
            ),
            Self::PartsOfElapsed => stable(
                "parts-of-elapsed",
                "are these hours and minutes, or minutes and seconds?",
                "Elapsed times of two parts can be either.",
                "`time.format` in a layout decides as well.",
                "Elapsed,Pit (F)\n0:00,225\n0:30,225",
            ),
            Self::DateOrder => stable(
                "date-order",
                "which number of the date is the day?",
                "No date of the log has a day beyond 12, and neither the sheet nor another log of this logger tells.",
                "`[log] date_order` in season.toml or `time.format` in a layout decides as well.",
                "Time,Pit (F)\n05/06/2026 06:00,225",
            ),
            Self::FirstDay => stable(
                "first-day",
                "on which day does the log begin?",
                "The log has times of day and no date, and no card tells its day.",
                "`[log.dates]` in season.toml, a `Date:` line above the header, or the cook's `date` in the sheet decides as well.",
                "Time,Pit (F)\n6:00:00,225",
            ),
            Self::ClockNeverSet => stable(
                "clock-never-set",
                "when did the log begin?",
                "All its dates are of a year in which clocks start that were never set.",
                "`time.start` in a layout decides as well.",
                "Time,Pit (F)\n1970-01-01 00:10,225",
            ),
            Self::StartOfElapsed => stable(
                "start-of-elapsed",
                "when did the log begin?",
                "Its times count from its own zero, and no season sheet says when its meat went on.",
                "A `Started:` line above the header, or `time.start` in a layout decides as well.",
                "Minutes,Pit (F)\n0,225\n1,226",
            ),
            Self::ClockPutBack => stable(
                "clock-put-back",
                "was the clock right before it went back, or after?",
                "The clock goes back while the temperatures run on.",
                "`[log] clock_jump` in season.toml decides as well.",
                "2026-05-02T11:00Z,225\n2026-05-02T10:24Z,225",
            ),
            Self::ClockPutOn => stable(
                "clock-put-on",
                "was the clock put forward here, or was nothing logged for a while?",
                "Meat that warms before and after has not warmed between: no time has passed, though the clock says so.",
                "An export with the times put right decides as well.",
                "2026-05-02T07:59Z,225,132.1\n2026-05-02T09:00Z,225,132.3",
            ),
            Self::HourTwice => stable(
                "hour-twice",
                "which of the two hours is meant?",
                "The clock showed this hour twice when daylight saving ended, and the lines around it do not tell.",
                "`time.utc_offset` in a layout, or an export with offsets, decides as well.",
                "2026-11-01 01:30,225   (America/Chicago)",
            ),
            Self::HourSkipped => stable(
                "hour-skipped",
                "which offset does the logger's clock keep?",
                "The log runs through an hour that the clock skipped when daylight saving began, so its clock does not follow.",
                "`time.utc_offset` in a layout, or an export with offsets, decides as well.",
                "2026-03-08 01:58,225   (America/Chicago)\n2026-03-08 02:05,225",
            ),
            Self::UnitOfTemperatures => stable(
                "unit-of-temperatures",
                "are these °F or °C?",
                "Nothing in the log says the unit, and both could be.",
                "A unit in the column's name, `unit` or `[units]` in a layout decides as well.",
                "Time,Pit,Brisket\n2026-05-02T06:00Z,225,41",
            ),
            Self::LogOfName => stable(
                "log-of-name",
                "which of these logs does the card mean?",
                "Two logs have the name that the card gives.",
                "The path with its folder in the sheet's column `logs` decides as well.",
                "cook,logs\nmay-1,pit.csv   (logs/a/pit.csv, logs/b/pit.csv)",
            ),
            Self::LogOfCook => stable(
                "log-of-cook",
                "which log is this cook's?",
                "The card names no log, and its time fits more than one, or a log's time fits several cards.",
                "The column `logs` in the sheet decides as well.",
                "cook,date\nmay-1,2026-05-02   (two logs of 2 May)",
            ),
            Self::Worksheet => stable(
                "worksheet",
                "which worksheet is the sheet?",
                "Two worksheets of the workbook have the columns that are wanted.",
                "The worksheet's name behind the file's in season.toml, `cooks.xlsx#Spring`, decides as well.",
                "cooks.xlsx: Spring, Autumn",
            ),
            Self::ColumnMeaning => stable(
                "column-meaning",
                "which column is this?",
                "A heading of the sheet is like some that are known, and is none of them. Until it is answered, the column is not used.",
                "The column's name in the sheet decides as well; `as-is` keeps it as a column of your own.",
                "cook,date,weight\nmay-1,2026-05-02,13.5",
            ),
            Self::UnitOfWeights => stable(
                "unit-of-weights",
                "in which unit are the weights of this sheet?",
                "Several columns are weights, and neither their headings nor their cells say of what: a brisket of 12 may be one of 12 lb or of 12 kg. It is one question of the sheet; `each` asks about every column alone. Until it is answered, the weights are not used.",
                "A unit in the headings, as in `raw_weight_lb`, or behind the numbers decides as well.",
                "cook,Raw weight,Trimmed,Cooked weight\nmay-1,12.4,9.8,6.1",
            ),
            Self::NearTwins => stable(
                "near-twins",
                "are these two words one?",
                "They differ by a letter or two. Until it is answered, they are kept apart.",
                "One spelling in the sheet decides as well.",
                "cook,wood\nmay-1,hickory\nmay-2,hickery",
            ),
            Self::ClockWithoutAmPm => stable(
                "clock-without-am-pm",
                "morning or afternoon?",
                "Another time of the row says am or pm, or on a 24-hour clock the card's times keep the meat on, or at rest, for longer than people do. What the log's times leave open is asked once for all rows; until it is answered, those times are not used.",
                "`am` and `pm` in the sheet, or a 24-hour clock, decide as well.",
                "cook,date,meat_on,wrap_at,pull\nmay-1,2026-05-02,5:08,1:17,2:54",
            ),
            Self::TimeZone => stable(
                "time-zone",
                "of which zone are these times?",
                "The times have no offset, and nothing says where the clock hangs.",
                "`time_zone` in season.toml, `--tz`, or an export with offsets decides as well.",
                "Time,Pit (F)\n2026-05-02 06:00,225",
            ),
            Self::UnitAgainstPhysics => stable(
                "unit-against-physics",
                "in which unit are these?",
                "In the unit that the log says, no pit and no meat are like that; in another, in tenths of a degree or in kelvins, they are a cook.",
                "`unit` in a layout decides as well.",
                "Time,Pit (F),Brisket (F)\n2026-05-02 06:00,110,4\n2026-05-02 18:00,112,95",
            ),
            Self::UnitChanges => stable(
                "unit-changes",
                "does the unit change here?",
                "All channels step at once as they would if the logger were switched between °F and °C.",
                "A file for each unit decides as well.",
                "2026-05-02 11:00,225,141\n2026-05-02 11:01,107,61",
            ),
            Self::SetPointAgainstPit => stable(
                "set-point-against-pit",
                "in which unit is this set-point or target, or is it right at all?",
                "The pit ran at another temperature from beginning to end, or no pit is run and no core is cooked to what is stated. Where the other unit fits, the unit is asked for. Until it is answered, the value of the card is not used; one of the events sheet is used as written.",
                "A unit in the cell (`121 C`) or the right column in the sheet decides as well.",
                "cook,pit_setpoint_f\nmay-1,121   (the pit ran at 250 °F)",
            ),
            Self::WeightInDoubt => stable(
                "weight-in-doubt",
                "is this weight right, and in which unit is it?",
                "Meat loses weight in a known order and by known shares, and a cut weighs what it weighs. Where the other unit fits, the unit is asked for. Until it is answered, the weight is not used.",
                "A unit in the cell (`13 lb`) or the right weight in the sheet decides as well.",
                "cook,cut,trimmed_weight_lb,cooked_weight_lb\nmay-1,brisket,76.9,8.6",
            ),
            Self::MarkAgainstCurve => stable(
                "mark-against-curve",
                "when was this?",
                "The curve shows the mark at another time, and what is stated cannot be. Of a mark of which the curve shows nothing at all, nothing is asked. Until it is answered, the time is used that the entry names: the curve's where the cook cannot be judged by the other.",
                "The right time in the sheet decides as well.",
                "cook,meat_on,pull\nmay-1,2026-05-02 06:00,14:00   (the core goes on rising until 17:54)",
            ),
            Self::MarksShifted => stable(
                "marks-shifted",
                "are all marks of these cooks to be moved?",
                "Meat-on and pull lie as far from where the curves show them, in the same direction, in all of these cooks: a zone, a date or a clock is wrong. Until it is answered, the marks are used as written.",
                "The right `time_zone` in season.toml, or right dates and times in the sheet, decide as well.",
                "time_zone = \"UTC\"   (the sheet's times are local, the logs have offsets)",
            ),
            Self::SameCurveTwice => stable(
                "same-curve-twice",
                "are these two cooks one?",
                "Their cores run alike from beginning to end, which two pieces of meat never do. Until it is answered, both are used.",
                "One row in the sheet that names one of the logs, or no more than one of the logs in the folder, decides as well.",
                "logs/may-1.csv, logs/copy-of-may-1-in-celsius.csv",
            ),
            Self::MeatsExchanged => stable(
                "meats-exchanged",
                "did the probes of these two meats change places for a while?",
                "Both channels leap between one reading and the next, and each goes on where the other left off. They are the meats of two cooks, so that neither cook's log tells it alone. Until it is answered, the readings stay as the log has them.",
                "Logs in which the columns were put right decide as well.",
                "time,Pit,Meat 1,Meat 2\n12:30,250,150,168\n12:31,250,168,150",
            ),
            Self::TwoSources => stable(
                "two-sources",
                "is this channel one probe?",
                "From reading to reading it jumps between two levels, as no probe does: two devices, or two logs line by line, are under one name. Until it is answered, the readings are used as they are.",
                "A file for each device decides as well.",
                "time,device,Pit\n12:00:00,A,250\n12:00:30,B,225\n12:01:00,A,250",
            ),
            Self::CardAgainstEvents => stable(
                "card-against-events",
                "which is right, the card or the events?",
                "The season sheet and the events sheet state a mark at two times, or a wrap in two materials. Until it is answered, the card is used, and of two times of wrapping both.",
                "One time, and one material, in both sheets decides as well.",
                "cook,wrap_at,wrap_method\nmay-1,13:30,paper\n\ncook,time,event,value\nmay-1,14:10,wrap,foil",
            ),
            Self::HandAgainstCurve => stable(
                "hand-against-curve",
                "is this reading by hand right?",
                "The log shows the core far from it at that time: another unit, another time, another piece of meat, or a thermometer that is off. Until it is answered, it is used as written.",
                "The right reading, or its right time, in the events sheet decides as well.",
                "cook,time,event,value\nmay-1,14:10,core,165F   (the log shows 203 °F)",
            ),
            Self::TwoCooksInALog => stable(
                "two-cooks-in-a-log",
                "which of the cooks in this log is meant?",
                "The core rises from raw to cooked, becomes cold, and rises once more from raw: pieces of meat, one after the other. Until it is answered, all of it is taken for one cook.",
                "A row for each cook with its own `date` (or, for two of one day, `meat_on` and `pull`), all naming the log, decides as well: the log is then shared out.",
                "cook,date,logs\nmay-1,2026-05-02,weekend.csv   (a brisket on Saturday, a butt on Sunday)",
            ),
            Self::LeftOutOrNot => stable(
                "left-out-or-not",
                "is this cook to be left out of the analysis?",
                "`exclude` takes the reason why a cook is left out, and this is none. Until it is answered, the cook is used.",
                "A reason, or an empty cell, in the sheet decides as well.",
                "cook,exclude\nmay-1,maybe",
            ),
            Self::ZeroBeforeMeatOn => stable(
                "zero-before-meat-on",
                "do logs that count from their own zero begin before meat-on?",
                "Their times are no times of day, so that their zero is taken to be the card's meat-on; but a curve shows the meat go on later, or no raw meat at the zero. It is asked once for all of them. Until it is answered, the zero is meat-on. Where logs begin before meat-on, one whose curve does not show when is told at each run.",
                "A `Started:` line above the header, or `time.start` in a layout, decides as well.",
                "Elapsed (min),Pit (F),Brisket (F)\n0,160,38\n24,250,38   (the lid opens, and the core begins to warm)",
            ),
            Self::WhoseChannel => stable(
                "whose-channel",
                "which meat channel of this log is whose?",
                "Cooks that were on at the same time name one log with several meats, and either no channel of it, so that all would read the same core; or each one that shows the other's pull. Until it is answered, they are left out of the analysis. Or the sheet names a channel that the log does not have: until it is answered, the cook waits.",
                "The right channel in `logs` of each row decides as well.",
                "cook,meat_on,pull,logs\npoint,21:00,09:30,night.csv\nflat,21:00,10:50,night.csv   (night.csv#Meat 2)",
            ),
            Self::MarksOfAnother => stable(
                "marks-of-another",
                "whose marks are these?",
                "The meat went on after the log had ended, or came off before it began; or the marks are of another day than the date; or they lie in the log, and another cook's curve shows all of them to within minutes while its own marks fit it as little. Two cooks may have each other's marks; else a date or a log is wrong. Until it is answered, marks outside their log are not used, and others are used as written.",
                "The right marks, date or log in the sheet decides as well.",
                "cook,date,meat_on,pull,logs\nmay-1,2026-05-02,22:10,08:40,day.csv\nmay-2,2026-05-09,05:30,16:20,night.csv",
            ),
            Self::ScoreInDoubt => stable(
                "score-in-doubt",
                "is this score right?",
                "It is four times the highest score of all other cooks, and more: a score on another scale, or without its point. Until it is answered, the cook is without it.",
                "The score on the others' scale in the sheet decides as well.",
                "cook,score_taste\nmay-1,8\nmay-2,80",
            ),
            Self::LongRest => stable(
                "long-rest",
                "is the slice right?",
                "The slice lies more than 16 hours after the pull. A clock time without a date is the first one after the mark before it, so that a slice written before its pull, or with the wrong half of the day, comes out on the day after. Until it is answered, the slice is not used.",
                "The right slice, or one with its date, in the sheet decides as well.",
                "cook,date,meat_on,pull,slice\nmay-1,2026-05-02,20:00,08:20,07:50",
            ),
        }
    }
}

impl fmt::Display for QuestionCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::path::PathBuf;

    /// `UPDATE_CODES=1 cargo test -p cook --lib code` writes the pages.
    #[test]
    fn every_code_has_its_page() {
        let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/codes");
        for code in QuestionCode::ALL {
            let path = folder.join(format!("{code}.md"));
            if std::env::var_os("UPDATE_CODES").is_some() {
                std::fs::write(&path, code.page()).unwrap();
            }
            let page = std::fs::read_to_string(&path)
                .unwrap_or_else(|error| panic!("docs/codes/{code}.md: {error}"));
            assert_eq!(page, code.page(), "docs/codes/{code}.md is not current");
        }
    }

    #[test]
    fn codes_are_distinct() {
        let codes: BTreeSet<&str> = QuestionCode::ALL.iter().map(|code| code.as_str()).collect();
        assert_eq!(codes.len(), QuestionCode::ALL.len());
    }
}
