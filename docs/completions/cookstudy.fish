# Print an optspec for argparse to handle cmd's options that are independent of any subcommand.
function __fish_cookstudy_global_optspecs
    string join \n h/help V/version
end

function __fish_cookstudy_needs_command
    # Figure out if the current invocation already has a command.
    set -l cmd (commandline -opc)
    set -e cmd[1]
    argparse -s (__fish_cookstudy_global_optspecs) -- $cmd 2>/dev/null
    or return
    if set -q argv[1]
        # Also print the command, so this can be used to figure out what it is.
        echo $argv[1]
        return 1
    end
    return 0
end

function __fish_cookstudy_using_subcommand
    set -l cmd (__fish_cookstudy_needs_command)
    test -z "$cmd"
    and return 1
    contains -- $cmd[1] $argv
end

complete -c cookstudy -n "__fish_cookstudy_needs_command" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -s V -l version -d 'Print version'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "demo" -d 'Write the bundled team\'s seasons, run the whole pipeline on them, say where the report is'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "new" -d 'Make a season folder: settings, sheets and claims to fill in, a card to print, a page for a phone'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "note" -d 'Write events into the season\'s events sheet: one, now or at a time, or those of a file'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "inspect" -d 'Show how each log would be read: every guess, its evidence, the setting that overrides it'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "run" -d 'Run all stages for a season folder, or for logs alone; only what changed is done again'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "ingest" -d 'Read logs and sheets into a store'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "phases" -d 'Find ramp, stall, push and rest of every cook in a store'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "measures" -d 'Work out one row of measures a cook'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "study" -d 'Answer the questions: what drives the stall, and what the data say of each claim'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "claim" -d 'Write an argument down as a claim, before looking'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "merge" -d 'Merge several teams or seasons into one season folder, anonymised on request'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "pool" -d 'Combine claims of several teams from their effects alone, without their cooks'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "diff" -d 'Set two studies side by side: which answers changed, and why'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "query" -d 'Ask the tables in SQL'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "forecast" -d 'Say when cooks that are on will be done, with a range, and what a wrap now would change'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "plan" -d 'Say when to light the fire and put the meat on, so that it is rested and ready in time'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "trial" -d 'Draw lots that settle a claim, and look at what they say'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "report" -d 'Print the season report, or one cook\'s page'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "summary" -d 'Print the four pages for a team to frame: verdicts, the argument, the season, every cook'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "completions" -d 'Print a shell\'s completion script to stdout'
complete -c cookstudy -n "__fish_cookstudy_needs_command" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand demo" -l out -d 'Folder to make (default: cookstudy-demo)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand demo" -s h -l help -d 'Print help'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand new" -l tz -d 'IANA time zone of the clocks of logs and sheets (default: asked at a terminal, else left out)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand new" -l units -d 'Units that people are shown (default: asked at a terminal, else us)' -r -f -a "us\t'°F and pounds'
metric\t'°C and kilograms'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand new" -l from -d 'Copy these logs (files, folders, globs) into it, and fill the sheet with what they show' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand new" -l page -d 'Write only pit.html, of a season folder that is there, with the cards of its sheet as they are now'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand new" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand note" -l at -d 'When: 3:10 is the last such time, +6:30 counts from meat-on [default: now]' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand note" -l from -d 'Take the events of a file: an export of pit.html, or plain lines' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand note" -l remark -d 'A remark to keep with it' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand note" -l season -d 'Season folder' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand note" -s h -l help -d 'Print help'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -l settings -d 'Season settings to read them with' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -l questions -d 'Answers to questions (default: questions.toml beside the settings)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -l tz -d 'IANA time zone of clock times without an offset (default: the settings\' zone; without one, a time that hangs on it is a question)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -l layout -d 'Layout file to try first' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -l save-layout -d 'Write the layout as read, to edit and name in season.toml (one log only)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -l format -d 'How to print' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand inspect" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -l out -d 'For logs without a season folder: the folder of store, results and questions [default: cookstudy-out]' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -l tz -d 'For logs without a season folder: IANA time zone of clock times without an offset (without one, a time that hangs on it is a question)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -l units -d 'Units of the report, whatever season.toml says' -r -f -a "us\t'°F and pounds'
metric\t'°C and kilograms'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -l now -d 'The instant that claims.lock takes for now, such as 2026-11-30T08:15:00Z, for tests; it is written down there [default: this computer\'s clock]' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -l strict -d 'Exit with 1 where anything was rejected'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -l prune -d 'Give up what was read from files that are gone or cannot be opened any more'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand run" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l logs -d 'Log files, folders or globs; logs in .gz, .zst and .zip are read too' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l sheet -d 'Season sheet, one row a cook: CSV, XLSX or ODS (`file.xlsx#Worksheet` picks one)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l events -d 'Events sheet, one row an event: CSV, XLSX or ODS' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l scores -d 'Scores sheet, one row a score: CSV, XLSX or ODS; the settings hold the scales' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l store -d 'Store to write to; made where it is not there' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l tz -d 'IANA time zone of clock times without an offset (default: the settings\' zone; without one, a time that hangs on it is a question)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l layout -d 'Layout file to try first' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l settings -d 'Season settings' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l questions -d 'Answers to questions (default: questions.toml beside the settings)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l format -d 'How to print the list of cooks' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -l strict -d 'Exit with 1 where anything was rejected'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand ingest" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand phases" -l store -d 'The store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand phases" -l settings -d 'Season settings' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand phases" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand phases" -l sensitivity -d 'List how far each cook\'s stall moves when the definition\'s constants are moved'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand phases" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand measures" -l store -d 'The store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand measures" -l settings -d 'Season settings' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand measures" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand measures" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l store -d 'The store whose measures are studied' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l table -d 'A CSV or Parquet file with one row a cook, in place of a store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l claims -d 'Claims to judge' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l lock -d 'When each claim was first written down; without it every verdict is after the fact' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l out -d 'Folder to write study.json and data/ to' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l effects-only -d 'Write this file alone: the effects of the claims, to be pooled with those of other teams' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l settings -d 'Season settings' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -l format -d 'How to print the verdicts' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand study" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and not __fish_seen_subcommand_from new help" -s h -l help -d 'Print help'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and not __fish_seen_subcommand_from new help" -f -a "new" -d 'Write an argument down as a claim, before looking; says how likely cooks to come will answer it'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and not __fish_seen_subcommand_from new help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l argument -d 'Which argument (default: asked at a terminal)' -r -f -a "hotter-pit\t''
heavier-cut\t''
wrap-sooner\t''
drawn-sooner\t''
drawn-bark\t''
wood-taste\t''
pit-sooner\t''
water-pan\t''"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l between -d 'Its two sides, the one that is said to win first' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l matters -d 'The smallest difference that would make you cook otherwise' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l id -d 'Name of the claim (default: made of the argument)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l says -d 'The claim in your own words' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l judge-after -d 'New cooks that judge it' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -l season -d 'Season folder' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from new" -s h -l help -d 'Print help'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from help" -f -a "new" -d 'Write an argument down as a claim, before looking; says how likely cooks to come will answer it'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand claim; and __fish_seen_subcommand_from help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l out -d 'Season folder to make: one that is not there, is empty, or was made by merging before' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l keep -d 'Keep this column all the same; may be given several times' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l key -d 'File that says who is who, for you alone: written there, and read again so that codes stay the same as cooks are added; without it no such file is written and codes change with the cooks' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l without -d 'Withdraw this team: merge the others, and name the verdicts that change; may be given several times' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l format -d 'How to print the list of teams' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l anonymise -d 'Put codes in place of names, drop words of your own, move dates'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -l twice -d 'Count a cook that lies in two stores twice: where they are two after all'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand merge" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand pool" -l out -d 'Folder to write to' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand pool" -l units -d 'Units of the page' -r -f -a "us\t'°F and pounds'
metric\t'°C and kilograms'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand pool" -l format -d 'How to print the claims' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand pool" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand diff" -l format -d 'How to print the claims that changed' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand diff" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -l store -d 'Ask the tables of this store, or of the store in this season folder' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -l data -d 'Ask the .parquet and .csv files of this folder, such as a season\'s out/data' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -l settings -d 'Season settings, for units and clock of --format table' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -l units -d 'Units of --format table, whatever the settings say' -r -f -a "us\t'°F and pounds'
metric\t'°C and kilograms'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -l tables -d 'List the tables with kind, unit and meaning of each column, in place of asking'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand query" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l season -d 'Season folder: its settings, and the past in its store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l sheet -d 'Season sheet with the cooks\' cards (default: those of season.toml)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l events -d 'Events sheet (default: those of season.toml)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l level -d 'How often in 100 a range should hold' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l wrap -d 'A wrap to come: method and core, or method and time since meat-on (foil@165F, foil@6:30)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l prior -d 'Whether simulated cooks stand in while there are few of your own' -r -f -a "bundled\t'Simulated cooks that come with the program'
none\t'Nothing: your own cooks alone'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l what-if -d 'Something to try now; may be given several times' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l turn-in -d 'When it is turned in: a clock time, the first such after the moment asked about, or a date and time' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l now -d 'The moment asked about (default: each log\'s last reading; of typed readings, this computer\'s clock)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l page -d 'Draw curve, range and past cooks alike as one HTML file' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l pit -d 'The pit, typed in place of a log' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l setpoint -d 'The pit\'s set-point, typed' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l core -d 'A core reading and its time since meat-on (165F@3:10); may be given several times' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l wrapped -d 'A wrap that was made, and its time since meat-on (foil@1:40)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l weight -d 'Weight as it went on (12lb)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l cut -d 'The cut' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l watch -d 'Print again whenever the logs have grown and the answer has moved; ends with Ctrl-C'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -l explain -d 'Say which past cooks count how much'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand forecast" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l season -d 'Season folder: its settings, and the past in its store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l sheet -d 'Season sheet with the cooks to plan (default: those of season.toml)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l turn-in -d 'When it is turned in, in place of the sheet\'s `turn_in_at`' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l certainty -d 'How often in 100 it should be in time' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l weight -d 'Weight as it goes on (12lb)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l pit -d 'Which pit' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l setpoint -d 'The pit\'s set-point (250F)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l wrap -d 'The wrap that is planned (foil@165F), or none' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l prior -d 'Whether simulated cooks stand in while there are few of your own' -r -f -a "bundled\t'Simulated cooks that come with the program'
none\t'Nothing: your own cooks alone'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l now -d 'The moment of planning (default: this computer\'s clock)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -l check -d 'Say how often such plans would have been on time on your own past'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand plan" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and not __fish_seen_subcommand_from new next look help" -s h -l help -d 'Print help'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and not __fish_seen_subcommand_from new next look help" -f -a "new" -d 'Say how many fires a claim takes, and fix design, looks and rules before the first lot'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and not __fish_seen_subcommand_from new next look help" -f -a "next" -d 'Write cooks into the sheet and show their lots: arm, place on the pit, code for tasters'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and not __fish_seen_subcommand_from new next look help" -f -a "look" -d 'Say what the lots say at the looks that are due, and whether to go on'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and not __fish_seen_subcommand_from new next look help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l claim -d 'The claim, by its id in claims.toml: of kind compare or wrap-timing' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l season -d 'Season folder' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l pairs -d 'How many pairs (with --single, blocks), in place of what your past says' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l positions -d 'Places on the pit to draw among' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l now -d 'The instant taken for now (for tests)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l single -d 'Single cooks in blocks of four, in place of two meats on a fire'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -l show -d 'Say what it would take, and begin nothing'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from new" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -l claim -d 'The claim, where several are tried' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -l season -d 'Season folder' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -l date -d 'Date of cooks that no sheet has yet (default: today)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -l page -d 'Write the lots as one page of HTML to print' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -l now -d 'The instant taken for now (for tests)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from next" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from look" -l claim -d 'The claim; all that are tried where it is left out' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from look" -l season -d 'Season folder' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from look" -l now -d 'The instant taken for now (for tests)' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from look" -l format -d 'How to print the rows' -r -f -a "table\t'Aligned columns for people'
json\t'An array of objects'
csv\t'Comma-separated values with a header'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from look" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from help" -f -a "new" -d 'Say how many fires a claim takes, and fix design, looks and rules before the first lot'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from help" -f -a "next" -d 'Write cooks into the sheet and show their lots: arm, place on the pit, code for tasters'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from help" -f -a "look" -d 'Say what the lots say at the looks that are due, and whether to go on'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand trial; and __fish_seen_subcommand_from help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -l store -d 'The store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -l study -d 'The study, as `cookstudy study` wrote it' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -l out -d 'Folder to write report.html and data/ to' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -l cook -d 'Only this cook\'s page, as cook-ID.html; given again, up to four cooks laid over each other, as cooks-ID+ID.html' -r
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -l units -d 'Units of the report, whatever the settings say' -r -f -a "us\t'°F and pounds'
metric\t'°C and kilograms'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -l settings -d 'Season settings (default: those of the season that the store lies in)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand report" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -l store -d 'The store' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -l study -d 'The study, as `cookstudy study` wrote it' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -l out -d 'File to write' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -l units -d 'Units of the pages, whatever the settings say' -r -f -a "us\t'°F and pounds'
metric\t'°C and kilograms'"
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -l settings -d 'Season settings (default: those of the season that the store lies in)' -r -F
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -l public -d 'For people outside the team: without costs, suppliers, lots and columns of your own'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand summary" -s h -l help -d 'Print help (see more with \'--help\')'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand completions" -s h -l help -d 'Print help'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "demo" -d 'Write the bundled team\'s seasons, run the whole pipeline on them, say where the report is'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "new" -d 'Make a season folder: settings, sheets and claims to fill in, a card to print, a page for a phone'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "note" -d 'Write events into the season\'s events sheet: one, now or at a time, or those of a file'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "inspect" -d 'Show how each log would be read: every guess, its evidence, the setting that overrides it'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "run" -d 'Run all stages for a season folder, or for logs alone; only what changed is done again'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "ingest" -d 'Read logs and sheets into a store'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "phases" -d 'Find ramp, stall, push and rest of every cook in a store'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "measures" -d 'Work out one row of measures a cook'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "study" -d 'Answer the questions: what drives the stall, and what the data say of each claim'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "claim" -d 'Write an argument down as a claim, before looking'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "merge" -d 'Merge several teams or seasons into one season folder, anonymised on request'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "pool" -d 'Combine claims of several teams from their effects alone, without their cooks'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "diff" -d 'Set two studies side by side: which answers changed, and why'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "query" -d 'Ask the tables in SQL'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "forecast" -d 'Say when cooks that are on will be done, with a range, and what a wrap now would change'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "plan" -d 'Say when to light the fire and put the meat on, so that it is rested and ready in time'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "trial" -d 'Draw lots that settle a claim, and look at what they say'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "report" -d 'Print the season report, or one cook\'s page'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "summary" -d 'Print the four pages for a team to frame: verdicts, the argument, the season, every cook'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "completions" -d 'Print a shell\'s completion script to stdout'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and not __fish_seen_subcommand_from demo new note inspect run ingest phases measures study claim merge pool diff query forecast plan trial report summary completions help" -f -a "help" -d 'Print this message or the help of the given subcommand(s)'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and __fish_seen_subcommand_from claim" -f -a "new" -d 'Write an argument down as a claim, before looking; says how likely cooks to come will answer it'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and __fish_seen_subcommand_from trial" -f -a "new" -d 'Say how many fires a claim takes, and fix design, looks and rules before the first lot'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and __fish_seen_subcommand_from trial" -f -a "next" -d 'Write cooks into the sheet and show their lots: arm, place on the pit, code for tasters'
complete -c cookstudy -n "__fish_cookstudy_using_subcommand help; and __fish_seen_subcommand_from trial" -f -a "look" -d 'Say what the lots say at the looks that are due, and whether to go on'
